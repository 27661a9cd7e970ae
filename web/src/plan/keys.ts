// What keys do to a selection, as the page's help lists it.
import type { PlanPoint } from "../api/contract";
import type { Outcome } from "./actions";
import { moved, removed, rotatedBy } from "./changes";
import { copied, pasted, placeBeside } from "./clipboard";
import type { Surroundings } from "./document";
import type { ObjectKey } from "./objects";

/** Metres that an arrow key moves by, and with Shift. */
export const NUDGE_M = 0.05;
export const FAR_NUDGE_M = 0.5;

export interface Key {
  key: string;
  shift: boolean;
  alt: boolean;
  ctrl: boolean;
}

export const ARROWS: Readonly<Record<string, PlanPoint>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};

/** What a key makes of the selection; null when it means nothing there. */
export function keyed(around: Surroundings, selection: ReadonlySet<ObjectKey>, { key, shift, alt, ctrl }: Key): Outcome | null {
  if (selection.size === 0 || alt) return null;
  const arrow = ARROWS[key];
  if (arrow !== undefined && !ctrl) {
    const step = shift ? FAR_NUDGE_M : NUDGE_M;
    return moved(around, selection, [step * arrow[0], step * arrow[1]]);
  }
  if (!ctrl && (key === "r" || key === "R")) return rotatedBy(around, selection, shift ? -90 : 90, selection.size > 1);
  if (!ctrl && (key === "Delete" || key === "Backspace")) return removed(around, selection);
  if (ctrl && key.toLowerCase() === "d") {
    const clip = copied(around, selection);
    if (clip === null) return { refused: "Luminaires, devices, furniture and task areas can be duplicated." };
    return pasted(around, clip, placeBeside(around.room, clip), "duplicate");
  }
  return null;
}
