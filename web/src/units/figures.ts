// Figures for people, by the rule that the reports keep (core/wording/figures.hpp): no figure shows more digits
// than its interval carries. A decimal point, groups of three set off by a narrow space from 10 000 up, a true
// minus sign, a space before the unit and before "%".

const MINUS = "\u2212";
const NARROW_SPACE = "\u202F";
/** Between a figure and its unit, so that no line ends between them. */
export const UNIT_SPACE = "\u00A0";
const DIGITS_WITHOUT_INTERVAL = 3;

/** floor(log10(|value|)), exact at powers of ten; value is not zero. */
function exponentOf(value: number): number {
  const v = Math.abs(value);
  let e = Math.floor(Math.log10(v));
  if (10 ** (e + 1) <= v) e += 1;
  if (10 ** e > v) e -= 1;
  return e;
}

/** Half away from zero, as std::round does. */
function roundHalfAway(value: number): number {
  return Math.sign(value) * Math.round(Math.abs(value));
}

/**
 * Decimal place (a power of ten: -1 is tenths) to which a value is printed whose interval is `low` to `high`. The
 * half width decides: of its three leading digits, 100 to 354 keep two digits and 355 to 999 one. An interval of
 * no width gives the place of the third significant digit of `value`.
 */
export function decimalPlace(value: number, low: number, high: number): number {
  const half = 0.5 * Math.abs(high - low);
  if (!(half > 0) || !Number.isFinite(half)) {
    if (value === 0 || !Number.isFinite(value)) return 0;
    return exponentOf(value) - (DIGITS_WITHOUT_INTERVAL - 1);
  }
  const e = exponentOf(half);
  const leading = Math.round((half / 10 ** e) * 100);
  return leading <= 354 ? e - 1 : e;
}

/** `value` rounded to 10^place: "1 230", "−0.35". */
export function rounded(value: number, place: number): string {
  if (!Number.isFinite(value)) return "no value";
  const step = 10 ** Math.abs(place);
  const whole = roundHalfAway(place >= 0 ? value / step : value * step);
  const nearest = place >= 0 ? whole * step : whole / step;
  const text = Math.abs(nearest).toFixed(Math.min(60, Math.max(0, -place)));
  const point = text.indexOf(".");
  const wholeDigits = point < 0 ? text.length : point;
  let out = nearest < 0 ? MINUS : "";
  for (let i = 0; i < text.length; i += 1) {
    if (i > 0 && i < wholeDigits && wholeDigits >= 5 && (wholeDigits - i) % 3 === 0) out += NARROW_SPACE;
    out += text[i];
  }
  return out;
}

interface PrintedUnit {
  factor: number;
  suffix: string;
}

function printedUnit(unit: string): PrintedUnit {
  if (unit === "fraction") return { factor: 100, suffix: `${UNIT_SPACE}%` };
  if (unit === "points") return { factor: 100, suffix: `${UNIT_SPACE}points` };
  if (unit === "" || unit === "count" || unit === "1") return { factor: 1, suffix: "" };
  return { factor: 1, suffix: UNIT_SPACE + unit.replace(/2$/, "\u00B2").replace(/3$/, "\u00B3") };
}

/** Shortest text of a number that somebody typed, to `decimals` at most. */
function typed(value: number, decimals: number): string {
  const nearest = roundHalfAway(value * 10 ** decimals) / 10 ** decimals;
  let place = 0;
  while (place > -decimals && Math.abs(nearest - roundHalfAway(nearest * 10 ** -place) * 10 ** place) > 1e-9)
    place -= 1;
  return rounded(nearest, place);
}

/** A result: 0.4632 in 0.41 .. 0.51 with unit "fraction" is "46 %". Units as in claims and studies. */
export function printedResult(value: number, low: number, high: number, unit: string): string {
  const u = printedUnit(unit);
  const place = decimalPlace(value * u.factor, low * u.factor, high * u.factor);
  return rounded(value * u.factor, place) + u.suffix;
}

/** "41 to 51 %", to the same place as the value between them. */
export function printedInterval(low: number, high: number, unit: string): string {
  const u = printedUnit(unit);
  const place = decimalPlace(low * u.factor, low * u.factor, high * u.factor);
  return `${rounded(low * u.factor, place)} to ${rounded(high * u.factor, place)}${u.suffix}`;
}

/** An input, or a result of one calculation: three significant digits, no zeros at the end of its decimals. */
export function printedValue(value: number, unit: string): string {
  const u = printedUnit(unit);
  const shown = value * u.factor;
  const place = decimalPlace(shown, shown, shown);
  if (place >= 0) return rounded(shown, place) + u.suffix;
  return typed(roundHalfAway(shown * 10 ** -place) / 10 ** -place, -place) + u.suffix;
}

/** A level or share that was typed: "8 %", "12.5 %". */
export function percent(fraction: number): string {
  return `${typed(100 * fraction, 1)}${UNIT_SPACE}%`;
}

/** A setting that was typed: "30 s", "15 min", "2 h", "90 s". */
export function duration(seconds: number): string {
  if (seconds >= 3600 && seconds % 3600 === 0) return `${typed(seconds / 3600, 0)}${UNIT_SPACE}h`;
  if (seconds >= 60 && seconds % 60 === 0) return `${typed(seconds / 60, 0)}${UNIT_SPACE}min`;
  return `${typed(seconds, 1)}${UNIT_SPACE}s`;
}
