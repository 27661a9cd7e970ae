// Paths of the drawing, in pixels of the screen.
import type { Contour, DeviceDrawing, DoorDrawing, PlanPoint } from "../api/contract";
import { cross, distance, minus, radians } from "./geometry";
import { type View, screenFromPlan } from "./view";

/** Tenths of a pixel are finer than any screen. */
const n = (v: number): string => String(Math.round(v * 10) / 10);

export const pointText = (view: View, p: PlanPoint): string => {
  const { x_px, y_px } = screenFromPlan(view, p);
  return `${n(x_px)} ${n(y_px)}`;
};

export function pathOf(view: View, points: readonly PlanPoint[], isClosed: boolean): string {
  let d = "";
  for (let i = 0; i < points.length; i += 1) d += (i === 0 ? "M" : "L") + pointText(view, points[i]!);
  return isClosed && d !== "" ? `${d}Z` : d;
}

/** Several closed outlines as one path. */
export const ringsPath = (view: View, rings: readonly (readonly PlanPoint[])[]): string =>
  rings.map((ring) => pathOf(view, ring, true)).join("");

export function contourPath(view: View, contours: readonly Pick<Contour, "points" | "is_closed">[]): string {
  const { px_per_m, origin } = view;
  let d = "";
  for (const { points, is_closed } of contours) {
    for (let i = 0; i + 1 < points.length; i += 2)
      d += `${i === 0 ? "M" : "L"}${n(origin.x_px + points[i]! * px_per_m)} ${n(origin.y_px - points[i + 1]! * px_per_m)}`;
    if (is_closed) d += "Z";
  }
  return d;
}

/** A stretch of wall as a band centred on the wall's line. */
export function bandPath(view: View, from: PlanPoint, to: PlanPoint, thick_px: number): string {
  const length = distance(from, to);
  if (length === 0) return "";
  const half = (0.5 * thick_px) / view.px_per_m / length;
  const across: PlanPoint = [-(to[1] - from[1]) * half, (to[0] - from[0]) * half];
  const at = (p: PlanPoint, s: number): PlanPoint => [p[0] + s * across[0], p[1] + s * across[1]];
  return pathOf(view, [at(from, 1), at(to, 1), at(to, -1), at(from, -1)], true);
}

/** From the tip of the open leaf to the latch, about the hinge. */
export function swingPath(view: View, door: DoorDrawing): string {
  const r = n(distance(door.hinge, door.latch) * view.px_per_m);
  const isClockwise = cross(minus(door.tip, door.hinge), minus(door.latch, door.hinge)) < 0;
  return `M${pointText(view, door.tip)}A${r} ${r} 0 0 ${isClockwise ? 1 : 0} ${pointText(view, door.latch)}`;
}

/** Outline of what a sensor would cover in an empty hall, for walking (major) or small movements. */
export function coveragePath(view: View, device: DeviceDrawing, which: "major" | "minor"): string {
  const c = device.coverage;
  if (c === undefined) return "";
  const { x_px: x, y_px: y } = screenFromPlan(view, [device.at[0], device.at[1]]);
  const r = (which === "major" ? c.major_radius_m : c.minor_radius_m) * view.px_per_m;
  switch (c.shape) {
    case "circle":
    case "in_luminaire":
      return `M${n(x - r)} ${n(y)}A${n(r)} ${n(r)} 0 1 1 ${n(x + r)} ${n(y)}A${n(r)} ${n(r)} 0 1 1 ${n(x - r)} ${n(y)}Z`;
    case "half_circle":
    case "sector": {
      const open = radians(c.shape === "half_circle" ? 180 : c.sector_deg);
      const aim = radians(c.aim_deg);
      const at = (a: number) => `${n(x + r * Math.sin(a))} ${n(y - r * Math.cos(a))}`;
      return `M${n(x)} ${n(y)}L${at(aim - 0.5 * open)}A${n(r)} ${n(r)} 0 ${open > Math.PI ? 1 : 0} 1 ${at(aim + 0.5 * open)}Z`;
    }
    case "strip": {
      const w = 0.5 * c.strip_width_m * view.px_per_m;
      const aim = radians(c.aim_deg);
      const corner = (across: number, along: number) =>
        `${n(x + across * Math.cos(aim) + along * Math.sin(aim))} ${n(y + across * Math.sin(aim) - along * Math.cos(aim))}`;
      return `M${corner(-w, r)}L${corner(w, r)}L${corner(w, -r)}L${corner(-w, -r)}Z`;
    }
  }
}

export interface ArrowHead {
  x: number;
  y: number;
  degrees: number;
}

/** Heads along a way: in the middle of each stretch, at the end of the last. */
export function arrowHeads(view: View, line: readonly PlanPoint[]): ArrowHead[] {
  const heads: ArrowHead[] = [];
  for (let i = 1; i < line.length; i += 1) {
    const a = screenFromPlan(view, line[i - 1]!);
    const b = screenFromPlan(view, line[i]!);
    const dx = b.x_px - a.x_px;
    const dy = b.y_px - a.y_px;
    if (dx === 0 && dy === 0) continue;
    const along = i + 1 === line.length ? 0.97 : 0.55;
    heads.push({ x: a.x_px + along * dx, y: a.y_px + along * dy, degrees: (Math.atan2(dy, dx) * 180) / Math.PI });
  }
  return heads;
}
