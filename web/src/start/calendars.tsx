// The calendars that a building has: their hours, terms and holidays, changed in place.
import type { Edit } from "../api/contract";
import type { Json } from "../app/pointer";
import { MONTHS, civilFrom, civilFromText } from "../year/civil";
import { listIn, tableIn, textIn } from "./document";

/** What was typed, by the pointer of what it is to stand for. */
export type Typed = Readonly<Record<string, string>>;

const DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const NAMES = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/** "Monday to Friday", "Saturday and Sunday", "Monday, Wednesday and Friday". */
export function weekdaysInWords(weekdays: readonly string[]): string {
  const days = [...new Set(weekdays.map((day) => DAYS.indexOf(day)))].filter((day) => day >= 0).sort((a, b) => a - b);
  const [first, last] = [days[0], days.at(-1)];
  if (first === undefined || last === undefined) return "no day";
  if (days.length > 2 && last - first === days.length - 1) return `${NAMES[first]!} to ${NAMES[last]!}`;
  const names = days.map((day) => NAMES[day]!);
  return names.length === 1 ? names[0]! : `${names.slice(0, -1).join(", ")} and ${names.at(-1)!}`;
}

/** "1 Jan, 3 Apr to 6 Apr". */
export const rangesInWords = (ranges: readonly Json[]): string =>
  ranges.map((range) => (textIn(range, "from") === textIn(range, "to") ? textIn(range, "from") : `${textIn(range, "from")} to ${textIn(range, "to")}`)).join(", ");

/** A day of the year as documents write it, "24 Dec"; null for what is none. */
function dayOf(text: string): string | null {
  const at_civil_s = /[a-z]/i.test(text) && /^[^:]*[0-9][^:]*$/.test(text) ? civilFromText(text, 0) : null;
  if (at_civil_s === null) return null;
  const { day, month } = civilFrom(at_civil_s, 0);
  return `${day} ${MONTHS[month - 1]!.slice(0, 3)}`;
}

/** The ranges that such words mean; null where a part is no day of the year. */
export function rangesOf(words: string): { from: string; to: string }[] | null {
  const ranges: { from: string; to: string }[] = [];
  for (const part of words.split(",").filter((one) => one.trim() !== "")) {
    const ends = part.split(/\s+to\s+|–/).map((end) => dayOf(end.trim()));
    const [from, to] = [ends[0] ?? null, ends.at(-1) ?? null];
    if (ends.length > 2 || from === null || to === null) return null;
    ranges.push({ from, to });
  }
  return ranges;
}

/** Edits that make the document say what was typed; null while something of it cannot stand. */
export function editsOfTyped(typed: Typed): Edit[] | null {
  const edits: Edit[] = [];
  for (const [path, text] of Object.entries(typed)) {
    const value = /\/(holidays|terms)$/.test(path) ? rangesOf(text) : /^([01][0-9]|2[0-3]):[0-5][0-9]$/.test(text) ? text : null;
    if (value === null) return null;
    edits.push({ op: "add", path, value });
  }
  return edits;
}

export function Calendars({ document, typed, onTyped }: { document: Json; typed: Typed; onTyped: (typed: Typed) => void }) {
  return (
    <>
      {listIn(document, "calendars").map((calendar, c) => {
        const name = textIn(calendar, "name") || textIn(calendar, "id");
        const rows = [
          ...listIn(calendar, "hours").map((row, h) => ({ row, path: `/calendars/${c}/hours/${h}`, words: "" })),
          ...[tableIn(calendar, "cleaning")].filter((row) => row !== null).map((row) => ({ row, path: `/calendars/${c}/cleaning`, words: "cleaning, " })),
        ];
        const ranges = (key: "holidays" | "terms", word: string, placeholder: string, like: string) => {
          const path = `/calendars/${c}/${key}`;
          const words = typed[path] ?? rangesInWords(listIn(calendar, key));
          return (
            <label class="holidays">
              {word}{" "}
              <input class="field" value={words} placeholder={placeholder} onInput={(event) => onTyped({ ...typed, [path]: event.currentTarget.value })} />
              {rangesOf(words) === null && <span class="bad"> Days and ranges, like “{like}”.</span>}
            </label>
          );
        };
        return (
          <fieldset key={c} class="calendar">
            <legend>{name}</legend>
            {rows.map(({ row, path: at, words }) => {
              const days = words + weekdaysInWords(listIn(row, "weekdays").map(String));
              const time = (end: "open" | "close", word: string) => (
                <label>
                  {word}{" "}
                  <input
                    class="field"
                    type="time"
                    required
                    aria-label={`${name}: ${days}, ${word}`}
                    value={typed[`${at}/${end}`] ?? textIn(row, end)}
                    onInput={(event) => onTyped({ ...typed, [`${at}/${end}`]: event.currentTarget.value })}
                  />
                </label>
              );
              return (
                <div key={at} class="hours">
                  <span>{days}</span>
                  {time("open", "from")}
                  {time("close", "to")}
                </div>
              );
            })}
            {ranges("terms", "in term", "all year", "5 Jan to 27 Mar, 13 Apr to 17 Jul")}
            {ranges("holidays", "shut on", "1 Jan, 24 Dec to 26 Dec", "1 Jan, 24 Dec to 26 Dec")}
          </fieldset>
        );
      })}
    </>
  );
}
