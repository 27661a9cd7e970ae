// Plane geometry in metres: plan axes, x to the right and y up.
import type { PlanPoint } from "../api/contract";

export interface Box {
  low: PlanPoint;
  high: PlanPoint;
}

export const plus = (a: PlanPoint, b: PlanPoint): PlanPoint => [a[0] + b[0], a[1] + b[1]];
export const minus = (a: PlanPoint, b: PlanPoint): PlanPoint => [a[0] - b[0], a[1] - b[1]];
export const times = (s: number, a: PlanPoint): PlanPoint => [s * a[0], s * a[1]];
export const dot = (a: PlanPoint, b: PlanPoint): number => a[0] * b[0] + a[1] * b[1];
export const cross = (a: PlanPoint, b: PlanPoint): number => a[0] * b[1] - a[1] * b[0];
export const distance = (a: PlanPoint, b: PlanPoint): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const middle = (a: PlanPoint, b: PlanPoint): PlanPoint => [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];

export const radians = (degrees: number): number => (degrees * Math.PI) / 180;
/** Degrees in [0, 360). */
export const turned = (degrees: number): number => ((degrees % 360) + 360) % 360;

/** `point` turned about `about`, counter-clockwise. */
export function rotated(point: PlanPoint, about: PlanPoint, degrees: number): PlanPoint {
  const c = Math.cos(radians(degrees));
  const s = Math.sin(radians(degrees));
  const [dx, dy] = minus(point, about);
  return [about[0] + c * dx - s * dy, about[1] + s * dx + c * dy];
}

/** Bounds of at least one point. */
export function boundsOf(points: readonly PlanPoint[]): Box {
  const low: PlanPoint = [Infinity, Infinity];
  const high: PlanPoint = [-Infinity, -Infinity];
  for (const [x, y] of points) {
    low[0] = Math.min(low[0], x);
    low[1] = Math.min(low[1], y);
    high[0] = Math.max(high[0], x);
    high[1] = Math.max(high[1], y);
  }
  return { low, high };
}

export const boxFrom = (a: PlanPoint, b: PlanPoint): Box => boundsOf([a, b]);
export const centreOf = (box: Box): PlanPoint => middle(box.low, box.high);
export const cornersOf = ({ low, high }: Box): PlanPoint[] => [low, [high[0], low[1]], high, [low[0], high[1]]];
export const isInBox = (p: PlanPoint, { low, high }: Box): boolean =>
  p[0] >= low[0] && p[0] <= high[0] && p[1] >= low[1] && p[1] <= high[1];

/** Corners of a rectangle of that length (along `rotation_deg`) and width about a centre. */
export function rectangleAbout(centre: PlanPoint, length: number, width: number, rotation_deg: number): PlanPoint[] {
  const corners: PlanPoint[] = [
    [-0.5 * length, -0.5 * width],
    [0.5 * length, -0.5 * width],
    [0.5 * length, 0.5 * width],
    [-0.5 * length, 0.5 * width],
  ];
  return corners.map((c) => rotated(plus(centre, c), centre, rotation_deg));
}

export function contains(polygon: readonly PlanPoint[], p: PlanPoint): boolean {
  let isInside = false;
  for (let i = 0, j = polygon.length - 1; i < polygon.length; j = i, i += 1) {
    const a = polygon[i]!;
    const b = polygon[j]!;
    if (a[1] > p[1] !== b[1] > p[1] && p[0] < a[0] + ((p[1] - a[1]) / (b[1] - a[1])) * (b[0] - a[0])) isInside = !isInside;
  }
  return isInside;
}

/** Share of the way from `a` to `b` at which the segment is nearest to `p`, 0 to 1. */
export function nearestShare(p: PlanPoint, a: PlanPoint, b: PlanPoint): number {
  const ab = minus(b, a);
  const square = dot(ab, ab);
  return square === 0 ? 0 : Math.min(1, Math.max(0, dot(minus(p, a), ab) / square));
}

export const distanceToSegment = (p: PlanPoint, a: PlanPoint, b: PlanPoint): number =>
  distance(p, plus(a, times(nearestShare(p, a, b), minus(b, a))));

export function distanceToBoundary(polygon: readonly PlanPoint[], p: PlanPoint): number {
  let least = Infinity;
  for (let i = 0; i < polygon.length; i += 1) least = Math.min(least, distanceToSegment(p, polygon[i]!, polygon[(i + 1) % polygon.length]!));
  return least;
}

