import type { View } from "../plan/view";
import { screenFromPlan } from "../plan/view";
import { pathOf } from "../plan/paths";
import { pure } from "../plan/pure";
import type { Background } from "./background";

export const BackgroundLayer = pure(
  ({ background, view, opacity, size }: { background: Background; view: View; opacity: number; size: { width_px: number; height_px: number } }) => {
    const { drawn, scale } = background;
    const own: View = { px_per_m: view.px_per_m * scale, origin: view.origin };
    return (
      <svg class="background" width={size.width_px} height={size.height_px} style={{ opacity }} aria-hidden="true">
        {drawn.kind === "picture" ? (
          <image
            href={drawn.url}
            x={screenFromPlan(own, [0, drawn.high]).x_px}
            y={screenFromPlan(own, [0, drawn.high]).y_px}
            width={drawn.wide * own.px_per_m}
            height={drawn.high * own.px_per_m}
            preserveAspectRatio="none"
          />
        ) : (
          <path class="background-lines" d={drawn.lines.map((line) => pathOf(own, line, false)).join("")} />
        )}
      </svg>
    );
  },
);
