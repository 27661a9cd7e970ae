// The distance between two points stays on the plan until the next press or Escape.
import { cornerOf } from "./idle";
import { type StateOf, type Step, type Surrounded, type ToolEvent, stay } from "./tool";

export function measuring(state: StateOf<"measuring">, event: ToolEvent, context: Surrounded): Step {
  switch (event.kind) {
    case "move":
      return state.isDone ? stay(state) : stay({ ...state, end: cornerOf(event, context) });
    case "up":
      return stay({ ...state, isDone: true });
    case "down": {
      const start = cornerOf(event, context);
      return stay({ name: "measuring", start, end: start, isDone: false });
    }
    default:
      return stay(state);
  }
}
