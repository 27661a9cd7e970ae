// What a cut through a room meets and what lies behind it. Along x the eye looks to +y, along y to -x: the first
// coordinate runs to the right, heights up.
import type { Field, PlanPoint, Room } from "../api/contract";
import { bytesOf } from "./field";
import { boundsOf, centreOf } from "./geometry";
import { luminaireOutline } from "./hit";
import { typeOf } from "./objects";

export interface Cut {
  /** The cut runs along x at a y, or along y at an x. */
  along: "x" | "y";
  at_m: number;
}

/** Through the middle, along the longer side. */
export function usualCut(floor: readonly PlanPoint[]): Cut {
  const { low, high } = boundsOf(floor);
  const along = high[0] - low[0] >= high[1] - low[1] ? "x" : "y";
  return { along, at_m: centreOf({ low, high })[along === "x" ? 1 : 0] };
}

export const alongOf = (p: PlanPoint, cut: Cut): number => (cut.along === "x" ? p[0] : p[1]);
const acrossOf = (p: PlanPoint, cut: Cut): number => (cut.along === "x" ? p[1] : p[0]);
export const pointOf = (along: number, cut: Cut): PlanPoint => (cut.along === "x" ? [along, cut.at_m] : [cut.at_m, along]);

export type Stretch = [from_m: number, to_m: number];

/** Stretches of the cut that lie within a polygon, in order. */
export function stretchesIn(polygon: readonly PlanPoint[], cut: Cut): Stretch[] {
  const crossings: number[] = [];
  for (let i = 0; i < polygon.length; i += 1) {
    const a = polygon[i]!;
    const b = polygon[(i + 1) % polygon.length]!;
    const va = acrossOf(a, cut);
    const vb = acrossOf(b, cut);
    // A corner on the cut counts for the wall that goes on from it, so that it counts once.
    if (va > cut.at_m === vb > cut.at_m) continue;
    crossings.push(alongOf(a, cut) + ((cut.at_m - va) / (vb - va)) * (alongOf(b, cut) - alongOf(a, cut)));
  }
  crossings.sort((a, b) => a - b);
  const stretches: Stretch[] = [];
  for (let i = 0; i + 1 < crossings.length; i += 2) stretches.push([crossings[i]!, crossings[i + 1]!]);
  return stretches;
}

export interface Block {
  id: string;
  from_m: number;
  to_m: number;
  bottom_m: number;
  top_m: number;
  /** The cut goes through it; else it is seen behind. */
  isCut: boolean;
}

export interface SectionBlocks {
  /** Floor and ceiling, between walls. */
  room: Stretch[];
  /** Seen behind the cut, beyond the walls that are cut. */
  behind: Stretch | null;
  furniture: Block[];
  partitions: Block[];
  openings: (Block & { kind: "window" | "inner_glazing" })[];
  doors: Block[];
  luminaires: (Block & { level_of: string })[];
  devices: { id: string; at_m: number; height_m: number; kind: Room["devices"][number]["kind"] }[];
  skylights: Stretch[];
}

const LUMINAIRE_HEIGHT_M = 0.09;
/** A device this near to the cut is drawn. */
const NEAR_M = 1;

/** Everything of a room that a section shows. */
export function sectionOf(room: Room, cut: Cut): SectionBlocks {
  const isBehind = (points: readonly PlanPoint[]) =>
    points.some((p) => (cut.along === "x" ? acrossOf(p, cut) >= cut.at_m - 1e-9 : acrossOf(p, cut) <= cut.at_m + 1e-9));
  const block = (id: string, plan: readonly PlanPoint[], bottom_m: number, top_m: number): Block[] => {
    const cuts = stretchesIn(plan, cut);
    if (cuts.length > 0) return cuts.map(([from_m, to_m]) => ({ id, from_m, to_m, bottom_m, top_m, isCut: true }));
    if (!isBehind(plan)) return [];
    const us = plan.map((p) => alongOf(p, cut));
    return [{ id, from_m: Math.min(...us), to_m: Math.max(...us), bottom_m, top_m, isCut: false }];
  };
  /** A thing on a wall: cut where its wall is crossed within it, seen behind when its wall is. */
  const onWall = (o: { id: string; from: PlanPoint; to: PlanPoint }, bottom_m: number, top_m: number): Block[] => {
    const va = acrossOf(o.from, cut);
    const vb = acrossOf(o.to, cut);
    const ua = alongOf(o.from, cut);
    const ub = alongOf(o.to, cut);
    if (va > cut.at_m !== vb > cut.at_m) {
      const u = ua + ((cut.at_m - va) / (vb - va)) * (ub - ua);
      return [{ id: o.id, from_m: u, to_m: u, bottom_m, top_m, isCut: true }];
    }
    if (!isBehind([o.from, o.to]) || Math.abs(ua - ub) < 1e-6) return [];
    return [{ id: o.id, from_m: Math.min(ua, ub), to_m: Math.max(ua, ub), bottom_m, top_m, isCut: false }];
  };
  const seen = room.floor.filter((p) => isBehind([p])).map((p) => alongOf(p, cut));
  const stretches = stretchesIn(room.floor, cut);
  const ends = [...seen, ...stretches.flat()];
  const isNear = (at: readonly [number, number, number]) => {
    const d = acrossOf([at[0], at[1]], cut) - cut.at_m;
    return cut.along === "x" ? d > -0.2 && d < NEAR_M : d < 0.2 && d > -NEAR_M;
  };
  return {
    room: stretches,
    behind: ends.length === 0 ? null : [Math.min(...ends), Math.max(...ends)],
    furniture: room.furniture.flatMap((f) => block(f.id, f.plan, f.bottom_m, f.top_m)),
    partitions: room.partitions.flatMap((p) => onWall(p, 0, p.height_m)),
    openings: room.openings.flatMap((o) => (o.kind === "skylight" ? [] : onWall(o, o.sill_m, o.sill_m + o.height_m).map((b) => ({ ...b, kind: o.kind as "window" | "inner_glazing" })))),
    doors: room.doors.flatMap((d) => onWall(d, 0, d.height_m)),
    luminaires: room.luminaires
      .filter((l) => l.status !== "remove")
      .flatMap((l) => block(l.id, luminaireOutline(l, typeOf(room, l), 0.05), l.at[2], Math.min(l.at[2] + LUMINAIRE_HEIGHT_M, Math.max(room.height_m, l.at[2] + 0.02))).map((b) => ({ ...b, level_of: l.id }))),
    devices: room.devices
      .filter((d) => d.status !== "remove" && isNear(d.at))
      .map((d) => ({ id: d.id, at_m: alongOf([d.at[0], d.at[1]], cut), height_m: d.at[2], kind: d.kind })),
    skylights: room.openings.flatMap((o) => (o.kind === "skylight" ? stretchesIn(o.plan, cut) : [])),
  };
}

/** Bytes of a field along the cut, with the places that they stand at; beyond the field none. */
export function profileOf(field: Field, cut: Cut): { at_m: number; byte: number }[] {
  const bytes = bytesOf(field.bytes);
  if (bytes.length !== field.columns * field.rows) return [];
  const isX = cut.along === "x";
  const line = Math.round((cut.at_m - (isX ? field.y0_m : field.x0_m)) / field.step_m);
  if (line < 0 || line >= (isX ? field.rows : field.columns)) return [];
  return Array.from({ length: isX ? field.columns : field.rows }, (_, i) => ({
    at_m: (isX ? field.x0_m : field.y0_m) + i * field.step_m,
    byte: isX ? bytes[line * field.columns + i]! : bytes[i * field.columns + line]!,
  }));
}
