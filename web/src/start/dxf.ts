// Lines of a DXF drawing in text form: LINE, LWPOLYLINE, POLYLINE, ARC, CIRCLE, and blocks that are inserted. Other
// entities are passed over. (The tags are those of the published DXF reference.)
import type { PlanPoint } from "../api/contract";

export interface DxfDrawing {
  lines: PlanPoint[][];
  /** From the drawing's own statement of units; null where it makes none. */
  metres_per_unit: number | null;
}

interface Tag {
  code: number;
  value: string;
}
interface Entity {
  type: string;
  tags: Tag[];
  /** VERTEX of a POLYLINE. */
  parts: Entity[];
}

/** $INSUNITS. */
const METRES: Readonly<Record<string, number>> = { "1": 0.0254, "2": 0.3048, "4": 0.001, "5": 0.01, "6": 1, "7": 1000, "14": 0.1 };
const ARC_STEP = Math.PI / 24;
const DEEPEST_BLOCKS = 8;
const MOST_POINTS = 500_000;

export function readDxf(text: string): DxfDrawing {
  if (text.startsWith("AutoCAD Binary DXF")) throw new RangeError("It is a binary DXF; save it as text.");
  const tags = tagsOf(text);
  if (!tags.some((t) => t.code === 0 && t.value === "SECTION")) throw new RangeError("It is no DXF drawing.");
  const blocks = new Map<string, Entity[]>();
  let entities: Entity[] = [];
  let units: string | null = null;
  for (let i = 0; i < tags.length; i += 1) {
    const tag = tags[i]!;
    if (tag.code === 9 && tag.value === "$INSUNITS") units = tags[i + 1]?.value.trim() ?? null;
    if (tag.code !== 0 || tag.value !== "SECTION") continue;
    const name = tags[i + 1]?.value;
    let end = i + 2;
    while (end < tags.length && !(tags[end]!.code === 0 && tags[end]!.value === "ENDSEC")) end += 1;
    const inside = tags.slice(i + 2, end);
    if (name === "ENTITIES") entities = entitiesOf(inside);
    if (name === "BLOCKS") readBlocks(inside, blocks);
    if (name !== "HEADER") i = end;
  }
  const lines: PlanPoint[][] = [];
  let points = 0;
  const add = (line: PlanPoint[]) => {
    if (line.length < 2 || !line.every((p) => Number.isFinite(p[0]) && Number.isFinite(p[1]))) return;
    points += line.length;
    if (points > MOST_POINTS) throw new RangeError(`It has more than ${MOST_POINTS} points; save only the storey that is traced.`);
    lines.push(line);
  };
  const draw = (all: readonly Entity[], place: (p: PlanPoint) => PlanPoint, depth: number) => {
    for (const entity of all) {
      if (entity.type === "INSERT") {
        const block = blocks.get(textOf(entity, 2));
        if (block === undefined || depth >= DEEPEST_BLOCKS) continue;
        const at: PlanPoint = [numberOf(entity, 10), numberOf(entity, 20)];
        const [sx, sy] = [numberOf(entity, 41, 1), numberOf(entity, 42, 1)];
        const turn = (numberOf(entity, 50) * Math.PI) / 180;
        const [c, s] = [Math.cos(turn), Math.sin(turn)];
        draw(block, ([x, y]) => place([at[0] + c * sx * x - s * sy * y, at[1] + s * sx * x + c * sy * y]), depth + 1);
      } else {
        const line = lineOf(entity);
        if (line !== null) add(line.map(place));
      }
    }
  };
  draw(entities, (p) => p, 0);
  return { lines, metres_per_unit: units === null ? null : (METRES[units] ?? null) };
}

function tagsOf(text: string): Tag[] {
  const rows = text.split(/\r\n|\r|\n/);
  const tags: Tag[] = [];
  for (let i = 0; i + 1 < rows.length; i += 2) {
    const code = Number(rows[i]!.trim());
    if (!Number.isInteger(code)) throw new RangeError(`Line ${i + 1} of the drawing is no group code.`);
    tags.push({ code, value: rows[i + 1]!.trim() });
  }
  return tags;
}

function entitiesOf(tags: readonly Tag[]): Entity[] {
  const all: Entity[] = [];
  let polyline: Entity | null = null;
  let now: Entity | null = null;
  for (const tag of tags) {
    if (tag.code === 0) {
      now = { type: tag.value, tags: [], parts: [] };
      if (tag.value === "SEQEND") polyline = null;
      else if (tag.value === "VERTEX" && polyline !== null) polyline.parts.push(now);
      else all.push(now);
      if (tag.value === "POLYLINE") polyline = now;
    } else now?.tags.push(tag);
  }
  return all;
}

