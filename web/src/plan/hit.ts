// What lies under the pointer.
import type { LuminaireDrawing, PlanPoint, Room } from "../api/contract";
import {
  type Box,
  boundsOf,
  contains,
  cornersOf,
  distance,
  distanceToSegment,
  isInBox,
  rectangleAbout,
  rotated,
} from "./geometry";
import { type LuminaireType, type ObjectKey, find, objectKey, typeOf } from "./objects";

/** A luminaire drawn smaller than this would be lost: its shape is never less than this across on the screen. */
export const LEAST_LUMINAIRE_PX = 7;
export const TOKEN_PX = 10;
const NEAR_PX = 5;

/** Outline of a luminaire, metres; a circle as the square about it. `least_m` is what the smallest side is drawn at. */
export function luminaireOutline(luminaire: LuminaireDrawing, type: LuminaireType | undefined, least_m: number): PlanPoint[] {
  const centre: PlanPoint = [luminaire.at[0], luminaire.at[1]];
  return rectangleAbout(centre, Math.max(least_m, type?.length_m ?? 0.3), Math.max(least_m, type?.width_m ?? 0.3), luminaire.rotation_deg);
}

/** Keeps a token whole that stands on or near a wall of the room's bounds, in pixels from the wall's line. */
const INSET_PX = 13;

/** Where a token is drawn and taken hold of: where the device is, but whole even on a wall. */
export function tokenPlace(room: Room, at: readonly [number, number, number], { m_per_px }: Scale): PlanPoint {
  const { low, high } = boundsOf(room.floor);
  const inset = INSET_PX * m_per_px;
  const within = (v: number, from: number, to: number): number =>
    Math.abs(v - from) < inset ? from + inset : Math.abs(v - to) < inset ? to - inset : v;
  return [within(at[0], low[0], high[0]), within(at[1], low[1], high[1])];
}

export interface Scale {
  /** Metres that one pixel of the screen covers. */
  m_per_px: number;
}

/** The topmost object at a point, or null: devices before luminaires, doors and windows, tables, areas. */
export function objectAt(room: Room, p: PlanPoint, scale: Scale, selected: ReadonlySet<ObjectKey> = new Set()): ObjectKey | null {
  const { m_per_px } = scale;
  const near_m = NEAR_PX * m_per_px;
  const last = <T>(all: readonly T[], test: (o: T) => boolean): T | undefined => {
    for (let i = all.length - 1; i >= 0; i -= 1) if (test(all[i]!)) return all[i];
    return undefined;
  };
  const device = last(room.devices, (d) => distance(tokenPlace(room, d.at, scale), p) <= TOKEN_PX * m_per_px);
  if (device !== undefined) return objectKey("device", device.id);
  const luminaire = last(room.luminaires, (l) => {
    const outline = luminaireOutline(l, typeOf(room, l), LEAST_LUMINAIRE_PX * m_per_px);
    if (contains(outline, p)) return true;
    return outline.some((a, i) => distanceToSegment(p, a, outline[(i + 1) % outline.length]!) <= 0.6 * near_m);
  });
  if (luminaire !== undefined) return objectKey("luminaire", luminaire.id);
  const door = last(room.doors, (d) => distanceToSegment(p, d.from, d.to) <= near_m || distanceToSegment(p, d.hinge, d.tip) <= near_m);
  if (door !== undefined) return objectKey("door", door.id);
  const window = last(room.openings, (o) => o.kind !== "skylight" && distanceToSegment(p, o.from, o.to) <= near_m);
  if (window !== undefined) return objectKey("opening", window.id);
  const partition = last(room.partitions, (q) => distanceToSegment(p, q.from, q.to) <= Math.max(near_m, 0.5 * q.thickness_m));
  if (partition !== undefined) return objectKey("partition", partition.id);
  const isOnEdge = (plan: readonly PlanPoint[]) => plan.some((a, i) => distanceToSegment(p, a, plan[(i + 1) % plan.length]!) <= near_m);
  // The inside of an area is floor on which a box can be drawn, unless the area is selected already.
  const area = last(room.task_areas, (t) => isOnEdge(t.plan) || (selected.has(objectKey("task_area", t.id)) && contains(t.plan, p)));
  const table = last(room.furniture, (f) => isOnEdge(f.plan) || contains(f.plan, p));
  const skylight = last(room.openings, (o) => o.kind === "skylight" && (isOnEdge(o.plan) || (selected.has(objectKey("opening", o.id)) && contains(o.plan, p))));
  if (area !== undefined && isOnEdge(area.plan)) return objectKey("task_area", area.id);
  if (skylight !== undefined) return objectKey("opening", skylight.id);
  if (table !== undefined) return objectKey("furniture", table.id);
  return area === undefined ? null : objectKey("task_area", area.id);
}

