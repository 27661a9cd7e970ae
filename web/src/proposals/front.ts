// The picture of first cost against energy: where everything stands in it.
import type { Proposals } from "../api/contract";
import { letterOfDesign, middleOf } from "./words";

export interface Dot {
  design: number; // index
  /** "A" on the front, "" else. */
  letter: string;
  name: string;
  cost: number;
  kwh: number;
  isKnee: boolean;
  x_px: number;
  y_px: number;
}
export interface Tick {
  value: number;
  at_px: number;
}
/** First cost across, energy a year up. */
export interface Axes {
  width_px: number;
  height_px: number;
  frame: { left_px: number; top_px: number; right_px: number; bottom_px: number };
  x_ticks: Tick[];
  y_ticks: Tick[];
}
export interface FrontPicture extends Axes {
  /** Front first, by first cost; then the rest, by first cost. */
  dots: Dot[];
  hull: Dot[];
  letters: { text: string; x: number; y: number; anchor: "start" | "end" }[];
}

/** Round values about `count` steps apart between two ends, which they take in. */
export function roundTicks(low: number, high: number, count: number): number[] {
  const span = Math.max(high - low, 1e-9);
  const raw = span / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= raw - 1e-12)!;
  const ticks: number[] = [];
  for (let n = Math.floor(low / step + 1e-9); ; n += 1) {
    ticks.push(n * step);
    if (n * step >= high - 1e-9) return ticks;
  }
}

const MARGIN = { left: 60, right: 22, top: 14, bottom: 34 };
const LETTER_PX = { wide: 9, high: 12 };

/** Axes that hold all of some points, and where a cost and an energy stand on them. */
export function axesOf(points: readonly { cost: number; kwh: number }[], width_px: number, height_px: number): { axes: Axes; x: (cost: number) => number; y: (kwh: number) => number } {
  const costs = points.map((p) => p.cost);
  const energies = points.map((p) => p.kwh);
  const xs = roundTicks(Math.min(...costs), Math.max(...costs), 4);
  const ys = roundTicks(Math.min(...energies), Math.max(...energies), 4);
  const frame = { left_px: MARGIN.left, top_px: MARGIN.top, right_px: width_px - MARGIN.right, bottom_px: height_px - MARGIN.bottom };
  const scale = (ticks: readonly number[], from: number, to: number) => {
    const [low, high] = [ticks[0]!, ticks.at(-1)!];
    return (v: number) => (high === low ? 0.5 * (from + to) : from + ((v - low) / (high - low)) * (to - from));
  };
  const x = scale(xs, frame.left_px, frame.right_px);
  const y = scale(ys, frame.bottom_px, frame.top_px);
  const at = (place: (v: number) => number) => (value: number) => ({ value, at_px: place(value) });
  return { axes: { width_px, height_px, frame, x_ticks: xs.map(at(x)), y_ticks: ys.map(at(y)) }, x, y };
}

export function frontPicture(proposals: Proposals, width_px: number, height_px: number): FrontPicture {
  const { designs, front, hull } = proposals;
  const knee = proposals.offers.find((offer) => offer.picked.includes("most for the money"))?.design ?? -1;
  const rest = designs.map((_, i) => i).filter((i) => !front.includes(i));
  const bare = [...front, ...rest.sort((a, b) => middleOf(designs[a]!.cost) - middleOf(designs[b]!.cost))].map((i) => ({
    design: i,
    letter: letterOfDesign(proposals, i),
    name: designs[i]!.name,
    cost: middleOf(designs[i]!.cost),
    kwh: designs[i]!.kwh.mean,
    isKnee: i === knee,
  }));
  const { axes, x, y } = axesOf(bare, width_px, height_px);
  const dots: Dot[] = bare.map((d) => ({ ...d, x_px: x(d.cost), y_px: y(d.kwh) }));
  return { ...axes, dots, hull: hull.map((i) => dots.find((d) => d.design === i)!), letters: letters(dots, axes.frame) };
}

/** Beside each dot of the front its letter, where the fewest dots and letters stand in its way. */
function letters(dots: readonly Dot[], frame: FrontPicture["frame"]): FrontPicture["letters"] {
  const placed: FrontPicture["letters"] = [];
  const centre = (l: FrontPicture["letters"][number]) => ({ x: l.x + (l.anchor === "start" ? 0.5 : -0.5) * LETTER_PX.wide * l.text.length, y: l.y - 0.35 * LETTER_PX.high });
  for (const dot of dots) {
    if (dot.letter === "") continue;
    const candidates = [
      { text: dot.letter, x: dot.x_px + 8, y: dot.y_px - 5, anchor: "start" as const },
      { text: dot.letter, x: dot.x_px - 8, y: dot.y_px + 14, anchor: "end" as const },
      { text: dot.letter, x: dot.x_px - 8, y: dot.y_px - 5, anchor: "end" as const },
      { text: dot.letter, x: dot.x_px + 8, y: dot.y_px + 14, anchor: "start" as const },
    ];
    const cost = (c: FrontPicture["letters"][number]) => {
      const at = centre(c);
      const isNear = (p: { x: number; y: number }, far: number) => Math.abs(p.x - at.x) < far && Math.abs(p.y - at.y) < far;
      return (
        dots.filter((d) => d !== dot && isNear({ x: d.x_px, y: d.y_px }, 10)).length +
        2 * placed.filter((p) => isNear(centre(p), 12)).length +
        (at.x < frame.left_px || at.x > frame.right_px || at.y < frame.top_px - 6 || at.y > frame.bottom_px ? 4 : 0)
      );
    };
    placed.push(candidates.reduce((best, c) => (cost(c) < cost(best) ? c : best)));
  }
  return placed;
}
