// Lines, figures and words of first cost across and energy a year up.
import { rounded } from "../units/figures";
import type { Axes } from "./front";

export function AxesDrawing({ axes, currency }: { axes: Axes; currency: string }) {
  const { frame, x_ticks, y_ticks, height_px } = axes;
  return (
    <>
      {x_ticks.map((tick) => (
        <g key={tick.value}>
          <path class="grid" d={`M${tick.at_px} ${frame.top_px}V${frame.bottom_px}`} />
          <text class="tick" x={tick.at_px} y={frame.bottom_px + 14} text-anchor="middle">
            {rounded(tick.value, 0)}
          </text>
        </g>
      ))}
      {y_ticks.map((tick) => (
        <g key={tick.value}>
          <path class="grid" d={`M${frame.left_px} ${tick.at_px}H${frame.right_px}`} />
          <text class="tick" x={frame.left_px - 6} y={tick.at_px + 4} text-anchor="end">
            {rounded(tick.value, 0)}
          </text>
        </g>
      ))}
      <text class="tick" x={0.5 * (frame.left_px + frame.right_px)} y={height_px - 4} text-anchor="middle">
        first cost, middle of its range, {currency}
      </text>
      <text class="tick" transform={`translate(11 ${0.5 * (frame.top_px + frame.bottom_px)}) rotate(-90)`} text-anchor="middle">
        kWh a year
      </text>
    </>
  );
}
