// Civil seconds of a calendar year of 365 days: clock time counted on without the jumps of daylight saving, as the
// service's picture of the year runs.

export const DAYS = 365;
export const DAY_S = 86_400;
export const YEAR_S = DAYS * DAY_S;
export const STEP_S = 300;

export interface Civil {
  /** 1 to 12. */
  month: number;
  /** 1 to 31. */
  day: number;
  hour: number;
  minute: number;
  /** 0 Monday to 6 Sunday. */
  weekday: number;
  /** 0 to 364. */
  day_of_year: number;
}

export const MONTH_DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] as const;
export const MONTHS = [
  "January",
  "February",
  "March",
  "April",
  "May",
  "June",
  "July",
  "August",
  "September",
  "October",
  "November",
  "December",
] as const;
export const WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"] as const;

/** Within the year: the last second at the end, the first at the beginning. */
export const held = (civil_s: number): number => Math.min(YEAR_S - 1, Math.max(0, Math.floor(civil_s)));

export const weekdayOf = (day_of_year: number, first_weekday: number): number => (((first_weekday + day_of_year) % 7) + 7) % 7;

/** First day of a month, 0 to 334. */
export function firstDayOf(month: number): number {
  let days = 0;
  for (let m = 1; m < month; m += 1) days += MONTH_DAYS[m - 1]!;
  return days;
}

export function civilFrom(civil_s: number, first_weekday: number): Civil {
  const s = held(civil_s);
  const day_of_year = Math.floor(s / DAY_S);
  let month = 1;
  let day = day_of_year;
  while (day >= MONTH_DAYS[month - 1]!) {
    day -= MONTH_DAYS[month - 1]!;
    month += 1;
  }
  const of_day = s - day_of_year * DAY_S;
  return {
    month,
    day: day + 1,
    hour: Math.floor(of_day / 3600),
    minute: Math.floor((of_day % 3600) / 60),
    weekday: weekdayOf(day_of_year, first_weekday),
    day_of_year,
  };
}

/** Civil second of a date and time; null when the year of 365 days has none such. */
export function civilSeconds(month: number, day: number, hour: number, minute: number): number | null {
  const isWhole = [month, day, hour, minute].every(Number.isInteger);
  const days = MONTH_DAYS[month - 1];
  if (!isWhole || days === undefined || day < 1 || day > days || hour < 0 || hour > 23 || minute < 0 || minute > 59) return null;
  return (firstDayOf(month) + day - 1) * DAY_S + hour * 3600 + minute * 60;
}

const two = (v: number): string => String(v).padStart(2, "0");
export const clockText = ({ hour, minute }: Pick<Civil, "hour" | "minute">): string => `${two(hour)}:${two(minute)}`;

/** "Tuesday 17 March, 14:35". */
export function civilText(civil_s: number, first_weekday: number): string {
  const c = civilFrom(civil_s, first_weekday);
  return `${WEEKDAYS[c.weekday]!} ${c.day} ${MONTHS[c.month - 1]!}, ${clockText(c)}`;
}

/**
 * The instant that somebody typed: "21 December 16:00", "Dec 21, 4 pm", "12-21 16:00", "2026-12-21T16:00". A date
 * alone keeps the time of `from_civil_s`, a time alone its date. Null when it cannot be read or the year has none such.
 */
export function civilFromText(text: string, from_civil_s: number): number | null {
  // The year knows the weekday itself.
  const isWeekday = (word: string) => word.length >= 3 && WEEKDAYS.some((one) => one.toLowerCase().startsWith(word));
  let rest = ` ${text.trim().toLowerCase().replace(/[a-z]+/g, (word) => (isWeekday(word) ? "" : word))} `;
  const take = (pattern: RegExp): RegExpMatchArray | null => {
    const found = rest.match(pattern);
    if (found !== null) rest = rest.replace(pattern, " ");
    return found;
  };
  const was = civilFrom(from_civil_s, 0);
  let { month, day, hour, minute } = was;
  const iso = take(/[ ](?:\d{4}-)?(\d{1,2})-(\d{1,2})(?=[ t,])t?/);
  const clock = take(/(\d{1,2})(?:[:.h](\d{2}))? ?([ap])\.?m\.?(?=[ ,])/) ?? take(/(\d{1,2})[:.h](\d{2})(?=[ ,])/);
  const word = clock === null ? take(/\b(noon|midnight)\b/) : null;
  const named = iso === null ? take(/\b([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?(?=[ ,])/) : null;
  const turned = iso === null && named === null ? take(/\b(\d{1,2})(?:st|nd|rd|th)?\.? (?:of )?([a-z]{3,9})\b\.?/) : null;
  if (!iso && !named && !turned && !clock && !word) return null;
  if (iso !== null) [month, day] = [Number(iso[1]), Number(iso[2])];
  const [name, number] = named !== null ? [named[1]!, named[2]!] : turned !== null ? [turned[2]!, turned[1]!] : ["", ""];
  if (name !== "") {
    month = 1 + MONTHS.findIndex((one) => one.toLowerCase().startsWith(name));
    day = Number(number);
  }
  if (word !== null) [hour, minute] = [word[1] === "noon" ? 12 : 0, 0];
  if (clock !== null) {
    [hour, minute] = [Number(clock[1]), Number(clock[2] ?? 0)];
    if (clock[3] !== undefined) {
      if (hour < 1 || hour > 12) return null;
      hour = (hour % 12) + (clock[3] === "p" ? 12 : 0);
    }
  }
  if (!/^[\s,]*(at)?[\s,]*$/.test(rest)) return null;
  return civilSeconds(month, day, hour, minute);
}
