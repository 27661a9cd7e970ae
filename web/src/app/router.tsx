// Addresses of the pages, by the browser's own history.
import type { ComponentChildren } from "preact";
import { Cell } from "./cell";

export type Route =
  | { page: "start" }
  | { page: "building"; project: string; revision: number | null }
  | { page: "room"; project: string; space: string; revision: number | null }
  | { page: "proposals"; project: string; space: string }
  | { page: "building_proposals"; project: string }
  | { page: "revisions"; project: string }
  | { page: "assumptions"; project: string; revision: number | null }
  | { page: "compare"; project: string }
  | { page: "place"; project: string }
  | { page: "add_room"; project: string }
  | { page: "paste"; project: string }
  | { page: "not_found"; path: string };

/** `search` may name an older revision, which is then shown and not edited. */
export function parseRoute(path: string, search = ""): Route {
  const parts = path.split("/").filter((part) => part !== "").map(decodePart);
  const asked = new URLSearchParams(search).get("revision");
  const revision = asked !== null && /^[1-9][0-9]{0,8}$/.test(asked) ? Number(asked) : null;
  const [root, project, page, space] = parts;
  if (parts.length === 0) return { page: "start" };
  if (root === "projects" && project !== undefined) {
    if (parts.length === 2) return { page: "building", project, revision };
    if (page === "rooms" && space !== undefined && parts.length === 4)
      return { page: "room", project, space, revision };
    if (page === "rooms" && space !== undefined && parts.length === 5 && parts[4] === "proposals")
      return { page: "proposals", project, space };
    if (page === "proposals" && parts.length === 3) return { page: "building_proposals", project };
    if (page === "assumptions" && parts.length === 3) return { page: "assumptions", project, revision };
    if (page === "place" && parts.length === 3) return { page, project };
    if (page === "add-room" && parts.length === 3) return { page: "add_room", project };
    if (page === "paste" && parts.length === 3) return { page, project };
    if ((page === "revisions" || page === "compare") && parts.length === 3) return { page, project };
  }
  return { page: "not_found", path };
}

function decodePart(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

export function hrefOf(route: Exclude<Route, { page: "not_found" }>): string {
  if (route.page === "start") return "/";
  const base = `/projects/${encodeURIComponent(route.project)}`;
  const at = "revision" in route && route.revision !== null ? `?revision=${route.revision}` : "";
  if (route.page === "building") return base + at;
  if (route.page === "room") return `${base}/rooms/${encodeURIComponent(route.space)}${at}`;
  if (route.page === "proposals") return `${base}/rooms/${encodeURIComponent(route.space)}/proposals`;
  if (route.page === "building_proposals") return `${base}/proposals`;
  return `${base}/${route.page.replace("_", "-")}${at}`;
}

export const route = new Cell<Route>({ page: "start" });

export function startRouter(): void {
  const read = () => route.set(parseRoute(location.pathname, location.search));
  addEventListener("popstate", read);
  read();
}

export function navigate(to: string): void {
  history.pushState(null, "", to);
  route.set(parseRoute(location.pathname, location.search));
  scrollTo(0, 0);
}

interface LinkProps {
  to: string;
  children: ComponentChildren;
  class?: string;
  title?: string;
  "aria-label"?: string;
  "aria-current"?: "page";
}

/** A link that changes the page without loading it anew; with a modifier the browser does as it always does. */
export function Link({ to, children, ...rest }: LinkProps) {
  const follow = (event: MouseEvent) => {
    if (event.defaultPrevented || event.button !== 0) return;
    if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    navigate(to);
  };
  return (
    <a href={to} onClick={follow} {...rest}>
      {children}
    </a>
  );
}
