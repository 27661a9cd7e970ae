// Keys that move the instant: across by days, up by time of day.
import { DAYS, DAY_S, STEP_S } from "./civil";

/** The instant after a key; null when the key means nothing here. Days keep their time; ends of the year hold. */
export function movedByKey(civil_s: number, key: string, isShift = false): number | null {
  const day = Math.floor(civil_s / DAY_S);
  const of_day = civil_s - day * DAY_S;
  const to = (next_day: number, next_of_day: number) =>
    Math.min(DAYS - 1, Math.max(0, next_day)) * DAY_S + Math.min(DAY_S - STEP_S, Math.max(0, next_of_day));
  switch (key) {
    case "ArrowLeft":
      return to(day - 1, of_day);
    case "ArrowRight":
      return to(day + 1, of_day);
    case "ArrowUp":
      return to(day, of_day + STEP_S);
    case "ArrowDown":
      return to(day, of_day - STEP_S);
    case "PageUp":
      return isShift ? to(day - 7, of_day) : to(day, of_day + 3600);
    case "PageDown":
      return isShift ? to(day + 7, of_day) : to(day, of_day - 3600);
    case "Home":
      return isShift ? to(0, of_day) : to(day, 0);
    case "End":
      return isShift ? to(DAYS - 1, of_day) : to(day, DAY_S - STEP_S);
    default:
      return null;
  }
}
