// From what stands in the document to what an editor shows, and back.
import type { Json } from "../app/pointer";
import { type Entered, readEntered, shownEntered, unitOf } from "../units/entered";
import type { UnitSystem } from "../units/system";
import { UNIT_SPACE } from "../units/figures";
import { type Kind, type Place, inWords } from "./schema";

/** What an editor starts with: the value as it was typed, or what stands in its stead. */
export function textOf(kind: Kind, value: Json | undefined): string {
  if (value === undefined || value === null) return "";
  if (kind.kind === "share" && typeof value === "number") return `${Number((100 * value).toFixed(4))} %`;
  if (kind.kind === "truth") return value === true ? "yes" : "no";
  return typeof value === "string" ? value : String(value);
}

export type Read = { ok: true; value: Json } | { ok: false; problem: string };

/** Reads what was typed. `before` is the value so far: its unit and its form (0.4 or "40 %") are kept. */
export function readTyped(kind: Kind, typed: string, before: Json | undefined, standard: Json | undefined): Read {
  const text = typed.trim();
  switch (kind.kind) {
    case "quantity": {
      const shown = typeof before === "string" ? before : typeof standard === "string" ? standard : "";
      return fromEntered(readEntered(text, kind.units, unitOf(shown) ?? kind.units[0] ?? null));
    }
    case "share": {
      const entered = readEntered(text, ["%"], "%");
      if (!entered.ok) return entered;
      if (entered.si < kind.low - 1e-12 || entered.si > kind.high + 1e-12)
        return { ok: false, problem: `From ${100 * kind.low} % to ${100 * kind.high} %.` };
      return { ok: true, value: typeof before === "number" ? Number(entered.si.toFixed(6)) : entered.text };
    }
    case "number": {
      if (!/^[-+]?[0-9]+(\.[0-9]+)?$/.test(text)) return { ok: false, problem: "Write a number." };
      const number = Number(text);
      if (kind.whole && !Number.isInteger(number)) return { ok: false, problem: "Write a whole number." };
      if (number < kind.low || number > kind.high)
        return {
          ok: false,
          problem:
            kind.high === Infinity
              ? `At least ${kind.low}.`
              : kind.low === -Infinity
                ? `At most ${kind.high}.`
                : `From ${kind.low} to ${kind.high}.`,
        };
      return { ok: true, value: number };
    }
    case "clock":
      return /^([01][0-9]|2[0-3]):[0-5][0-9]$|^24:00$/.test(text)
        ? { ok: true, value: text }
        : { ok: false, problem: "Write an hour such as “08:30”." };
    case "text":
      if (text === "") return { ok: false, problem: "Write something." };
      if (text.length > kind.longest) return { ok: false, problem: `At most ${kind.longest} characters.` };
      return { ok: true, value: text };
    default:
      return { ok: false, problem: "This value is not typed." };
  }
}

function fromEntered(entered: Entered): Read {
  return entered.ok ? { ok: true, value: entered.text } : entered;
}

export function isTyped(kind: Kind): boolean {
  return ["quantity", "share", "number", "clock", "text"].includes(kind.kind);
}

export function isDragged(kind: Kind): boolean {
  return kind.kind === "quantity" || kind.kind === "share" || (kind.kind === "number" && kind.whole);
}

/** What stands when the document says nothing, for the help beside: "Left out: 15 min." */
export function standardInWords(place: Place, system: UnitSystem): string {
  const { standard, kind } = place;
  if (standard === undefined) return "";
  const text = textOf(kind, standard);
  return `Left out, it is ${kind.kind === "choice" ? inWords(text) : shownEntered(text, system)}.`;
}

/**
 * Words of a phrase in the reader's units. The service says lengths and illuminances in SI; where the phrase is
 * nothing but such a value, it shows as typed or converted.
 */
export function phraseInSystem(text: string, kind: Kind | null, value: Json | undefined, system: UnitSystem): string {
  if (kind?.kind !== "quantity" || typeof value !== "string") return kept(text);
  const isLight = kind.units.includes("lx");
  const isLength = kind.units.includes("m");
  if (!isLight && !isLength) return kept(text);
  return /^[0-9 \u00A0\u202F.]+(lx|m)$/.test(text) ? shownEntered(value, system) : kept(text);
}

/** No line ends between a figure and its unit. */
function kept(text: string): string {
  return text.replace(/([0-9]) (%|s|min|h|lx|fc|m|ft|W)(?![A-Za-z0-9])/g, `$1${UNIT_SPACE}$2`);
}
