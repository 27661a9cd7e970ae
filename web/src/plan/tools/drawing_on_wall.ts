// A window or door is drawn along a wall; a click gives one of the usual width.
import { withOnWall } from "../changes";
import { nearestShare, wallsOf } from "../geometry";
import { onGrid } from "../snap";
import { type StateOf, type Step, type Surrounded, type ToolEvent, committed, drafted, stay } from "./tool";

export function drawingOnWall(state: StateOf<"drawing_on_wall">, event: ToolEvent, { tool, around }: Surrounded): Step {
  if (tool.name !== "add_on_wall") return stay({ name: "idle" }, { kind: "draft", action: null });
  if (event.kind === "up") return committed(withOnWall(around, tool.thing, state.wall, onGrid(state.from_m), onGrid(state.to_m)));
  if (event.kind !== "move") return stay(state);
  const wall = wallsOf(around.room.floor)[state.wall]!;
  const to_m = nearestShare(event.at, wall.from, wall.to) * wall.length_m;
  return drafted({ ...state, to_m }, withOnWall(around, tool.thing, state.wall, onGrid(state.from_m), event.alt ? to_m : onGrid(to_m)));
}
