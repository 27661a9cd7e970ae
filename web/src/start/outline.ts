// The room that is being drawn: its outline, and windows and doors on its walls.
import type { PlanPoint } from "../api/contract";
import { boundsOf, distance, doubleArea, isSimple, minus, nearestWall, planMillimetres, plus, times } from "../plan/geometry";

export interface WallPart {
  id: number;
  wall: number;
  /** As typed. */
  offset: string;
  width: string;
}
export interface WindowPart extends WallPart {
  sill: string;
  height: string;
}
export type DoorPart = WallPart;

export const rectangle = (width_m: number, length_m: number): PlanPoint[] => [
  [0, 0],
  [width_m, 0],
  [width_m, length_m],
  [0, length_m],
];

/** Corners in the direction that walls are numbered in, or null where they enclose nothing. */
export function closed(corners: readonly PlanPoint[]): PlanPoint[] | null {
  const floor = corners.map(planMillimetres);
  if (floor.length < 3 || !isSimple(floor)) return null;
  const twice = doubleArea(floor);
  if (Math.abs(twice) < 1) return null;
  return twice > 0 ? floor : floor.reverse();
}

/** "south", "north-east": where a wall of the outline faces, plan north up. */
export function facing(floor: readonly PlanPoint[], wall: number, plan_north_deg = 0): string {
  const from = floor[wall]!;
  const to = floor[(wall + 1) % floor.length]!;
  const along = minus(to, from);
  // Outward is to the right of the direction in which the outline runs.
  const bearing = (Math.atan2(along[1], -along[0]) * 180) / Math.PI + plan_north_deg;
  const words = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
  return words[Math.round((((bearing % 360) + 360) % 360) / 45) % 8]!;
}

export function wallLength(floor: readonly PlanPoint[], wall: number): number {
  return distance(floor[wall]!, floor[(wall + 1) % floor.length]!);
}

/** Two ends of a stretch of a wall. */
export function stretch(floor: readonly PlanPoint[], wall: number, offset_m: number, width_m: number): [PlanPoint, PlanPoint] {
  const from = floor[wall]!;
  const to = floor[(wall + 1) % floor.length]!;
  const unit = times(1 / Math.max(1e-9, distance(from, to)), minus(to, from));
  return [plus(from, times(offset_m, unit)), plus(from, times(offset_m + width_m, unit))];
}

/** Where a part of `width_m` goes that is put on the nearest wall at `p`, in whole 5 cm and within the wall. */
export function onWall(floor: readonly PlanPoint[], p: PlanPoint, width_m: number, reach_m: number): { wall: number; offset_m: number; width_m: number } | null {
  const near = nearestWall(floor, p);
  if (near === null || near.distance_m > reach_m) return null;
  const length = near.wall.length_m;
  const width = Math.min(width_m, length - 0.1);
  if (width < 0.3) return null;
  const offset = Math.round((near.offset_m - 0.5 * width) / 0.05) * 0.05;
  return { wall: near.wall.index, offset_m: Math.min(Math.max(0.05, offset), length - width - 0.05), width_m: width };
}

/** A free stretch of a wall for one more part: the middle of its longest gap. */
export function freeOnWall(floor: readonly PlanPoint[], wall: number, taken: readonly (readonly [number, number])[], width_m: number): { offset_m: number; width_m: number } | null {
  const length = wallLength(floor, wall);
  const edges = [...taken].sort((a, b) => a[0] - b[0]);
  let best: [number, number] = [0, 0];
  let at = 0;
  for (const [from, to] of [...edges, [length, length] as const]) {
    if (from - at > best[1] - best[0]) best = [at, from];
    at = Math.max(at, to);
  }
  const width = Math.min(width_m, best[1] - best[0] - 0.2);
  if (width < 0.3) return null;
  return { offset_m: Math.round((0.5 * (best[0] + best[1] - width)) * 100) / 100, width_m: width };
}

/** The longer and the shorter side of the box around an outline. */
export function sides(floor: readonly PlanPoint[]): [number, number] {
  const { low, high } = boundsOf(floor);
  return [high[0] - low[0], high[1] - low[1]];
}

/** A corner that is drawn: level or upright with the last one where it nearly is, else to 5 cm. */
export function squared(p: PlanPoint, last: PlanPoint | null, first: PlanPoint | null, near_m: number): PlanPoint {
  const grid = (v: number) => Math.round(v / 0.05) * 0.05;
  let [x, y] = [grid(p[0]), grid(p[1])];
  for (const other of [first, last]) {
    if (other === null) continue;
    if (Math.abs(p[0] - other[0]) < near_m) x = other[0];
    if (Math.abs(p[1] - other[1]) < near_m) y = other[1];
  }
  return [x, y];
}
