// New luminaires or a new device: a click places one, a drag of luminaires a row or an array.
import type { PlanPoint } from "../../api/contract";
import type { Outcome } from "../actions";
import { withDevice, withLuminaires } from "../changes";
import { boxFrom, distance } from "../geometry";
import { placeOf } from "./idle";
import { type StateOf, type Step, type Surrounded, type ToolEvent, committed, drafted, stay } from "./tool";

/** Between luminaires of an array that is drawn, metres: what people start from before they look at the light. */
const USUAL_SPACING_M = 2.4;
const FLAT_M = 0.3;

/** Even places over what was drawn: one, a row, or rows, with the usual spacing at most between neighbours. */
export function arrayOver(start: PlanPoint, end: PlanPoint): PlanPoint[] {
  if (distance(start, end) < FLAT_M) return [start];
  const { low, high } = boxFrom(start, end);
  const stops = (from: number, to: number): number[] => {
    if (to - from < FLAT_M) return [from === to ? from : 0.5 * (from + to)];
    const n = Math.max(2, Math.ceil((to - from) / USUAL_SPACING_M - 1e-9) + 1);
    return Array.from({ length: n }, (_, i) => from + ((to - from) * i) / (n - 1));
  };
  const isRow = high[1] - low[1] < FLAT_M;
  const isColumn = high[0] - low[0] < FLAT_M;
  // A row stands where it was begun, not halfway to where the hand strayed.
  const xs = isColumn ? [start[0]] : stops(low[0], high[0]);
  const ys = isRow ? [start[1]] : stops(low[1], high[1]);
  return ys.flatMap((y) => xs.map((x): PlanPoint => [x, y]));
}

function outcomeOf(state: StateOf<"placing">, { around, tool }: Surrounded): Outcome {
  if (tool.name === "add_device") return withDevice(around, tool.device, state.end);
  if (tool.name !== "add_luminaire") return { refused: "No luminaire type is chosen." };
  const like = around.room.luminaires.filter((l) => l.type === tool.type);
  const rotation = like[like.length - 1]?.rotation_deg ?? 0;
  return withLuminaires(around, tool.type, arrayOver(state.start, state.end), rotation);
}

export function placing(state: StateOf<"placing">, event: ToolEvent, context: Surrounded): Step {
  if (event.kind === "up") return committed(outcomeOf(state, context));
  if (event.kind !== "move") return stay(state);
  const next = { ...state, end: placeOf(event, context) };
  return drafted(next, outcomeOf(next, context));
}
