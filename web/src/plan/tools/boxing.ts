// A box is drawn over the plan; what lies in it is selected.
import { boxFrom } from "../geometry";
import { objectsIn } from "../hit";
import { DRAG_PX, IDLE, type StateOf, type Step, type Surrounded, type ToolEvent, stay } from "./tool";

export function boxing(state: StateOf<"boxing">, event: ToolEvent, { around, m_per_px }: Surrounded): Step {
  if (event.kind !== "move" && event.kind !== "up") return stay(state);
  const end = event.at;
  const isClick = Math.hypot(end[0] - state.start[0], end[1] - state.start[1]) <= DRAG_PX * m_per_px;
  const keys = new Set([...state.kept, ...(isClick ? [] : objectsIn(around.room, boxFrom(state.start, end)))]);
  return stay(event.kind === "up" ? IDLE : { ...state, end }, { kind: "select", keys });
}
