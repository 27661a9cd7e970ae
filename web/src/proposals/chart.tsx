// First cost against energy a year: the front, what it leaves behind, and what the next kWh costs.
import { useMemo, useState } from "preact/hooks";
import type { Proposals } from "../api/contract";
import { printedResult } from "../units/figures";
import { AxesDrawing } from "./axes";
import { type Dot, frontPicture } from "./front";
import { costWords, marginalWords } from "./words";

const WIDTH_PX = 560;
const HEIGHT_PX = 250;

export function FrontChart({ proposals, reading, onRead, onChoose }: {
  proposals: Proposals;
  /** The design that is pointed at, or null. */
  reading: number | null;
  onRead: (design: number | null) => void;
  /** Somebody wants to see a design of the front beside the others. */
  onChoose: (design: number) => void;
}) {
  const picture = useMemo(() => frontPicture(proposals, WIDTH_PX, HEIGHT_PX), [proposals]);
  const [stop, setStop] = useState(0);
  const { dots, hull } = picture;
  const words = (dot: Dot): string => {
    const { cost, kwh, dominated_by: by } = proposals.designs[dot.design]!;
    return (
      `${dot.letter === "" ? "" : `${dot.letter}, `}${dot.name}: first cost ${costWords(cost.total, proposals.currency)}, ` +
      `${printedResult(kwh.mean, kwh.low, kwh.high, "kWh")} a year${dot.isKnee ? "; most for the money" : ""}` +
      (by === undefined ? "" : `; no better in anything than ${proposals.designs[by]!.name}`)
    );
  };
  const shown = dots.find((dot) => dot.design === reading) ?? dots[stop];
  const move = (event: KeyboardEvent) => {
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    const next = event.key === "Home" ? 0 : event.key === "End" ? dots.length - 1 : by === undefined ? null : Math.min(dots.length - 1, Math.max(0, stop + by));
    if (next === null) return;
    event.preventDefault();
    (event.currentTarget as Element).querySelectorAll<SVGElement>('[role="option"]')[next]?.focus();
  };
  return (
    <figure class="front-chart">
      <figcaption>
        <h2 id="front-heading">First cost against energy</h2>
      </figcaption>
      <svg viewBox={`0 0 ${WIDTH_PX} ${HEIGHT_PX}`} role="group" aria-labelledby="front-heading" aria-describedby="front-words">
        <g aria-hidden="true">
          <AxesDrawing axes={picture} currency={proposals.currency} />
          {hull.length > 1 && <path class="hull" d={hull.map((dot, i) => `${i === 0 ? "M" : "L"}${dot.x_px} ${dot.y_px}`).join("")} />}
        </g>
        <g role="listbox" aria-label="Designs by first cost, those of the front first" onKeyDown={move} onPointerLeave={() => onRead(null)}>
          {dots.map((dot, i) => (
            <g
              key={i}
              role="option"
              tabindex={i === stop ? 0 : -1}
              aria-selected={dot.isKnee}
              aria-label={words(dot)}
              class={`dot${dot.letter === "" ? " behind" : ""}${dot.design === reading ? " reading" : ""}`}
              onFocus={() => {
                setStop(i);
                onRead(dot.design);
              }}
              onBlur={() => onRead(null)}
              onPointerEnter={() => {
                setStop(i);
                onRead(dot.design);
              }}
              onClick={() => dot.letter !== "" && onChoose(dot.design)}
              onKeyDown={(event) => {
                if (event.key === "Enter" && dot.letter !== "") onChoose(dot.design);
              }}
            >
              <rect class="target" x={dot.x_px - 9} y={dot.y_px - 9} width="18" height="18" rx="9" />
              {dot.isKnee && <circle class="knee" cx={dot.x_px} cy={dot.y_px} r="9" />}
              <circle class="mark" cx={dot.x_px} cy={dot.y_px} r={dot.letter === "" ? 3.2 : 5} />
            </g>
          ))}
        </g>
        <g aria-hidden="true">
          {picture.letters.map((letter) => (
            <text key={letter.text} class="letter" x={letter.x} y={letter.y} text-anchor={letter.anchor}>
              {letter.text}
            </text>
          ))}
        </g>
      </svg>
      <p class="reads" aria-hidden="true">
        {shown === undefined ? "" : words(shown)}
      </p>
      <p id="front-words" class="soft">
        Letters mark the front: no other design is as good in everything and better in something. The ring marks most for the money; small dots
        are left behind. {marginalWords(proposals)}
      </p>
    </figure>
  );
}