function readBlocks(tags: readonly Tag[], blocks: Map<string, Entity[]>): void {
  let inside: Tag[] = [];
  let name: string | null = null;
  let isHead = false;
  for (const tag of tags) {
    if (tag.code === 0 && tag.value === "BLOCK") {
      inside = [];
      name = null;
      isHead = true;
    } else if (tag.code === 0 && tag.value === "ENDBLK") {
      if (name !== null) blocks.set(name, entitiesOf(inside));
      name = null;
    } else {
      if (tag.code === 0) isHead = false;
      if (isHead && tag.code === 2) name ??= tag.value;
      if (!isHead) inside.push(tag);
    }
  }
}

const textOf = (entity: Entity, code: number): string => entity.tags.find((t) => t.code === code)?.value ?? "";
const numberOf = (entity: Entity, code: number, otherwise = 0): number => {
  const found = entity.tags.find((t) => t.code === code);
  return found === undefined ? otherwise : Number(found.value);
};

interface Vertex {
  at: PlanPoint;
  bulge: number;
}

function lineOf(entity: Entity): PlanPoint[] | null {
  switch (entity.type) {
    case "LINE":
      return [
        [numberOf(entity, 10), numberOf(entity, 20)],
        [numberOf(entity, 11), numberOf(entity, 21)],
      ];
    case "CIRCLE":
      return arc([numberOf(entity, 10), numberOf(entity, 20)], numberOf(entity, 40), 0, 2 * Math.PI);
    case "ARC": {
      const from = (numberOf(entity, 50) * Math.PI) / 180;
      let to = (numberOf(entity, 51) * Math.PI) / 180;
      while (to <= from) to += 2 * Math.PI;
      return arc([numberOf(entity, 10), numberOf(entity, 20)], numberOf(entity, 40), from, to);
    }
    case "LWPOLYLINE": {
      const vertices: Vertex[] = [];
      for (const { code, value } of entity.tags) {
        if (code === 10) vertices.push({ at: [Number(value), 0], bulge: 0 });
        const last = vertices.at(-1);
        if (last === undefined) continue;
        if (code === 20) last.at = [last.at[0], Number(value)];
        if (code === 42) last.bulge = Number(value);
      }
      return bent(vertices, (numberOf(entity, 70) & 1) === 1);
    }
    case "POLYLINE":
      return bent(
        entity.parts.map((v) => ({ at: [numberOf(v, 10), numberOf(v, 20)] as PlanPoint, bulge: numberOf(v, 42) })),
        (numberOf(entity, 70) & 1) === 1,
      );
    default:
      return null;
  }
}

function arc(centre: PlanPoint, radius: number, from: number, to: number): PlanPoint[] {
  const steps = Math.min(200, Math.max(2, Math.ceil((to - from) / ARC_STEP)));
  return Array.from({ length: steps + 1 }, (_, i) => {
    const turn = from + ((to - from) * i) / steps;
    return [centre[0] + radius * Math.cos(turn), centre[1] + radius * Math.sin(turn)] as PlanPoint;
  });
}

/** A polyline whose pieces may be arcs: the bulge is the tangent of a quarter of the angle that the arc turns by. */
function bent(vertices: readonly Vertex[], isClosed: boolean): PlanPoint[] {
  const line: PlanPoint[] = [];
  const count = isClosed ? vertices.length : vertices.length - 1;
  for (let i = 0; i < count; i += 1) {
    const { at: a, bulge } = vertices[i]!;
    const { at: b } = vertices[(i + 1) % vertices.length]!;
    line.push(a);
    const chord = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (bulge === 0 || !(chord > 0) || !Number.isFinite(bulge)) continue;
    const turn = 4 * Math.atan(bulge);
    const radius = chord / (2 * Math.sin(turn / 2));
    // From the middle of the chord to the centre, to the left of the way.
    const up = radius * Math.cos(turn / 2);
    const centre: PlanPoint = [0.5 * (a[0] + b[0]) - (up * (b[1] - a[1])) / chord, 0.5 * (a[1] + b[1]) + (up * (b[0] - a[0])) / chord];
    const start = Math.atan2(a[1] - centre[1], a[0] - centre[0]);
    const steps = Math.max(2, Math.ceil(Math.abs(turn) / ARC_STEP));
    for (let k = 1; k < steps; k += 1) {
      const angle = start + (turn * k) / steps;
      line.push([centre[0] + Math.abs(radius) * Math.cos(angle), centre[1] + Math.abs(radius) * Math.sin(angle)]);
    }
  }
  const last = isClosed ? vertices[0] : vertices.at(-1);
  if (last !== undefined) line.push(last.at);
  return line;
}
