// Where a dragged thing comes to rest: on the lines that others stand on, at their spacing, or on a fine grid.
import type { PlanPoint } from "../api/contract";
import { type Box, centreOf } from "./geometry";

/** Metres; a module of ceilings and a step that a person can set out on site. */
export const GRID_M = 0.05;

/** A line that is drawn while a thing rests on it. */
export type Guide =
  | { kind: "align"; from: PlanPoint; to: PlanPoint }
  | { kind: "centre"; from: PlanPoint; to: PlanPoint }
  /** Equal distances between neighbours; each stretch is drawn with its length. */
  | { kind: "spacing"; stretches: [PlanPoint, PlanPoint][] };

export interface Snapped {
  at: PlanPoint;
  guides: Guide[];
}

export interface SnapTargets {
  /** Things that stay where they are. */
  others: readonly PlanPoint[];
  room: Box;
  /** How near a line must be, metres: a few pixels of the screen. */
  reach_m: number;
}

export const onGrid = (v: number): number => Math.round(v / GRID_M) * GRID_M;

const SAME_M = 1e-6;

interface Candidate {
  value: number;
  off: number;
  guide: (at: PlanPoint) => Guide;
}

type Axis = 0 | 1;
const pointOn = (axis: Axis, along: number, across: number): PlanPoint => (axis === 0 ? [along, across] : [across, along]);

/** Lines across one axis on which the point may rest, nearest first. */
function candidates(at: PlanPoint, axis: Axis, { others, room, reach_m }: SnapTargets): Candidate[] {
  const other: Axis = axis === 0 ? 1 : 0;
  const found: Candidate[] = [];
  const add = (value: number, guide: (at: PlanPoint) => Guide) => {
    const off = Math.abs(value - at[axis]);
    if (off <= reach_m) found.push({ value, off, guide });
  };
  for (const p of others)
    add(p[axis], (rest) => {
      // The line runs through everything that stands on it.
      const on = others.filter((o) => Math.abs(o[axis] - p[axis]) < SAME_M).map((o) => o[other]);
      return { kind: "align", from: pointOn(axis, p[axis], Math.min(rest[other], ...on)), to: pointOn(axis, p[axis], Math.max(rest[other], ...on)) };
    });
  const centre = centreOf(room)[axis];
  add(centre, () => ({ kind: "centre", from: pointOn(axis, centre, room.low[other]), to: pointOn(axis, centre, room.high[other]) }));
  return found.sort((a, b) => a.off - b.off);
}

/** Places along an axis at which gaps between neighbours of one row are equal. */
function spacings(at: PlanPoint, axis: Axis, { others, reach_m }: SnapTargets): Candidate[] {
  const other: Axis = axis === 0 ? 1 : 0;
  const row = [...new Set(others.filter((o) => Math.abs(o[other] - at[other]) <= SAME_M).map((o) => o[axis]))].sort((a, b) => a - b);
  const found: Candidate[] = [];
  const add = (value: number, stops: readonly number[]) => {
    const off = Math.abs(value - at[axis]);
    if (off > reach_m) return;
    found.push({
      value,
      off,
      guide: (rest) => ({
        kind: "spacing",
        stretches: stops.slice(1).map((stop, i) => [pointOn(axis, stops[i]!, rest[other]), pointOn(axis, stop, rest[other])]),
      }),
    });
  };
  for (let i = 0; i + 1 < row.length; i += 1) {
    const a = row[i]!;
    const b = row[i + 1]!;
    const gap = b - a;
    if (gap < GRID_M) continue;
    add(0.5 * (a + b), [a, 0.5 * (a + b), b]);
    add(b + gap, [a, b, b + gap]);
    add(a - gap, [a - gap, a, b]);
  }
  return found.sort((a, b) => a.off - b.off);
}

/**
 * Rests a point on the nearest line within reach, each axis for itself: lines that others stand on before those of
 * equal spacing before the room's centre line; failing all, on the grid.
 */
export function snapped(at: PlanPoint, targets: SnapTargets): Snapped {
  const result: PlanPoint = [at[0], at[1]];
  const chosen: (Candidate | undefined)[] = [undefined, undefined];
  for (const axis of [0, 1] as const) {
    chosen[axis] = candidates(at, axis, targets)[0];
    result[axis] = chosen[axis]?.value ?? onGrid(at[axis]);
  }
  for (const axis of [0, 1] as const) {
    // Equal spacing counts along a row that the other axis has found.
    if (chosen[axis] !== undefined) continue;
    const even = spacings([axis === 0 ? at[0] : result[0], axis === 1 ? at[1] : result[1]], axis, targets)[0];
    if (even === undefined) continue;
    chosen[axis] = even;
    result[axis] = even.value;
  }
  return { at: result, guides: chosen.flatMap((c) => (c === undefined ? [] : [c.guide(result)])) };
}
