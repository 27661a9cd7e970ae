// Values inside are SI. What a person sees follows one switch; what a person typed keeps its unit (entered.ts).
import { UNIT_SPACE, decimalPlace, printedInterval, printedResult, printedValue, rounded } from "./figures";

export type UnitSystem = "si" | "us";

declare const unit: unique symbol;
type Unit<U extends string> = number & { readonly [unit]: U };
export type Lux = Unit<"lx">;
export type Metres = Unit<"m">;
export type SquareMetres = Unit<"m2">;
export type Watts = Unit<"W">;
export type Seconds = Unit<"s">;
export const lux = (v: number) => v as Lux;
export const metres = (v: number) => v as Metres;
export const squareMetres = (v: number) => v as SquareMetres;
export const watts = (v: number) => v as Watts;
export const seconds = (v: number) => v as Seconds;

export const METRES_PER_FOOT = 0.3048;
/** One lumen on a square foot. */
export const LUX_PER_FOOTCANDLE = 1 / METRES_PER_FOOT ** 2;

/** How a unit of results shows in US units: its name there, and how many SI units one of them is. */
const IN_US: Readonly<Record<string, readonly [name: string, si: number]>> = {
  lx: ["fc", LUX_PER_FOOTCANDLE],
  m: ["ft", METRES_PER_FOOT],
  m2: ["ft2", METRES_PER_FOOT ** 2],
  "W/m2": ["W/ft2", 1 / METRES_PER_FOOT ** 2],
  "kWh/m2": ["kWh/ft2", 1 / METRES_PER_FOOT ** 2],
};

interface Shown {
  unit: string;
  si: number;
}
function shownIn(system: UnitSystem, siUnit: string): Shown {
  const us = system === "us" ? IN_US[siUnit] : undefined;
  return us === undefined ? { unit: siUnit, si: 1 } : { unit: us[0], si: us[1] };
}

/** A result with its interval, both SI in `siUnit` (as in claims: "fraction", "lx", "m2", ...). */
export function formatResult(value: number, low: number, high: number, siUnit: string, system: UnitSystem): string {
  const s = shownIn(system, siUnit);
  return printedResult(value / s.si, low / s.si, high / s.si, s.unit);
}

export function formatInterval(low: number, high: number, siUnit: string, system: UnitSystem): string {
  const s = shownIn(system, siUnit);
  return printedInterval(low / s.si, high / s.si, s.unit);
}

/** A value without an interval, to three significant digits. */
export function formatValue(value: number, siUnit: string, system: UnitSystem): string {
  const s = shownIn(system, siUnit);
  return printedValue(value / s.si, s.unit);
}

/** "400 lx", "37.2 fc". */
export function formatIlluminance(lx: number, system: UnitSystem): string {
  return formatValue(lx, "lx", system);
}

/** The number alone, for labels whose unit stands once beside them: "400", "37.2". */
export function formatIlluminanceNumber(lx: number, system: UnitSystem): string {
  const s = shownIn(system, "lx");
  return printedValue(lx / s.si, "");
}

/** "138 m²", "1485 ft²". */
export function formatArea(m2: number, system: UnitSystem): string {
  const s = shownIn(system, "m2");
  const shown = m2 / s.si;
  // Floors are drawn to the centimetre, so whole square feet are known even with four digits.
  return system === "us" ? `${rounded(shown, Math.min(0, decimalPlace(shown, shown, shown)))}${UNIT_SPACE}ft²`
                         : printedValue(shown, s.unit);
}

/** To the centimetre, "14.40 m", or to the half inch, "47 ft 3 in". */
export function formatLength(m: number, system: UnitSystem): string {
  if (system === "si") return `${rounded(m, -2)}${UNIT_SPACE}m`;
  if (!Number.isFinite(m)) return "no value";
  const halfInches = Math.round((Math.abs(m) / METRES_PER_FOOT) * 24);
  const feet = Math.floor(halfInches / 24);
  const inches = (halfInches - 24 * feet) / 2;
  const sign = m < 0 && halfInches > 0 ? "\u2212" : "";
  const parts = [];
  if (feet > 0) parts.push(`${feet}${UNIT_SPACE}ft`);
  if (inches > 0 || feet === 0) parts.push(`${inches}${UNIT_SPACE}in`);
  return sign + parts.join(UNIT_SPACE);
}
