// What differs between two documents: by place, with things of a list matched by what they are called and not by
// where in the list they stand.
import type { Pointer } from "../api/contract";
import { type Json, pointerOf, sameJson } from "../app/pointer";

export interface Difference {
  /** Where it stands in the first document, or null where it is not there. */
  before_at: Pointer | null;
  after_at: Pointer | null;
  before: Json | undefined;
  after: Json | undefined;
}

type Record_ = { [key: string]: Json };
export const isRecord = (value: unknown): value is Record_ =>
  typeof value === "object" && value !== null && !Array.isArray(value);

/** Keys that name a thing of a list, the first that all things of the list have. */
const NAMING = ["id", "space", "typical", "group", "pointer", "interface"] as const;

/** The key by which things of both lists can be told apart; null where there is none. */
function namingKey(a: readonly Json[], b: readonly Json[]): string | null {
  const distinct = (list: readonly Json[], key: string) => {
    const names = list.map((item) => (isRecord(item) ? item[key] : undefined));
    return names.every((name) => typeof name === "string") && new Set(names).size === names.length;
  };
  return NAMING.find((key) => distinct(a, key) && distinct(b, key)) ?? null;
}

/** Differences from `before` to `after`, in the order of the first; what is new follows. */
export function differences(before: Json, after: Json): Difference[] {
  const found: Difference[] = [];
  compare(before, after, [], [], found);
  return found;
}

function compare(before: Json | undefined, after: Json | undefined, left: string[], right: string[], found: Difference[]): void {
  if (sameJson(before, after)) return;
  if (isRecord(before) && isRecord(after)) {
    for (const key of new Set([...Object.keys(before), ...Object.keys(after)]))
      compare(
        Object.hasOwn(before, key) ? before[key] : undefined,
        Object.hasOwn(after, key) ? after[key] : undefined,
        [...left, key],
        [...right, key],
        found,
      );
    return;
  }
  if (Array.isArray(before) && Array.isArray(after)) {
    const key = namingKey(before, after);
    if (key !== null) return compareNamed(before, after, key, left, right, found);
    // Things without names are told apart by their places.
    if (before.every(isRecord) && after.every(isRecord)) {
      for (let i = 0; i < Math.max(before.length, after.length); i += 1)
        compare(before[i], after[i], [...left, String(i)], [...right, String(i)], found);
      return;
    }
  }
  found.push({
    before_at: before === undefined ? null : pointerOf(left),
    after_at: after === undefined ? null : pointerOf(right),
    before,
    after,
  });
}

function compareNamed(before: Json[], after: Json[], key: string, left: string[], right: string[], found: Difference[]): void {
  const nameOf = (item: Json | undefined) => (isRecord(item) ? item[key] : undefined);
  before.forEach((item, i) => {
    const j = after.findIndex((other) => nameOf(other) === nameOf(item));
    compare(item, j < 0 ? undefined : after[j], [...left, String(i)], [...right, String(j)], found);
  });
  after.forEach((item, j) => {
    if (!before.some((other) => nameOf(other) === nameOf(item)))
      compare(undefined, item, [], [...right, String(j)], found);
  });
  const both = (list: Json[], other: Json[]) => list.map(nameOf).filter((name) => other.some((o) => nameOf(o) === name)) as Json[];
  const order = both(before, after);
  const newOrder = both(after, before);
  // The order of a list can matter (groups of a row, buttons); it is told once for the list.
  if (!sameJson(order, newOrder))
    found.push({ before_at: pointerOf(left), after_at: pointerOf(right), before: order, after: newOrder });
}
