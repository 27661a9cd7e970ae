// The light on the plan as a picture: bytes of the service through the palette, drawn under the lines.
import type { Field, PlanPoint } from "../api/contract";
import { LIGHT_PALETTE_RGBA } from "../look/scale";
import { type View, screenFromPlan } from "./view";

/** Bytes of a base64 text. */
export function bytesOf(base64: string): Uint8Array {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
  return bytes;
}

/** Colours of the field row by row from the north, as pictures run; null when its size is not what it says. */
export function fieldPixels(field: Field): Uint8ClampedArray<ArrayBuffer> | null {
  const { columns, rows } = field;
  if (!(columns > 0 && rows > 0)) return null;
  const bytes = bytesOf(field.bytes);
  if (bytes.length !== columns * rows) return null;
  const pixels = new Uint8ClampedArray(4 * columns * rows);
  const palette = new Uint32Array(LIGHT_PALETTE_RGBA.buffer);
  const out = new Uint32Array(pixels.buffer);
  for (let r = 0; r < rows; r += 1) {
    const from = (rows - 1 - r) * columns;
    for (let c = 0; c < columns; c += 1) out[r * columns + c] = palette[bytes[from + c]!]!;
  }
  return pixels;
}

export type FieldContext = Pick<
  CanvasRenderingContext2D,
  | "setTransform"
  | "clearRect"
  | "save"
  | "restore"
  | "beginPath"
  | "moveTo"
  | "lineTo"
  | "closePath"
  | "clip"
  | "drawImage"
  | "imageSmoothingEnabled"
  | "imageSmoothingQuality"
>;

export interface Sheet {
  width_px: number;
  height_px: number;
  /** Pixels of the device to one of the page. */
  density: number;
}

/** Draws the picture of a field within the floor; a null picture leaves the sheet empty. */
export function drawField(
  context: FieldContext,
  picture: CanvasImageSource | null,
  field: Pick<Field, "x0_m" | "y0_m" | "step_m" | "columns" | "rows"> | null,
  floor: readonly PlanPoint[],
  view: View,
  sheet: Sheet,
): void {
  context.setTransform(sheet.density, 0, 0, sheet.density, 0, 0);
  context.clearRect(0, 0, sheet.width_px, sheet.height_px);
  if (picture === null || field === null) return;
  context.save();
  context.beginPath();
  floor.forEach((p, i) => {
    const { x_px, y_px } = screenFromPlan(view, p);
    if (i === 0) context.moveTo(x_px, y_px);
    else context.lineTo(x_px, y_px);
  });
  context.closePath();
  context.clip();
  context.imageSmoothingEnabled = true;
  context.imageSmoothingQuality = "high";
  // A pixel is centred on its point, so the picture reaches half a step beyond the outer points.
  const half = 0.5 * field.step_m;
  const corner = screenFromPlan(view, [field.x0_m - half, field.y0_m + (field.rows - 1) * field.step_m + half]);
  context.drawImage(picture, corner.x_px, corner.y_px, field.columns * field.step_m * view.px_per_m, field.rows * field.step_m * view.px_per_m);
  context.restore();
}
