// Objects follow the hand. The one that was grabbed rests on lines of others; the rest keep their distance to it.
import type { PlanPoint, Room } from "../../api/contract";
import { moved } from "../changes";
import { boundsOf, minus, plus } from "../geometry";
import { type ObjectKey, find, objectKey } from "../objects";
import { type Guide, snapped } from "../snap";
import { SNAP_PX, type StateOf, type Step, type Surrounded, type ToolEvent, committed, drafted, stay } from "./tool";

/** The point of an object that comes to rest on lines: the middle of what hangs, the lower left corner of what stands. */
export function anchorOf(room: Room, key: ObjectKey): PlanPoint | null {
  const found = find(room, key);
  if (found === null) return null;
  switch (found.kind) {
    case "luminaire":
    case "device":
      return [found.object.at[0], found.object.at[1]];
    case "furniture":
    case "task_area":
      return boundsOf(found.object.plan).low;
    case "opening":
      return found.object.kind === "skylight" ? boundsOf(found.object.plan).low : found.object.from;
    case "door":
    case "partition":
      return found.object.from;
    case "group":
      return null;
  }
}

/** What others of the same sort stand on: ceiling things align with ceiling things, corners with corners. */
export function linesOf(room: Room, grabbed: ObjectKey, moving: ReadonlySet<ObjectKey>): PlanPoint[] {
  const kind = find(room, grabbed)?.kind;
  if (kind === "luminaire" || kind === "device") {
    const places: PlanPoint[] = [];
    for (const l of room.luminaires) if (!moving.has(objectKey("luminaire", l.id)) && l.status !== "remove") places.push([l.at[0], l.at[1]]);
    for (const d of room.devices) if (!moving.has(objectKey("device", d.id)) && d.status !== "remove") places.push([d.at[0], d.at[1]]);
    return places;
  }
  return [...room.floor, ...room.furniture.filter((f) => !moving.has(objectKey("furniture", f.id))).flatMap((f) => f.plan)];
}

export function dragging(state: StateOf<"dragging">, event: ToolEvent, context: Surrounded): Step {
  const { around, m_per_px } = context;
  if (event.kind === "up") return committed(moved(around, state.keys, state.by));
  if (event.kind !== "move") return stay(state);
  const anchor = anchorOf(around.room, state.grabbed);
  if (anchor === null) return stay(state);
  let wanted = minus(event.at, state.start);
  // Shift holds the direction that the hand has mostly gone.
  if (event.shift) wanted = Math.abs(wanted[0]) >= Math.abs(wanted[1]) ? [wanted[0], 0] : [0, wanted[1]];
  let by = wanted;
  let guides: Guide[] = [];
  if (!event.alt) {
    const others = linesOf(around.room, state.grabbed, new Set(state.keys));
    const rest = snapped(plus(anchor, wanted), { others, room: boundsOf(around.room.floor), reach_m: SNAP_PX * m_per_px });
    by = minus(rest.at, anchor);
    if (event.shift) by = wanted[1] === 0 ? [by[0], 0] : [0, by[1]];
    guides = rest.guides;
  }
  return drafted({ ...state, by, guides }, moved(around, state.keys, by));
}

