// A corner of a rectangle or an end of a window or door follows the hand.
import type { Outcome } from "../actions";
import { onWall, outlined, placedOnWall } from "../changes";
import { boxFrom, cornersOf, dot, minus } from "../geometry";
import { find } from "../objects";
import { onGrid } from "../snap";
import { cornerOf } from "./idle";
import { IDLE, type StateOf, type Step, type Surrounded, type ToolEvent, committed, drafted, stay } from "./tool";

function outcomeOf(state: StateOf<"resizing">, { around }: Surrounded): Outcome {
  const { handle, at } = state;
  if (handle.kind === "corner") return outlined(around, handle.key, cornersOf(boxFrom(handle.opposite, at)));
  const found = find(around.room, handle.key);
  const stood = found?.kind === "opening" || found?.kind === "door" ? onWall(around.room, found.object) : null;
  if (stood === null) return { refused: "It stands on a wall that the floor does not have." };
  const offset = Math.min(Math.max(0, dot(minus(at, stood.wall.from), stood.wall.along)), stood.wall.length_m);
  const end = stood.offset_m + stood.width_m;
  return handle.end === "from"
    ? placedOnWall(around, handle.key, stood.wall.index, Math.min(offset, end - 0.1), Math.max(0.1, end - offset))
    : placedOnWall(around, handle.key, stood.wall.index, stood.offset_m, Math.max(0.1, offset - stood.offset_m));
}

export function resizing(state: StateOf<"resizing">, event: ToolEvent, context: Surrounded): Step {
  if (event.kind === "up") return state.at === state.handle.at ? stay(IDLE, { kind: "draft", action: null }) : committed(relabelled(outcomeOf(state, context)));
  if (event.kind !== "move") return stay(state);
  const { around } = context;
  let at = cornerOf(event, context);
  if (state.handle.kind === "end" && !event.alt) {
    // Along the wall the grid counts from the wall's first corner, as the document does.
    const found = find(around.room, state.handle.key);
    const stood = found?.kind === "opening" || found?.kind === "door" ? onWall(around.room, found.object) : null;
    if (stood !== null) {
      const offset = onGrid(dot(minus(event.at, stood.wall.from), stood.wall.along));
      at = [stood.wall.from[0] + offset * stood.wall.along[0], stood.wall.from[1] + offset * stood.wall.along[1]];
    }
  }
  const next = { ...state, at };
  return drafted(next, outcomeOf(next, context));
}

const relabelled = (outcome: Outcome): Outcome => ("refused" in outcome ? outcome : { ...outcome, label: outcome.label.replace(/^move/, "resize") });