/** Twice the area, positive when counter-clockwise. */
export function doubleArea(polygon: readonly PlanPoint[]): number {
  let sum = 0;
  for (let i = 0; i < polygon.length; i += 1) sum += cross(polygon[i]!, polygon[(i + 1) % polygon.length]!);
  return sum;
}

/** Whether two segments have a point in common. */
export function segmentsMeet(a: PlanPoint, b: PlanPoint, c: PlanPoint, d: PlanPoint): boolean {
  const side = (p: PlanPoint, q: PlanPoint, r: PlanPoint) => Math.sign(cross(minus(q, p), minus(r, p)));
  const isOn = (p: PlanPoint, q: PlanPoint, r: PlanPoint) =>
    Math.min(p[0], q[0]) <= r[0] && r[0] <= Math.max(p[0], q[0]) && Math.min(p[1], q[1]) <= r[1] && r[1] <= Math.max(p[1], q[1]);
  const s1 = side(a, b, c);
  const s2 = side(a, b, d);
  const s3 = side(c, d, a);
  const s4 = side(c, d, b);
  if (s1 !== s2 && s3 !== s4) return true;
  return (s1 === 0 && isOn(a, b, c)) || (s2 === 0 && isOn(a, b, d)) || (s3 === 0 && isOn(c, d, a)) || (s4 === 0 && isOn(c, d, b));
}

/** Whether the outline crosses or touches itself other than where neighbours join. */
export function isSimple(polygon: readonly PlanPoint[]): boolean {
  const n = polygon.length;
  if (n < 3) return false;
  for (let i = 0; i < n; i += 1) {
    if (distance(polygon[i]!, polygon[(i + 1) % n]!) < 1e-6) return false;
    for (let j = i + 1; j < n; j += 1) {
      if (j === i + 1 || (i === 0 && j === n - 1)) continue;
      if (segmentsMeet(polygon[i]!, polygon[(i + 1) % n]!, polygon[j]!, polygon[(j + 1) % n]!)) return false;
    }
  }
  return true;
}

export interface Wall {
  index: number;
  from: PlanPoint;
  to: PlanPoint;
  length_m: number;
  /** Unit vectors along the wall and into the room. */
  along: PlanPoint;
  inward: PlanPoint;
}

/** Walls of a floor outlined counter-clockwise. */
export function wallsOf(floor: readonly PlanPoint[]): Wall[] {
  return floor.map((from, index) => {
    const to = floor[(index + 1) % floor.length]!;
    const length_m = distance(from, to);
    const along: PlanPoint = length_m > 0 ? times(1 / length_m, minus(to, from)) : [1, 0];
    return { index, from, to, length_m, along, inward: [-along[1], along[0]] };
  });
}

export interface OnWall {
  wall: Wall;
  /** Along the wall from its first corner. */
  offset_m: number;
  distance_m: number;
}

/** The wall nearest to a point; null for a floor without walls. */
export function nearestWall(floor: readonly PlanPoint[], p: PlanPoint): OnWall | null {
  let best: OnWall | null = null;
  for (const wall of wallsOf(floor)) {
    const distance_m = distanceToSegment(p, wall.from, wall.to);
    if (best === null || distance_m < best.distance_m) best = { wall, offset_m: nearestShare(p, wall.from, wall.to) * wall.length_m, distance_m };
  }
  return best;
}

/** To the millimetre, without a negative zero. */
export const millimetres = (m: number): number => Math.round(m * 1000) / 1000 + 0;
export const planMillimetres = ([x, y]: PlanPoint): PlanPoint => [millimetres(x), millimetres(y)];

/** Shortest set of straight links that joins all points (Prim). */
export function spanningTree(points: readonly PlanPoint[]): [PlanPoint, PlanPoint][] {
  const links: [PlanPoint, PlanPoint][] = [];
  const nearest = points.map(() => ({ to: 0, distance: Infinity }));
  const isJoined = points.map((_, i) => i === 0);
  let last = 0;
  for (let joined = 1; joined < points.length; joined += 1) {
    let next = -1;
    for (let i = 0; i < points.length; i += 1) {
      if (isJoined[i]) continue;
      const d = distance(points[i]!, points[last]!);
      if (d < nearest[i]!.distance) nearest[i] = { to: last, distance: d };
      if (next < 0 || nearest[i]!.distance < nearest[next]!.distance) next = i;
    }
    links.push([points[nearest[next]!.to]!, points[next]!]);
    isJoined[next] = true;
    last = next;
  }
  return links;
}
