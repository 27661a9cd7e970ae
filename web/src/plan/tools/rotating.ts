// A luminaire or table turns with its handle, by steps of 15 degrees or freely with Alt.
import { rotatedBy } from "../changes";
import { find } from "../objects";
import { angle } from "./idle";
import { type StateOf, type Step, type Surrounded, type ToolEvent, committed, drafted, stay } from "./tool";

const STEP_DEG = 15;

export function rotating(state: StateOf<"rotating">, event: ToolEvent, { around }: Surrounded): Step {
  if (event.kind === "up") return state.by_deg === 0 ? stay({ name: "idle" }, { kind: "draft", action: null }) : committed(rotatedBy(around, [state.key], state.by_deg));
  if (event.kind !== "move") return stay(state);
  const found = find(around.room, state.key);
  const stands = found?.kind === "luminaire" ? found.object.rotation_deg : 0;
  const to = stands + angle(state.about, event.at) - state.from_deg;
  const by_deg = (event.alt ? Math.round(to) : STEP_DEG * Math.round(to / STEP_DEG)) - stands;
  const next = { ...state, by_deg };
  return by_deg === 0 ? stay(next, { kind: "draft", action: null }) : drafted(next, rotatedBy(around, [state.key], by_deg));
}
