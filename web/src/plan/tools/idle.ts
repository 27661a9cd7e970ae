// Nothing is held. Where the pointer goes down decides, with the tool in hand, what begins.
import type { PlanPoint } from "../../api/contract";
import { snapped } from "../snap";
import { boundsOf, nearestWall } from "../geometry";
import { type PointerFacts, SNAP_PX, type StateOf, type Step, type Surrounded, type ToolEvent, stay } from "./tool";
import { SELECT } from "./tool_choice";

/** Where a new thing begins or ends: on the grid and on lines of others, or just there with Alt. */
export function placeOf(facts: PointerFacts, { around, m_per_px }: Surrounded): PlanPoint {
  if (facts.alt) return facts.at;
  const { room } = around;
  const others = [...room.luminaires, ...room.devices].map((o): PlanPoint => [o.at[0], o.at[1]]);
  return snapped(facts.at, { others, room: boundsOf(room.floor), reach_m: SNAP_PX * m_per_px }).at;
}

/** The same for outlines, which align with the corners of walls and furniture. */
export function cornerOf(facts: PointerFacts, { around, m_per_px }: Surrounded): PlanPoint {
  if (facts.alt) return facts.at;
  const { room } = around;
  const others = [...room.floor, ...room.furniture.flatMap((f) => f.plan)];
  return snapped(facts.at, { others, room: boundsOf(room.floor), reach_m: SNAP_PX * m_per_px }).at;
}

export function idle(state: StateOf<"idle">, event: ToolEvent, context: Surrounded): Step {
  if (event.kind !== "down") return stay(state);
  const { tool, selection, around } = context;
  switch (tool.name) {
    case "measure": {
      const start = cornerOf(event, context);
      return stay({ name: "measuring", start, end: start, isDone: false });
    }
    case "add_luminaire": {
      const start = placeOf(event, context);
      return stay({ name: "placing", start, end: start });
    }
    case "add_device": {
      const start = placeOf(event, context);
      return stay({ name: "placing", start, end: start });
    }
    case "draw": {
      const start = cornerOf(event, context);
      return stay({ name: "drawing", start, end: start });
    }
    case "add_on_wall": {
      const near = nearestWall(around.room.floor, event.at);
      if (near === null || near.distance_m > 24 * context.m_per_px) return stay(state, { kind: "refuse", text: `Begin on a wall to draw a ${tool.thing}.` });
      return stay({ name: "drawing_on_wall", wall: near.wall.index, from_m: near.offset_m, to_m: near.offset_m });
    }
    case "edit_walls":
      if (event.handle?.kind === "vertex" || event.handle?.kind === "wall")
        return stay({ name: "reshaping", handle: event.handle, start: event.at, floor: around.room.floor });
      return event.over === null ? stay(state, { kind: "tool", tool: SELECT }) : stay(state);
    case "select":
      break;
  }
  const handle = event.handle;
  if (handle?.kind === "rotate") {
    const from_deg = angle(handle.about, event.at);
    return stay({ name: "rotating", key: handle.key, about: handle.about, from_deg, by_deg: 0 });
  }
  if (handle?.kind === "corner" || handle?.kind === "end") return stay({ name: "resizing", handle, at: handle.at });
  if (event.over !== null)
    return stay({
      name: "pointing",
      key: event.over,
      start: event.at,
      start_px: event.at_px,
      wasSelected: selection.has(event.over),
      isAdding: event.shift,
    });
  return stay({ name: "boxing", start: event.at, end: event.at, kept: event.shift ? selection : new Set() });
}

export const angle = (about: PlanPoint, at: PlanPoint): number => (Math.atan2(at[1] - about[1], at[0] - about[0]) * 180) / Math.PI;

