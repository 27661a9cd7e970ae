// What is drawn of the year: the picture, once an answer; the cross-hair, once a frame.
import type { YearAnswer } from "../api/contract";
import { DAYS, firstDayOf, weekdayOf } from "./civil";
import { type Frame, frameFromCivil } from "./picture";

export type YearContext = Pick<
  CanvasRenderingContext2D,
  | "setTransform"
  | "clearRect"
  | "drawImage"
  | "imageSmoothingEnabled"
  | "beginPath"
  | "moveTo"
  | "lineTo"
  | "stroke"
  | "arc"
  | "fill"
  | "fillRect"
  | "strokeRect"
  | "fillText"
  | "strokeStyle"
  | "fillStyle"
  | "lineWidth"
  | "globalAlpha"
  | "font"
  | "textAlign"
  | "setLineDash"
>;

export interface YearColours {
  ink: string;
  soft: string;
  line: string;
}

const FONT = '11px "Inter Variable", Inter, sans-serif';
const LETTERS = "JFMAMJJASOND";

/** Picture, lines of the sun, months, weekends and days that are shut. */
export function drawYear(
  context: YearContext,
  picture: CanvasImageSource | null,
  year: Pick<YearAnswer, "sunrise_h" | "sunset_h" | "first_weekday" | "holidays"> | null,
  frame: Frame,
  size: { width_px: number; height_px: number; density: number },
  colours: YearColours,
): void {
  context.setTransform(size.density, 0, 0, size.density, 0, 0);
  context.clearRect(0, 0, size.width_px, size.height_px);
  const { left_px, top_px, width_px, height_px } = frame;
  if (picture === null) {
    // Nothing is known yet; that must not look like a year in the dark.
    context.strokeStyle = colours.line;
    context.lineWidth = 1;
    context.strokeRect(left_px + 0.5, top_px + 0.5, width_px - 1, height_px - 1);
    context.fillStyle = colours.soft;
    context.font = FONT;
    context.textAlign = "center";
    context.fillText("the year is being computed", left_px + width_px / 2, top_px + height_px / 2);
  } else {
    context.imageSmoothingEnabled = false;
    context.drawImage(picture, left_px, top_px, width_px, height_px);
  }
  const x = (day: number) => left_px + (day / DAYS) * width_px;
  const y = (hour: number) => top_px + (1 - Math.min(24, Math.max(0, hour)) / 24) * height_px;
  if (year !== null) {
    context.strokeStyle = "#ffffff";
    context.lineWidth = 1;
    context.globalAlpha = 0.85;
    for (const hours of [year.sunrise_h, year.sunset_h]) {
      context.beginPath();
      hours.slice(0, DAYS).forEach((h, day) => (day === 0 ? context.moveTo(x(day + 0.5), y(h)) : context.lineTo(x(day + 0.5), y(h))));
      context.stroke();
    }
    context.globalAlpha = 1;
    // Under the picture: a tick for each Saturday and Sunday, a dot for each day that is shut.
    const foot = top_px + height_px + 2;
    context.fillStyle = colours.soft;
    context.globalAlpha = 0.55;
    const cell = Math.max(1, width_px / DAYS - 0.4);
    for (let day = 0; day < DAYS; day += 1) {
      if (weekdayOf(day, year.first_weekday) >= 5) context.fillRect(x(day), foot, cell, 2.5);
    }
    context.globalAlpha = 1;
    context.fillStyle = colours.ink;
    for (const day of year.holidays) {
      context.beginPath();
      context.arc(x(day + 0.5), foot + 4, 1.9, 0, 2 * Math.PI);
      context.fill();
    }
  }
  context.font = FONT;
  context.fillStyle = colours.soft;
  context.textAlign = "end";
  for (let hour = 0; hour <= 24; hour += 6) context.fillText(String(hour), left_px - 8, y(hour) + (hour === 24 ? 8 : hour === 0 ? 2 : 4));
  context.textAlign = "center";
  context.strokeStyle = colours.line;
  context.lineWidth = 1;
  for (let month = 1; month <= 12; month += 1) {
    const first = firstDayOf(month);
    const next = month === 12 ? DAYS : firstDayOf(month + 1);
    context.fillText(LETTERS[month - 1]!, x(0.5 * (first + next)), top_px + height_px + 19);
    if (month === 1) continue;
    context.beginPath();
    context.moveTo(Math.round(x(first)) + 0.5, top_px + height_px + 6);
    context.lineTo(Math.round(x(first)) + 0.5, top_px + height_px + 14);
    context.stroke();
  }
}

/** The cross-hair, and thinner the one that the pointer hovers at. */
export function drawInstant(
  context: YearContext,
  at_civil_s: number,
  hover_civil_s: number | null,
  frame: Frame,
  size: { width_px: number; height_px: number; density: number },
): void {
  context.setTransform(size.density, 0, 0, size.density, 0, 0);
  context.clearRect(0, 0, size.width_px, size.height_px);
  const { left_px, top_px, width_px, height_px } = frame;
  const lines = (x_px: number, y_px: number) => {
    context.beginPath();
    context.moveTo(x_px, top_px);
    context.lineTo(x_px, top_px + height_px);
    context.moveTo(left_px, y_px);
    context.lineTo(left_px + width_px, y_px);
    context.stroke();
  };
  if (hover_civil_s !== null) {
    const { x_px, y_px } = frameFromCivil(frame, hover_civil_s);
    context.strokeStyle = "#ffffff";
    context.lineWidth = 0.8;
    context.globalAlpha = 0.5;
    context.setLineDash([3, 3]);
    lines(x_px, y_px);
    context.setLineDash([]);
    context.globalAlpha = 1;
  }
  const { x_px, y_px } = frameFromCivil(frame, at_civil_s);
  // Dark beside white, so that the hair shows on night and on lamp light.
  for (const [stroke, width] of [
    ["#23222b", 2.6],
    ["#ffffff", 1.1],
  ] as const) {
    context.strokeStyle = stroke;
    context.lineWidth = width;
    context.globalAlpha = stroke === "#ffffff" ? 0.95 : 0.45;
    lines(x_px, y_px);
    context.globalAlpha = 1;
    context.lineWidth = width + 0.7;
    context.beginPath();
    context.arc(x_px, y_px, 5.6, 0, 2 * Math.PI);
    context.stroke();
  }
}
