// A corner or a whole wall of the floor follows the hand.
import type { PlanPoint } from "../../api/contract";
import { withFloor } from "../changes";
import { boundsOf, dot, minus, plus, times, wallsOf } from "../geometry";
import { onGrid, snapped } from "../snap";
import { IDLE, SNAP_PX, type StateOf, type Step, type Surrounded, type ToolEvent, committed, drafted, stay } from "./tool";

export function reshaping(state: StateOf<"reshaping">, event: ToolEvent, context: Surrounded): Step {
  const { around, m_per_px } = context;
  const before = around.room.floor;
  if (event.kind === "up") {
    const isSame = state.floor.every((p, i) => p[0] === before[i]![0] && p[1] === before[i]![1]);
    return isSame ? stay(IDLE, { kind: "draft", action: null }) : committed(withFloor(around, state.floor));
  }
  if (event.kind !== "move") return stay(state);
  const { index } = state.handle;
  let floor: PlanPoint[];
  if (state.handle.kind === "vertex") {
    const others = before.filter((_, i) => i !== index);
    const at = event.alt ? event.at : snapped(event.at, { others, room: boundsOf(before), reach_m: SNAP_PX * m_per_px }).at;
    floor = before.map((p, i) => (i === index ? at : p));
  } else {
    // A wall moves square to itself; its neighbours grow or shrink.
    const { inward } = wallsOf(before)[index]!;
    const shift = dot(minus(event.at, state.start), inward);
    const by = times(event.alt ? shift : onGrid(shift), inward);
    floor = before.map((p, i) => (i === index || i === (index + 1) % before.length ? plus(p, by) : p));
  }
  return drafted({ ...state, floor }, withFloor(around, floor));
}
