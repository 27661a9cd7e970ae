// The rows of the building: what the document says of each room, and what its study found.
import type { Building, Diagnostic, RoomRow } from "../api/contract";
import type { CaseYear, SpaceStudy, Study } from "../app/study";

export interface BuildingRow {
  room: RoomRow;
  storey: string;
  typical: string;
  /** null while no study is known. */
  study: SpaceStudy | null;
  failed: number;
  needs_evidence: number;
  /** Errors and things not there yet that stand in the document. */
  missing: number;
}

export const COLUMN_KEYS = [
  "number",
  "name",
  "storey",
  "kind",
  "typical",
  "area",
  "luminaires",
  "power",
  "density",
  "energy",
  "saving",
  "rules",
  "missing",
] as const;
export type ColumnKey = (typeof COLUMN_KEYS)[number];

export interface RowFilter {
  words: string;
  storey: string;
  kind: string;
  typical: string;
  /** Only rooms with something to settle. */
  findings: boolean;
}

export const NO_FILTER: RowFilter = { words: "", storey: "", kind: "", typical: "", findings: false };

/** Energy of light and standby together, kWh a year. */
export const kwhOf = (year: CaseYear): number => year.lighting_kwh + year.standby_kwh;

export function rowsOf(building: Building, study: Study | null, missing: readonly Diagnostic[]): BuildingRow[] {
  const byId = new Map(study?.spaces.map((space) => [space.id, space] as const) ?? []);
  return building.rooms.map((room) => {
    const found = byId.get(room.id) ?? null;
    return {
      room,
      storey: building.storeys.find((storey) => storey.id === room.storey)?.name ?? room.storey,
      typical: building.typicals.find((typical) => typical.id === room.typical)?.name ?? room.typical ?? "",
      study: found,
      failed: found?.findings.filter((f) => f.verdict === "fail").length ?? 0,
      needs_evidence: found?.findings.filter((f) => f.verdict === "needs_evidence").length ?? 0,
      missing: missing.filter(
        (d) => d.severity !== "warning" && (d.where === room.pointer || d.where.startsWith(`${room.pointer}/`)),
      ).length,
    };
  });
}

/** Value that a column is ordered by; null where a room has none, which goes last in either direction. */
export function valueOf(row: BuildingRow, key: ColumnKey): string | number | null {
  const study = row.study?.studied === true ? row.study : null;
  switch (key) {
    case "number":
    case "name":
      return row.room[key];
    case "storey":
      return row.storey;
    case "kind":
      return row.room.kind_name;
    case "typical":
      return row.typical === "" ? null : row.typical;
    case "area":
      return row.room.area_m2;
    case "luminaires":
      return row.room.luminaires;
    case "power":
      return study?.connected_w ?? row.room.connected_w;
    case "density":
      return (study?.connected_w ?? row.room.connected_w) / row.room.area_m2;
    case "energy":
      return study === null ? null : kwhOf(study.annual.cases.proposal);
    case "saving":
      return study?.annual.saving.against_as_found.mean ?? null;
    case "rules":
      return row.study === null ? null : 1000 * row.failed + row.needs_evidence;
    case "missing":
      return row.missing;
  }
}

/** Rows that a filter keeps, in the order of a column; rooms that are equal there stay in the order of their numbers. */
export function arranged(rows: readonly BuildingRow[], filter: RowFilter, key: ColumnKey, falling: boolean): BuildingRow[] {
  const wanted = filter.words.toLowerCase().split(/\s+/).filter((word) => word !== "");
  const kept = rows.filter((row) => {
    const text = `${row.room.number} ${row.room.name} ${row.room.kind_name} ${row.storey} ${row.typical}`.toLowerCase();
    return (
      wanted.every((word) => text.includes(word)) &&
      (filter.storey === "" || row.room.storey === filter.storey) &&
      (filter.kind === "" || row.room.kind === filter.kind) &&
      (filter.typical === "" || (row.room.typical ?? "none") === filter.typical) &&
      (!filter.findings || row.failed + row.needs_evidence + row.missing > 0)
    );
  });
  const compare = (x: string | number, y: string | number) =>
    typeof x === "number" && typeof y === "number" ? x - y : String(x).localeCompare(String(y), "en", { numeric: true });
  return kept.sort((a, b) => {
    const x = valueOf(a, key);
    const y = valueOf(b, key);
    const byNumber = compare(a.room.number, b.room.number);
    if (x === null || y === null) return x === y ? byNumber : x === null ? 1 : -1;
    const order = compare(x, y);
    return order === 0 ? byNumber : falling ? -order : order;
  });
}

/** Selection after a click on a row; with shift everything from the row clicked before it. */
export function selectedAfter(
  selected: ReadonlySet<string>,
  order: readonly string[],
  clicked: string,
  last: string | null,
  shift: boolean,
): Set<string> {
  const next = new Set(selected);
  const turnOn = !selected.has(clicked);
  const from = last === null ? -1 : order.indexOf(last);
  const to = order.indexOf(clicked);
  const range = shift && from >= 0 ? order.slice(Math.min(from, to), Math.max(from, to) + 1) : [clicked];
  for (const id of range) {
    if (turnOn) next.add(id);
    else next.delete(id);
  }
  return next;
}

export interface SharePart {
  strategy: string;
  kwh: number;
  low: number;
  high: number;
  /** Along the bar, fractions of its length. */
  from: number;
  to: number;
}

/**
 * Shares along one bar: what saves follows one another from 0, what adds energy goes back from the end, so that
 * the bar stops at the saving. `length_kwh` is what its whole length stands for.
 */
export function shareParts(shares: readonly { strategy: string; kwh: number; low: number; high: number }[]): {
  parts: SharePart[];
  length_kwh: number;
  sum_kwh: number;
} {
  const length_kwh = shares.reduce((sum, share) => sum + Math.max(0, share.kwh), 0);
  const sum_kwh = shares.reduce((sum, share) => sum + share.kwh, 0);
  let at = 0;
  const place = (kwh: number) => (length_kwh > 0 ? kwh / length_kwh : 0);
  const saving = shares.filter((share) => share.kwh >= 0);
  const adding = shares.filter((share) => share.kwh < 0);
  const parts = [...saving, ...adding].map((share) => {
    const from = share.kwh >= 0 ? at : at + share.kwh;
    const to = share.kwh >= 0 ? at + share.kwh : at;
    at += share.kwh;
    return { ...share, from: place(from), to: place(to) };
  });
  return { parts, length_kwh, sum_kwh };
}

/** Whether shares add up to the difference that they are shares of, to rounding. */
export function addsUp(shares: readonly { kwh: number }[], difference_kwh: number): boolean {
  const sum = shares.reduce((total, share) => total + share.kwh, 0);
  return Math.abs(sum - difference_kwh) <= 1e-6 * Math.max(1, Math.abs(difference_kwh));
}
