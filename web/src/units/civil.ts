// Instants as seconds of a civil year of 365 days.

const DAY_S = 86_400;
export const STEP_S = 300;
const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
const DAYS_OF_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
const WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/** "Tuesday 17 March, 14:35". `firstWeekday`: of 1 January, 0 Monday; null where it is not known. */
export function civilInWords(at_civil_s: number, firstWeekday: number | null): string {
  const day = Math.floor(at_civil_s / DAY_S);
  let date = day;
  let month = 0;
  while (month < 11 && date >= DAYS_OF_MONTH[month]!) {
    date -= DAYS_OF_MONTH[month]!;
    month += 1;
  }
  const minutes = Math.floor((at_civil_s - day * DAY_S) / 60);
  const two = (n: number) => String(n).padStart(2, "0");
  const weekday = firstWeekday === null ? "" : `${WEEKDAYS[(firstWeekday + day) % 7]!} `;
  return `${weekday}${date + 1} ${MONTHS[month]!}, ${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}

/** 14:35 on the first Tuesday from 17 March on: an open afternoon between the seasons, to begin with. */
export function firstInstant(firstWeekday: number): number {
  const march17 = 75;
  const until = (((1 - (firstWeekday + march17)) % 7) + 7) % 7;
  return (march17 + until) * DAY_S + (14 * 60 + 35) * 60;
}
