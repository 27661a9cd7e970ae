// Keys that act wherever the focus is, save where something is being typed.
import { hrefOf, navigate, route } from "./router";
import { showsMatrix } from "./session";
import { openProject } from "./service";

function isTyping(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false;
  if (target instanceof HTMLInputElement) return !["checkbox", "radio", "range", "button"].includes(target.type);
  return target.isContentEditable || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
}

export function startKeys(help: () => void): void {
  addEventListener("keydown", (event) => {
    if (event.defaultPrevented || isTyping(event.target) || document.querySelector("dialog[open]") !== null) return;
    const command = event.ctrlKey || event.metaKey;
    const key = event.key.toLowerCase();
    const project = openProject();
    if (command && !event.altKey && project !== null && (key === "z" || key === "y")) {
      event.preventDefault();
      void (key === "y" || event.shiftKey ? project.redo() : project.undo());
      return;
    }
    if (command || event.altKey) return;
    if (key === "m") showsMatrix.set(!showsMatrix.value);
    else if (key === "p" && route.value.page === "room" && route.value.revision === null)
      navigate(hrefOf({ page: "proposals", project: route.value.project, space: route.value.space }));
    else if (key === "p" && route.value.page === "building" && route.value.revision === null)
      navigate(hrefOf({ page: "building_proposals", project: route.value.project }));
    else if (event.key === "?") help();
    else return;
    event.preventDefault();
  });
}
