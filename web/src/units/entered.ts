// Values as people type them: a number with its unit, kept in the document as typed ("30 fc", "12 ft 6 in").
import { UNIT_SPACE, rounded } from "./figures";
import { LUX_PER_FOOTCANDLE, METRES_PER_FOOT, type UnitSystem, formatIlluminance, formatLength } from "./system";

/** SI units in one of each unit that documents know. */
const SI: Readonly<Record<string, number>> = {
  s: 1, min: 60, h: 3600,
  m: 1, cm: 0.01, mm: 0.001, ft: METRES_PER_FOOT, in: METRES_PER_FOOT / 12,
  lx: 1, fc: LUX_PER_FOOTCANDLE,
  W: 1, kW: 1000,
  A: 1, mA: 0.001,
  V: 1, lm: 1, K: 1, deg: 1, "cd/m2": 1, "%": 0.01,
};

/** Examples for messages, by the first unit that a place takes. */
const EXAMPLES: Readonly<Record<string, string>> = {
  s: "“15 min”, “90 s” or “2 h”",
  m: "“2.4 m” or “8 ft 6 in”",
  lx: "“300 lx” or “30 fc”",
  W: "“29 W” or “1.2 kW”",
  A: "“16 A” or “240 mA”",
  "%": "“40 %”",
};

export type Entered = { ok: true; text: string; si: number } | { ok: false; problem: string };

interface Part {
  number: string;
  unit: string;
}

function partsOf(text: string): Part[] | null {
  const parts: Part[] = [];
  let rest = text.trim();
  while (rest !== "") {
    const found = /^([-+]?[0-9]+(?:\.[0-9]+)?)[ \u00A0]?([A-Za-z%][A-Za-z0-9/]*)(?:[ \u00A0]+|$)/.exec(rest);
    if (found === null) return null;
    parts.push({ number: found[1]!, unit: found[2]! });
    rest = rest.slice(found[0].length);
  }
  return parts;
}

/**
 * Reads what was typed where one of `units` is asked. A number alone takes `usual`, the unit that the place showed
 * before. What was typed is kept as it is, save spaces at its ends.
 */
export function readEntered(typed: string, units: readonly string[], usual: string | null): Entered {
  const text = typed.trim().replaceAll("\u00A0", " ");
  const example = EXAMPLES[units[0] ?? ""] ?? `“${units[0] === undefined ? "1" : `1 ${units[0]}`}”`;
  if (/^[-+]?[0-9]+(\.[0-9]+)?$/.test(text) && usual !== null) {
    const bare = Number(text);
    // Beside per cent, 0.4 may mean 40 % as well as 0.4 %.
    if (usual === "%" && bare > 0 && bare <= 1)
      return { ok: false, problem: `Say “${rounded(100 * bare, 0)} %” or “${text} %”: ${text} could mean either.` };
    return readEntered(`${text} ${usual}`, units, null);
  }
  if (/[0-9],[0-9]/.test(text)) return { ok: false, problem: "Write decimals with a point." };
  const parts = partsOf(text);
  if (parts === null || parts.length === 0) return { ok: false, problem: `Write a number with its unit, such as ${example}.` };
  const strange = parts.find((part) => !units.includes(part.unit));
  if (strange !== undefined) return { ok: false, problem: `“${strange.unit}” is no unit of this value; write ${example}.` };
  if (parts.some((part, i) => i > 0 && /^[-+]/.test(part.number)))
    return { ok: false, problem: `Only the first number takes a sign; write ${example}.` };
  const sign = parts[0]!.number.startsWith("-") ? -1 : 1;
  const si = sign * parts.reduce((sum, part) => sum + Math.abs(Number(part.number)) * (SI[part.unit] ?? 1), 0);
  return { ok: true, text, si };
}

/** Unit of the first part of a typed value: "15 min" gives "min". */
export function unitOf(text: string): string | null {
  return partsOf(text)?.[0]?.unit ?? null;
}

/** One step of a drag or of an arrow key, in the unit as typed; the larger one is for large values or with Shift. */
const STEPS: Readonly<Record<string, readonly [small: number, large: number, from: number]>> = {
  "%": [1, 5, Infinity],
  s: [1, 10, 60], min: [1, 5, 30], h: [0.5, 1, 12],
  m: [0.05, 0.5, Infinity], cm: [5, 50, Infinity], mm: [50, 500, Infinity], ft: [0.5, 1, Infinity], in: [1, 6, Infinity],
  lx: [10, 50, 1000], fc: [1, 5, 100],
  W: [1, 10, 100], K: [100, 500, Infinity], deg: [1, 15, Infinity],
};

/**
 * The typed value moved by whole steps, in its own unit; on the way it lands on multiples of the step. Values of
 * several parts ("12 ft 6 in") and units without a step stay as they are.
 */
export function stepped(text: string, steps: number, large: boolean, low_si: number, high_si: number): string {
  const parts = partsOf(text);
  const part = parts?.[0];
  if (parts?.length !== 1 || part === undefined) return text;
  const step = STEPS[part.unit];
  const si = SI[part.unit];
  if (step === undefined || si === undefined || steps === 0) return text;
  const from = Number(part.number);
  const size = large || Math.abs(from) >= step[2] ? step[1] : step[0];
  const grid = from / size;
  const start = steps > 0 ? Math.floor(grid + 1e-9) : Math.ceil(grid - 1e-9);
  const moved = Math.min(high_si / si, Math.max(low_si / si, (start + steps) * size));
  const decimals = Math.max((String(size).split(".")[1] ?? "").length, 0);
  return `${Number(moved.toFixed(decimals + 2))} ${part.unit}`;
}

/**
 * A typed value as shown: as typed while its unit is of the system that the reader chose, else converted. The
 * document keeps what was typed.
 */
export function shownEntered(text: string, system: UnitSystem): string {
  const units = partsOf(text)?.map((part) => part.unit) ?? [];
  const read = readEntered(text, units, null);
  if (!read.ok || units.length === 0) return text;
  const [first] = units;
  if ((first === "lx" && system === "us") || (first === "fc" && system === "si")) return formatIlluminance(read.si, system);
  const isUs = first === "ft" || first === "in";
  const isMetric = first === "m" || first === "cm" || first === "mm";
  if ((isMetric && system === "us") || (isUs && system === "si")) return formatLength(read.si, system);
  return text.replaceAll(" ", UNIT_SPACE);
}