/** Luminaires and devices within a box that was drawn, or failing these the furniture in it. */
export function objectsIn(room: Room, box: Box): ObjectKey[] {
  const isAt = (at: readonly [number, number, number]) => isInBox([at[0], at[1]], box);
  const equipment = [
    ...room.luminaires.filter((l) => isAt(l.at)).map((l) => objectKey("luminaire", l.id)),
    ...room.devices.filter((d) => isAt(d.at)).map((d) => objectKey("device", d.id)),
  ];
  if (equipment.length > 0) return equipment;
  // A box that holds no equipment is meant for what stands on the floor.
  return room.furniture.filter((f) => f.plan.every((q) => isInBox(q, box))).map((f) => objectKey("furniture", f.id));
}

// ---- handles -----------------------------------------------------------------------------------------------

export type Handle =
  | { kind: "rotate"; key: ObjectKey; about: PlanPoint; at: PlanPoint }
  /** A corner of a rectangle whose opposite corner stays. */
  | { kind: "corner"; key: ObjectKey; at: PlanPoint; opposite: PlanPoint }
  /** An end of a window or door, along its wall. */
  | { kind: "end"; key: ObjectKey; end: "from" | "to"; at: PlanPoint }
  | { kind: "vertex"; index: number; at: PlanPoint }
  | { kind: "wall"; index: number; at: PlanPoint };

const ROTATE_HANDLE_PX = 22;

/** Handles of what is selected. */
export function handlesOf(room: Room, selection: ReadonlySet<ObjectKey>, { m_per_px }: Scale): Handle[] {
  if (selection.size !== 1) return [];
  const [key] = selection;
  const found = find(room, key!);
  if (found === null) return [];
  switch (found.kind) {
    case "luminaire": {
      const type = typeOf(room, found.object);
      if (type?.shape === "circle") return [];
      const about: PlanPoint = [found.object.at[0], found.object.at[1]];
      const reach = 0.5 * Math.max(type?.length_m ?? 0.3, LEAST_LUMINAIRE_PX * m_per_px) + ROTATE_HANDLE_PX * m_per_px;
      return [{ kind: "rotate", key: key!, about, at: rotated([about[0] + reach, about[1]], about, found.object.rotation_deg) }];
    }
    case "furniture":
    case "task_area":
      return rectangleHandles(key!, found.object.plan);
    case "opening":
      if (found.object.kind === "skylight") return rectangleHandles(key!, found.object.plan);
      return endHandles(key!, found.object);
    case "door":
      return endHandles(key!, found.object);
    default:
      return [];
  }
}

function endHandles(key: ObjectKey, o: { from: PlanPoint; to: PlanPoint }): Handle[] {
  return [
    { kind: "end", key, end: "from", at: o.from },
    { kind: "end", key, end: "to", at: o.to },
  ];
}

/** Corners, when the outline is a rectangle along the axes. */
function rectangleHandles(key: ObjectKey, plan: readonly PlanPoint[]): Handle[] {
  const box = boundsOf(plan);
  const corners = cornersOf(box);
  const isRectangle = plan.length === 4 && corners.every((c) => plan.some((p) => distance(p, c) < 1e-3));
  return isRectangle ? corners.map((at, i) => ({ kind: "corner", key, at, opposite: corners[(i + 2) % 4]! })) : [];
}

/** Handles of the floor while walls are edited: corners, and the middles of walls. */
export function wallHandles(floor: readonly PlanPoint[]): Handle[] {
  return [
    ...floor.map((at, index): Handle => ({ kind: "vertex", index, at })),
    ...floor.map((a, index): Handle => {
      const b = floor[(index + 1) % floor.length]!;
      return { kind: "wall", index, at: [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])] };
    }),
  ];
}

const HANDLE_PX = 8;
export function handleAt(handles: readonly Handle[], p: PlanPoint, { m_per_px }: Scale): Handle | null {
  return handles.find((h) => distance(h.at, p) <= HANDLE_PX * m_per_px) ?? null;
}
