// A rectangle is drawn: a task area or a table.
import { withOutline } from "../changes";
import { boxFrom, cornersOf } from "../geometry";
import { cornerOf } from "./idle";
import { type StateOf, type Step, type Surrounded, type ToolEvent, committed, drafted, stay } from "./tool";

export function drawing(state: StateOf<"drawing">, event: ToolEvent, context: Surrounded): Step {
  const { tool, around } = context;
  if (tool.name !== "draw") return stay({ name: "idle" }, { kind: "draft", action: null });
  const outcome = (end: typeof state.end) => withOutline(around, tool.thing, cornersOf(boxFrom(state.start, end)));
  if (event.kind === "up") return committed(outcome(state.end));
  if (event.kind !== "move") return stay(state);
  const end = cornerOf(event, context);
  return drafted({ ...state, end }, outcome(end));
}
