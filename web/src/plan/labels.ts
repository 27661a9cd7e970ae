// Keeps labels off one another and off what is drawn.
import type { Contour, PlanPoint } from "../api/contract";
import { contains, distance, distanceToBoundary } from "./geometry";
import { type View, planFromScreen, screenFromPlan, screenPoint } from "./view";

export interface PxBox {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

/** Mean width of a letter of 11 px text. */
const LETTER_PX = 6.7;

/** Where a text stands that begins (anchor 0), is centred (0.5) or ends (1) at x on the line y. */
export function boxOfText(text: string, x: number, y: number, anchor: number): PxBox {
  const w = LETTER_PX * text.length;
  return { x0: x - anchor * w, y0: y - 9, x1: x + (1 - anchor) * w, y1: y + 4 };
}

export class Labels {
  private readonly taken: PxBox[] = [];
  constructor(
    private readonly view: View,
    private readonly floor: readonly PlanPoint[],
  ) {}

  occupy(box: PxBox): void {
    this.taken.push(box);
  }

  occupyAround(p: PlanPoint, half_px: number): void {
    const { x_px, y_px } = screenFromPlan(this.view, p);
    this.occupy({ x0: x_px - half_px, y0: y_px - half_px, x1: x_px + half_px, y1: y_px + half_px });
  }

  /** The outline's box on the screen. */
  occupyOutline(outline: readonly PlanPoint[]): void {
    const points = outline.map((p) => screenFromPlan(this.view, p));
    this.occupy({
      x0: Math.min(...points.map((p) => p.x_px)),
      y0: Math.min(...points.map((p) => p.y_px)),
      x1: Math.max(...points.map((p) => p.x_px)),
      y1: Math.max(...points.map((p) => p.y_px)),
    });
  }

  /** Whether nothing stands in the box and it lies within the room. */
  isFree(box: PxBox): boolean {
    for (const x of [box.x0, box.x1])
      for (const y of [box.y0, box.y1]) if (!contains(this.floor, planFromScreen(this.view, screenPoint(x, y)))) return false;
    return !this.taken.some((b) => b.x0 < box.x1 && box.x0 < b.x1 && b.y0 < box.y1 && box.y0 < b.y1);
  }
}

export interface PlacedLabel {
  text: string;
  x: number;
  y: number;
  anchor: "start" | "middle" | "end";
}

const ANCHORS: Readonly<Record<PlacedLabel["anchor"], number>> = { start: 0, middle: 0.5, end: 1 };

/** The first of the places that is free, which it then occupies; null when all are taken. */
export function placed(labels: Labels, text: string, places: readonly Omit<PlacedLabel, "text">[]): PlacedLabel | null {
  for (const place of places) {
    const box = boxOfText(text, place.x, place.y, ANCHORS[place.anchor]);
    if (!labels.isFree(box)) continue;
    labels.occupy(box);
    return { text, ...place };
  }
  return null;
}

/** Four places about a token: right and left, above and below. */
export function aboutToken(x: number, y: number): Omit<PlacedLabel, "text">[] {
  return [
    { x: x + 13, y: y - 7, anchor: "start" },
    { x: x - 13, y: y - 7, anchor: "end" },
    { x: x + 13, y: y + 14, anchor: "start" },
    { x: x - 13, y: y + 14, anchor: "end" },
  ];
}

/** About a dot: right and left, above and below. */
export function besideDot(x: number, y: number): Omit<PlacedLabel, "text">[] {
  return [
    { x: x + 8, y: y + 4, anchor: "start" },
    { x: x - 8, y: y + 4, anchor: "end" },
    { x, y: y - 8, anchor: "middle" },
    { x, y: y + 16, anchor: "middle" },
  ];
}

/** What a layer writes on the plan: over a place of the floor, or beside a mark that stands there. */
export interface Note {
  text: string;
  at: PlanPoint;
  isBeside?: boolean;
}

export interface ContourLabel extends PlacedLabel {
  isTarget: boolean;
}

const SHORTEST_LABELLED_PX = 70;
const OFF_WALL_PX = 16;

/** One label to a contour that is long enough, in the middle of the line if there is room. */
export function contourLabels(contours: readonly Contour[], words: (lx: number) => string, view: View, floor: readonly PlanPoint[], labels: Labels): ContourLabel[] {
  const found: ContourLabel[] = [];
  for (const line of contours) {
    const points: PlanPoint[] = [];
    for (let i = 0; i + 1 < line.points.length; i += 2) points.push([line.points[i]!, line.points[i + 1]!]);
    let length = 0;
    for (let i = 1; i < points.length; i += 1) length += distance(points[i - 1]!, points[i]!);
    if (length * view.px_per_m < SHORTEST_LABELLED_PX) continue;
    const text = words(line.lx);
    // The middle of the line first, then outwards: a label near an end reads as belonging to the wall.
    const n = points.length;
    for (let k = 0; k < n; k += 1) {
      const i = (Math.floor(n / 2) + (k % 2 === 0 ? k / 2 : n - (k + 1) / 2)) % n;
      const p = points[i]!;
      if (!contains(floor, p) || distanceToBoundary(floor, p) * view.px_per_m < OFF_WALL_PX) continue;
      const { x_px, y_px } = screenFromPlan(view, p);
      const box = boxOfText(text, x_px, y_px + 4, 0.5);
      if (!labels.isFree(box)) continue;
      labels.occupy({ x0: box.x0 - 14, y0: box.y0 - 10, x1: box.x1 + 14, y1: box.y1 + 10 });
      found.push({ text, x: x_px, y: y_px + 4, anchor: "middle", isTarget: line.is_target });
      break;
    }
  }
  return found;
}
