// A drawing under the room that is traced: a picture, or lines with corners to snap to.
import type { PlanPoint } from "../api/contract";
import { boundsOf } from "../plan/geometry";

export type Drawn =
  | { kind: "picture"; url: string; wide: number; high: number }
  | { kind: "lines"; lines: readonly (readonly PlanPoint[])[] };

export interface Background {
  path: string;
  drawn: Drawn;
  /** Metres to one unit of the drawing (a pixel of a picture). */
  scale: number;
  isScaled: boolean;
  /** Corners of the box around it, m. */
  extent: PlanPoint[];
  /** The corner of its lines nearest to a place, m; null where none is near. */
  nearest: (p: PlanPoint, near_m: number) => PlanPoint | null;
}

/** Before its scale is known a drawing is shown as wide as this. */
const UNSCALED_M = 30;
/** Corners beyond this many are not snapped to, so that the pointer stays light. */
const MOST_CORNERS = 200_000;

export function backgroundOf(path: string, drawn: Drawn, scale: number | null): Background {
  const own = drawn.kind === "picture" ? [[0, 0], [drawn.wide, drawn.high]] as PlanPoint[] : drawn.lines.flat().slice(0, MOST_CORNERS);
  const { low, high } = own.length > 0 ? boundsOf(own) : { low: [0, 0] as PlanPoint, high: [1, 1] as PlanPoint };
  const wide = Math.max(1e-9, high[0] - low[0]);
  const metres = scale ?? UNSCALED_M / wide;
  const cells = drawn.kind === "lines" ? hashed(own, metres) : null;
  return {
    path,
    drawn,
    scale: metres,
    isScaled: scale !== null,
    extent: [[low[0] * metres, low[1] * metres], [high[0] * metres, high[1] * metres]],
    nearest: (p, near_m) => cells?.(p, near_m) ?? null,
  };
}

const CELL_M = 0.5;

/** Corners by cells, so that the nearest is found at once. */
function hashed(corners: readonly PlanPoint[], metres: number): (p: PlanPoint, near_m: number) => PlanPoint | null {
  const cells = new Map<string, PlanPoint[]>();
  for (const [x, y] of corners) {
    const p: PlanPoint = [x * metres, y * metres];
    const key = `${Math.floor(p[0] / CELL_M)} ${Math.floor(p[1] / CELL_M)}`;
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [p]);
    else cell.push(p);
  }
  return (p, near_m) => {
    let best: PlanPoint | null = null;
    let least = near_m;
    const reach = Math.min(20, Math.ceil(near_m / CELL_M));
    const [cx, cy] = [Math.floor(p[0] / CELL_M), Math.floor(p[1] / CELL_M)];
    for (let x = cx - reach; x <= cx + reach; x += 1)
      for (let y = cy - reach; y <= cy + reach; y += 1)
        for (const corner of cells.get(`${x} ${y}`) ?? []) {
          const away = Math.hypot(corner[0] - p[0], corner[1] - p[1]);
          if (away < least) {
            least = away;
            best = corner;
          }
        }
    return best;
  };
}

/** The same with two places of it `length_m` apart. */
export function calibrated(background: Background, from: PlanPoint, to: PlanPoint, length_m: number): Background | null {
  const shown = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (!(shown > 0) || !(length_m > 0)) return null;
  return backgroundOf(background.path, background.drawn, (background.scale * length_m) / shown);
}
