// The year's bytes as pixels, and where an instant lies on the picture.
import type { YearAnswer } from "../api/contract";
import { DAYS, DAY_S, held } from "./civil";

/** Bytes day by day, as rows from midnight at the foot to midnight at the head: days across, time of day up. */
export function rowsFromDays(bytes: Uint8Array, steps_per_day: number): Uint8Array {
  const rows = new Uint8Array(DAYS * steps_per_day);
  for (let day = 0; day < DAYS; day += 1) {
    const from = day * steps_per_day;
    for (let step = 0; step < steps_per_day; step += 1) rows[(steps_per_day - 1 - step) * DAYS + day] = bytes[from + step]!;
  }
  return rows;
}

/** Fewer cells, each the mean of those that it stands for, by the share that lies in it. */
export function meanOver(cells: Uint8Array, columns: number, rows: number, to_columns: number, to_rows: number): Uint8Array {
  if (to_columns >= columns && to_rows >= rows) return cells;
  const across = Math.min(columns, to_columns);
  const up = Math.min(rows, to_rows);
  const half = new Float32Array(across * rows);
  for (let c = 0; c < across; c += 1) {
    const from = (c * columns) / across;
    const to = ((c + 1) * columns) / across;
    for (let i = Math.floor(from); i < to; i += 1) {
      const share = (Math.min(to, i + 1) - Math.max(from, i)) / (to - from);
      if (share > 0) for (let r = 0; r < rows; r += 1) half[r * across + c]! += share * cells[r * columns + i]!;
    }
  }
  const whole = new Uint8Array(across * up);
  for (let r = 0; r < up; r += 1) {
    const from = (r * rows) / up;
    const to = ((r + 1) * rows) / up;
    for (let c = 0; c < across; c += 1) {
      let sum = 0;
      for (let i = Math.floor(from); i < to; i += 1) {
        const share = (Math.min(to, i + 1) - Math.max(from, i)) / (to - from);
        if (share > 0) sum += share * half[i * across + c]!;
      }
      whole[r * across + c] = Math.round(sum);
    }
  }
  return whole;
}

/** Cells through a palette of 256 RGBA colours. */
export function coloured(cells: Uint8Array, palette_rgba: Uint8ClampedArray): Uint8ClampedArray<ArrayBuffer> {
  const pixels = new Uint8ClampedArray(4 * cells.length);
  const from = new Uint32Array(palette_rgba.buffer, palette_rgba.byteOffset, 256);
  const to = new Uint32Array(pixels.buffer);
  for (let i = 0; i < cells.length; i += 1) to[i] = from[cells[i]!]!;
  return pixels;
}

/** The value that a byte stands for, in the answer's unit. */
export function valueOf(byte: number, { low, high, logarithmic }: Pick<YearAnswer, "low" | "high" | "logarithmic">): number {
  const share = byte / 255;
  return logarithmic ? low * (high / low) ** share : low + share * (high - low);
}

/** Value of the step that holds an instant; null when the answer's bytes are not a year. */
export function valueAt(bytes: Uint8Array, year: Pick<YearAnswer, "low" | "high" | "logarithmic" | "steps_per_day">, civil_s: number): number | null {
  if (bytes.length !== DAYS * year.steps_per_day) return null;
  const step = Math.floor((held(civil_s) * year.steps_per_day) / DAY_S);
  return valueOf(bytes[step]!, year);
}

/** The picture's place on the page: days across its width, hours up its height. */
export interface Frame {
  left_px: number;
  top_px: number;
  width_px: number;
  height_px: number;
}

/** Middle of the instant's day across, time of day up. */
export function frameFromCivil(frame: Frame, civil_s: number): { x_px: number; y_px: number } {
  const s = held(civil_s);
  const day = Math.floor(s / DAY_S);
  return {
    x_px: frame.left_px + ((day + 0.5) / DAYS) * frame.width_px,
    y_px: frame.top_px + (1 - (s - day * DAY_S) / DAY_S) * frame.height_px,
  };
}

/** The step of five minutes that is pointed at; beyond the picture the nearest in it. */
export function civilFromFrame(frame: Frame, x_px: number, y_px: number, steps_per_day: number): number {
  const day = Math.min(DAYS - 1, Math.max(0, Math.floor(((x_px - frame.left_px) / frame.width_px) * DAYS)));
  const up = 1 - (y_px - frame.top_px) / frame.height_px;
  const step = Math.min(steps_per_day - 1, Math.max(0, Math.round(up * steps_per_day)));
  return day * DAY_S + (step * DAY_S) / steps_per_day;
}
