// The pointer of the keyboard: a cross that arrow keys move over a plan or a drawing, and Enter presses at.
import type { PlanPoint } from "../api/contract";
import { type UnitSystem, formatLength } from "../units/system";
import { distance, planMillimetres } from "./geometry";
import { ARROWS, FAR_NUDGE_M, NUDGE_M } from "./keys";
import { type View, screenFromPlan } from "./view";

/** What moves the cross, for hints and help. */
export const CROSS_KEYS = "Arrow keys move a cross by 5 cm, Shift by 50 cm; page down goes on to a corner or wall";

/** Where a key takes the cross, or null when it means nothing to it. Page keys go from one of `stops` to the next. */
export function crossMoved(at: PlanPoint, key: string, isFar: boolean, stops: readonly PlanPoint[]): PlanPoint | null {
  const arrow = ARROWS[key];
  if (arrow !== undefined) {
    const step = isFar ? FAR_NUDGE_M : NUDGE_M;
    return planMillimetres([at[0] + step * arrow[0], at[1] + step * arrow[1]]);
  }
  if ((key !== "PageDown" && key !== "PageUp") || stops.length === 0) return null;
  const now = stops.findIndex((stop) => distance(stop, at) < 1e-3);
  if (now < 0) return stops[0]!;
  return stops[(now + (key === "PageDown" ? 1 : stops.length - 1)) % stops.length]!;
}

export const crossWords = (at: PlanPoint, system: UnitSystem): string => `x ${formatLength(at[0], system)}, y ${formatLength(at[1], system)}`;

export function CrossHair({ at, view, system, width_px, height_px }: { at: PlanPoint; view: View; system: UnitSystem; width_px: number; height_px: number }) {
  const { x_px, y_px } = screenFromPlan(view, at);
  const d = `M0 ${y_px}H${width_px}M${x_px} 0V${height_px}`;
  const isRight = x_px > width_px - 150;
  return (
    <g class="crosshair" aria-hidden="true">
      <path class="under" d={d} />
      <path d={d} />
      <text x={x_px + (isRight ? -9 : 9)} y={y_px < 30 ? y_px + 20 : y_px - 9} text-anchor={isRight ? "end" : "start"}>
        {crossWords(at, system)}
      </text>
    </g>
  );
}
