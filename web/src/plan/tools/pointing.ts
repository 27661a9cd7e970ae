// Pressed on an object: let go, it is selected; moved away, it is dragged with all that is selected.
import { DRAG_PX, IDLE, type StateOf, type Step, type Surrounded, type ToolEvent, apart_px, stay } from "./tool";
import { dragging } from "./dragging";

export function pointing(state: StateOf<"pointing">, event: ToolEvent, context: Surrounded): Step {
  const { selection } = context;
  if (event.kind === "up") {
    if (!state.isAdding) return stay(IDLE, { kind: "select", keys: new Set([state.key]) });
    const keys = new Set(selection);
    if (!keys.delete(state.key)) keys.add(state.key);
    return stay(IDLE, { kind: "select", keys });
  }
  if (event.kind === "move" && apart_px(event.at_px, state.start_px) > DRAG_PX) {
    const keys = state.wasSelected ? selection : state.isAdding ? new Set([...selection, state.key]) : new Set([state.key]);
    const begun = dragging({ name: "dragging", grabbed: state.key, keys: [...keys], start: state.start, by: [0, 0], guides: [] }, event, context);
    return { state: begun.state, effects: state.wasSelected ? begun.effects : [{ kind: "select", keys }, ...begun.effects] };
  }
  return stay(state);
}
