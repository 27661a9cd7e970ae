// The building's line in a picture along which a hand or keys move: how many of its steps are taken.
import { useMemo } from "preact/hooks";
import type { BuildingLine } from "../api/contract";
import { AxesDrawing } from "./axes";
import { linePicture, nearestPoint } from "./line";

const WIDTH_PX = 560;
const HEIGHT_PX = 270;

export function LineChart({ line, currency, chosen, says, onChoose }: {
  line: BuildingLine;
  currency: string;
  /** How many steps are taken. */
  chosen: number;
  /** The chosen point in words. */
  says: string;
  onChoose: (steps: number) => void;
}) {
  const { axes, points, stands, labels } = useMemo(() => linePicture(line, WIDTH_PX, HEIGHT_PX), [line]);
  const last = line.steps.length;
  const path = (part: typeof points) => part.map((p, i) => `${i === 0 ? "M" : "L"}${p.x_px} ${p.y_px}`).join("");
  const move = (event: KeyboardEvent) => {
    const by = { ArrowRight: 1, ArrowDown: 1, PageDown: 5, ArrowLeft: -1, ArrowUp: -1, PageUp: -5 }[event.key];
    const next = event.key === "Home" ? 0 : event.key === "End" ? last : by === undefined ? null : Math.min(last, Math.max(0, chosen + by));
    if (next === null || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    onChoose(next);
  };
  const point = (event: PointerEvent) => {
    const at = (event.currentTarget as HTMLElement).getBoundingClientRect();
    const scale = WIDTH_PX / at.width;
    onChoose(nearestPoint(points, scale * (event.clientX - at.left), scale * (event.clientY - at.top)));
  };
  const here = points[chosen]!;
  return (
    <div
      class="line-chart"
      role="slider"
      tabIndex={0}
      aria-label="steps taken along the line"
      aria-valuemin={0}
      aria-valuemax={last}
      aria-valuenow={chosen}
      aria-valuetext={says}
      onKeyDown={move}
      onPointerDown={(event) => {
        if (event.button !== 0) return;
        event.currentTarget.setPointerCapture(event.pointerId);
        point(event);
      }}
      onPointerMove={(event) => {
        if (event.currentTarget.hasPointerCapture(event.pointerId)) point(event);
      }}
    >
      <svg viewBox={`0 0 ${WIDTH_PX} ${HEIGHT_PX}`} aria-hidden="true">
        <AxesDrawing axes={axes} currency={currency} />
        <path class="ahead" d={path(points)} />
        <path class="taken" d={path(points.slice(0, chosen + 1))} />
        {points.map((p, i) => (
          <circle key={i} class={i <= chosen ? "step" : "step ahead"} cx={p.x_px} cy={p.y_px} r="3" />
        ))}
        {line.points.filter(({ steps }) => steps !== chosen).map(({ name, steps }) => (
          <circle key={name} class={name === "most for the building's money" ? "known knee" : "known"} cx={points[steps]!.x_px} cy={points[steps]!.y_px} r="6.5" />
        ))}
        {stands !== null && <rect class="stands" x={stands.x_px - 5} y={stands.y_px - 5} width="10" height="10" transform={`rotate(45 ${stands.x_px} ${stands.y_px})`} />}
        <circle class="chosen" cx={here.x_px} cy={here.y_px} r="5" />
        <circle class="about" cx={here.x_px} cy={here.y_px} r="10" />
        {labels.map((label) => (
          <text key={label.text} class="name" x={label.x} y={label.y} text-anchor={label.anchor}>
            {label.text}
          </text>
        ))}
      </svg>
    </div>
  );
}
