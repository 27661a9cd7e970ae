// Between the plan (metres, y up) and the screen (pixels, y down). The two kinds of point and of length are
// different types, so that one cannot stand for the other.
import type { PlanPoint } from "../api/contract";
import { type Metres, metres } from "../units/system";
import { boundsOf } from "./geometry";

declare const pixel: unique symbol;
/** A length on the screen, in CSS pixels. */
export type Pixels = number & { readonly [pixel]: true };
export const pixels = (v: number) => v as Pixels;

/** A place on the screen, from the upper left corner of the drawing. */
export interface ScreenPoint {
  readonly x_px: number;
  readonly y_px: number;
}
export const screenPoint = (x_px: number, y_px: number): ScreenPoint => ({ x_px, y_px });

export interface View {
  readonly px_per_m: number;
  /** Where the plan's [0, 0] stands on the screen. */
  readonly origin: ScreenPoint;
}

/** Margins around the room when it is fitted: letters at the left and above, dimensions below and right. */
export interface Margins {
  left_px: number;
  top_px: number;
  right_px: number;
  bottom_px: number;
}

const LEAST_PX_PER_M = 4;
const MOST_PX_PER_M = 2000;

export const screenFromPlan = (view: View, [x, y]: PlanPoint): ScreenPoint =>
  screenPoint(view.origin.x_px + x * view.px_per_m, view.origin.y_px - y * view.px_per_m);

export const planFromScreen = (view: View, { x_px, y_px }: ScreenPoint): PlanPoint => [
  (x_px - view.origin.x_px) / view.px_per_m,
  (view.origin.y_px - y_px) / view.px_per_m,
];

export const screenLength = (view: View, m: Metres): Pixels => pixels(m * view.px_per_m);
export const planLength = (view: View, px: Pixels): Metres => metres(px / view.px_per_m);

/** The view that shows the whole floor, as large as it goes and in the middle. */
export function fitted(floor: readonly PlanPoint[], width_px: number, height_px: number, margins: Margins): View {
  const { low, high } = boundsOf(floor);
  const room_px = { wide: Math.max(20, width_px - margins.left_px - margins.right_px), high: Math.max(20, height_px - margins.top_px - margins.bottom_px) };
  const px_per_m = Math.min(room_px.wide / Math.max(0.5, high[0] - low[0]), room_px.high / Math.max(0.5, high[1] - low[1]));
  const left = margins.left_px + 0.5 * (room_px.wide - (high[0] - low[0]) * px_per_m);
  const top = margins.top_px + 0.5 * (room_px.high - (high[1] - low[1]) * px_per_m);
  return { px_per_m, origin: screenPoint(left - low[0] * px_per_m, top + high[1] * px_per_m) };
}

/** Larger by `factor`; the point of the plan under `about` stays where it is. */
export function zoomedAbout(view: View, about: ScreenPoint, factor: number): View {
  const px_per_m = Math.min(MOST_PX_PER_M, Math.max(LEAST_PX_PER_M, view.px_per_m * factor));
  const f = px_per_m / view.px_per_m;
  return { px_per_m, origin: screenPoint(about.x_px + f * (view.origin.x_px - about.x_px), about.y_px + f * (view.origin.y_px - about.y_px)) };
}

export const pannedBy = (view: View, dx_px: number, dy_px: number): View => ({
  px_per_m: view.px_per_m,
  origin: screenPoint(view.origin.x_px + dx_px, view.origin.y_px + dy_px),
});

/** The view shifted no more than brings a place of the plan into sight, a hand's breadth from the edges. */
export function bringing(view: View, at: PlanPoint, width_px: number, height_px: number): View {
  const EDGE_PX = 24;
  const { x_px, y_px } = screenFromPlan(view, at);
  const into = (v: number, size: number) => Math.min(Math.max(v, EDGE_PX), Math.max(EDGE_PX, size - EDGE_PX)) - v;
  const [dx, dy] = [into(x_px, width_px), into(y_px, height_px)];
  return dx === 0 && dy === 0 ? view : pannedBy(view, dx, dy);
}

/** Two fingers went from `before` to `after`: what lay under each lies under it still, as far as scale and shift can do it. */
export function pinched(view: View, before: readonly [ScreenPoint, ScreenPoint], after: readonly [ScreenPoint, ScreenPoint]): View {
  const apart = ([a, b]: readonly [ScreenPoint, ScreenPoint]) => Math.max(1, Math.hypot(a.x_px - b.x_px, a.y_px - b.y_px));
  const between = ([a, b]: readonly [ScreenPoint, ScreenPoint]) => screenPoint(0.5 * (a.x_px + b.x_px), 0.5 * (a.y_px + b.y_px));
  const from = between(before);
  const to = between(after);
  return pannedBy(zoomedAbout(view, from, apart(after) / apart(before)), to.x_px - from.x_px, to.y_px - from.y_px);
}
