// The session scope: how this window looks at things. Nothing here is saved with the project; units and theme
// stay with the browser.
import type { Pointer } from "../api/contract";
import type { UnitSystem } from "../units/system";
import { Cell } from "./cell";

export type Theme = "system" | "light" | "dark";
export type Accuracy = "draft" | "design" | "proof";

interface Storage {
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
}

/** A cell whose value the browser keeps; anything else than one of `allowed` is the first of them. */
export function keptCell<T extends string>(storage: Storage | null, key: string, allowed: readonly [T, ...T[]]): Cell<T> {
  let kept: string | null = null;
  try {
    kept = storage?.getItem(key) ?? null;
  } catch {
    // A browser that keeps nothing still works, for as long as the window is open.
  }
  const cell = new Cell<T>(allowed.find((value) => value === kept) ?? allowed[0]);
  cell.subscribe(() => {
    try {
      storage?.setItem(key, cell.value);
    } catch {
      // As above.
    }
  });
  return cell;
}

const browser = typeof localStorage === "undefined" ? null : localStorage;

export const units = keptCell<UnitSystem>(browser, "halflight.units", ["si", "us"]);
export const theme = keptCell<Theme>(browser, "halflight.theme", ["system", "light", "dark"]);
export const accuracy = keptCell<Accuracy>(browser, "halflight.accuracy", ["draft", "design", "proof"]);

/** The instant that the whole page shows, second of the civil calendar year; null until one is pointed at. */
export const instant = new Cell<number | null>(null);
/** The value touched last: it glows where it is read, and so does what it governs on the plan. */
export const touched = new Cell<Pointer | null>(null);
/** Sequence as a paragraph or as a matrix of events by groups. */
export const showsMatrix = new Cell(false);
