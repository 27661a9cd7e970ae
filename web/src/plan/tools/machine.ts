// The tools as one machine: every state with every event. Escape leads to idle from all of them.
import { boxing } from "./boxing";
import { dragging } from "./dragging";
import { drawing } from "./drawing";
import { drawingOnWall } from "./drawing_on_wall";
import { idle } from "./idle";
import { measuring } from "./measuring";
import { placing } from "./placing";
import { pointing } from "./pointing";
import { reshaping } from "./reshaping";
import { resizing } from "./resizing";
import { rotating } from "./rotating";
import { type Effect, IDLE, type Step, type Surrounded, type ToolEvent, type ToolState, stay } from "./tool";
import { SELECT } from "./tool_choice";

function escaped(state: ToolState, { selection, tool }: Surrounded): Step {
  const effects: Effect[] = state.name === "idle" ? [] : [{ kind: "draft", action: null }];
  // First the gesture ends, then the tool is laid down, then the selection goes.
  if (state.name === "idle" && tool.name !== "select") effects.push({ kind: "tool", tool: SELECT });
  else if (state.name === "idle" && selection.size > 0) effects.push({ kind: "select", keys: new Set() });
  return stay(IDLE, ...effects);
}

export function step(state: ToolState, event: ToolEvent, context: Surrounded): Step {
  if (event.kind === "key") return event.key === "Escape" ? escaped(state, context) : stay(state);
  if (event.kind === "lost") return state.name === "idle" ? stay(state) : stay(IDLE, { kind: "draft", action: null });
  switch (state.name) {
    case "idle":
      return idle(state, event, context);
    case "pointing":
      return pointing(state, event, context);
    case "dragging":
      return dragging(state, event, context);
    case "boxing":
      return boxing(state, event, context);
    case "rotating":
      return rotating(state, event, context);
    case "resizing":
      return resizing(state, event, context);
    case "reshaping":
      return reshaping(state, event, context);
    case "placing":
      return placing(state, event, context);
    case "drawing":
      return drawing(state, event, context);
    case "drawing_on_wall":
      return drawingOnWall(state, event, context);
    case "measuring":
      return measuring(state, event, context);
  }
}
