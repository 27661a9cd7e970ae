// Invented light for the invented room: good enough to look at, of no other worth.
import type { Contour, LightAnswer, Room, YearAnswer } from "../../src/api/contract";

function base64(bytes: Uint8Array): string {
  let text = "";
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text);
}

export function inventedLight(room: Room, levels: Record<string, number>): LightAnswer {
  const step = 0.15;
  const xs = room.floor.map((p) => p[0]);
  const ys = room.floor.map((p) => p[1]);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const columns = Math.ceil((x1 - x0) / step) + 1;
  const rows = Math.ceil((y1 - y0) / step) + 1;
  const types = new Map(room.luminaire_types.map((t) => [t.id, t]));
  const values = new Float64Array(columns * rows);
  for (let r = 0; r < rows; r += 1)
    for (let c = 0; c < columns; c += 1) {
      const x = x0 + c * step;
      const y = y0 + r * step;
      let lx = 40;
      for (const l of room.luminaires) {
        const type = types.get(l.type)!;
        const n = type.length_m > 0.5 ? 5 : 1;
        const a = (l.rotation_deg * Math.PI) / 180;
        for (let k = 0; k < n; k += 1) {
          const s = n === 1 ? 0 : (k / (n - 1) - 0.5) * type.length_m;
          const dx = x - l.at[0] - s * Math.cos(a);
          const dy = y - l.at[1] - s * Math.sin(a);
          const h = l.at[2] - room.plan_height_m;
          lx += ((levels[l.id] ?? 0) * type.lumens * h * h) / (Math.PI * n) / (dx * dx + dy * dy + h * h) ** 2 * 0.9;
        }
      }
      for (const o of room.openings) {
        const mx = 0.5 * (o.from[0] + o.to[0]);
        const my = 0.5 * (o.from[1] + o.to[1]);
        const d2 = (x - mx) ** 2 + (y - my) ** 2;
        lx += o.kind === "skylight" ? 900 / (1 + d2) : 700 / (1 + 1.2 * d2);
      }
      values[r * columns + c] = lx;
    }
  const low_lx = 70;
  const high_lx = 1500;
  const bytes = new Uint8Array(values.length);
  values.forEach((v, i) => (bytes[i] = Math.round(255 * Math.min(1, Math.max(0, Math.log(v / low_lx) / Math.log(high_lx / low_lx))))));
  const contours: Contour[] = [200, 300, 400, 500, 750, 1000].flatMap((lx) => traced(values, columns, rows, x0, y0, step, lx));
  const points = [];
  for (let x = x0 + 0.6; x < x1; x += 1.1) for (let y = y0 + 0.6; y < y1; y += 1.1) points.push({ at: [x, y] as [number, number], lx: values[Math.round((y - y0) / step) * columns + Math.round((x - x0) / step)]! });
  return {
    revision: room.revision,
    field: { x0_m: x0, y0_m: y0, step_m: step, columns, rows, low_lx, high_lx, bytes: base64(bytes) },
    contours,
    luminaires: levels,
    tasks: room.task_areas.map((t) => ({ id: t.id, name: t.name, mean_lx: 512, min_lx: 391, daylight_lx: 416, electric_lx: 96, target_lx: t.target_lx })),
    power_w: 480,
    points,
    lowest: null,
    highest: null,
    reach: room.reach,
    radio: room.radio,
  };
}

function traced(values: Float64Array, columns: number, rows: number, x0: number, y0: number, step: number, level: number): Contour[] {
  const next = new Map<number, number[]>();
  const join = (a: number, b: number) => {
    next.set(a, [...(next.get(a) ?? []), b]);
    next.set(b, [...(next.get(b) ?? []), a]);
  };
  const at = (c: number, r: number) => values[r * columns + c]!;
  for (let r = 0; r + 1 < rows; r += 1)
    for (let c = 0; c + 1 < columns; c += 1) {
      const i = [at(c, r), at(c + 1, r), at(c + 1, r + 1), at(c, r + 1)].map((v) => v >= level);
      const edges = [2 * (r * columns + c), 2 * (r * columns + c + 1) + 1, 2 * ((r + 1) * columns + c), 2 * (r * columns + c) + 1];
      const cut = edges.filter((_, k) => i[k] !== i[(k + 1) % 4]);
      if (cut.length >= 2) join(cut[0]!, cut[1]!);
      if (cut.length === 4) join(cut[2]!, cut[3]!);
    }
  const point = (edge: number): [number, number] => {
    const node = edge >> 1;
    const c = node % columns;
    const r = Math.floor(node / columns);
    const up = (edge & 1) === 1;
    const from = at(c, r);
    const to = up ? at(c, r + 1) : at(c + 1, r);
    const t = (level - from) / (to - from);
    return [x0 + step * (c + (up ? 0 : t)), y0 + step * (r + (up ? t : 0))];
  };
  const seen = new Set<number>();
  const lines: Contour[] = [];
  const trace = (start: number, is_closed: boolean) => {
    const points: number[] = [];
    for (let edge: number | undefined = start; edge !== undefined && !seen.has(edge); ) {
      seen.add(edge);
      points.push(...point(edge));
      edge = next.get(edge)!.find((e) => !seen.has(e));
    }
    if (points.length > 4) lines.push({ lx: level, is_target: level === 400, is_closed, points });
  };
  for (const [edge, to] of next) if (to.length === 1 && !seen.has(edge)) trace(edge, false);
  for (const edge of next.keys()) if (!seen.has(edge)) trace(edge, true);
  return lines;
}

/** A year of invented power: open hours on weekdays, less of it under the sun. */
export function inventedYear(): YearAnswer {
  const bytes = new Uint8Array(365 * 288);
  const sunrise_h: number[] = [];
  const sunset_h: number[] = [];
  const FIRST_WEEKDAY = 3;
  for (let day = 0; day < 365; day += 1) {
    const season = Math.cos((2 * Math.PI * (day - 172)) / 365);
    const summer = day >= 87 && day < 297 ? 1 : 0;
    const half = 6 + 2.2 * season;
    sunrise_h.push(12.1 - half + summer);
    sunset_h.push(12.1 + half + summer);
    const weekday = (FIRST_WEEKDAY + day) % 7;
    for (let k = 0; k < 288; k += 1) {
      const hour = k / 12;
      const isOpen = weekday < 5 ? hour >= 8.5 && hour < 20.5 : weekday === 5 && hour >= 9.5 && hour < 17;
      const sun = Math.max(0, Math.cos(((hour - 12.1 - summer) / half) * (Math.PI / 2)));
      const cloud = 0.6 + 0.4 * Math.sin(day * 12.9898 + Math.floor(k / 6) * 0.7);
      bytes[day * 288 + k] = isOpen ? Math.round(255 * Math.max(0.12, 1 - sun * cloud * (0.5 + 0.5 * season))) : 6;
    }
  }
  return { revision: 7, quantity: "power", unit: "W", low: 0, high: 610, logarithmic: false, steps_per_day: 288, bytes: base64(bytes), sunrise_h, sunset_h, first_weekday: FIRST_WEEKDAY, calendar_year: 2026, holidays: [0, 359] };
}
