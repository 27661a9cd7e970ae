// Lengths, light and power as somebody types them into a form.
import { LUX_PER_FOOTCANDLE, METRES_PER_FOOT, type UnitSystem } from "../units/system";
import { type Entered, readEntered } from "../units/entered";

export const LENGTHS = ["m", "cm", "mm", "ft", "in"] as const;
export const ILLUMINANCES = ["lx", "fc"] as const;
export const POWERS = ["W", "kW"] as const;

export const lengthUnit = (system: UnitSystem): string => (system === "us" ? "ft" : "m");
export const lightUnit = (system: UnitSystem): string => (system === "us" ? "fc" : "lx");

/** A length in the unit that the reader has chosen, fit to be typed over: "2.4 m", "8 ft". */
export function lengthText(m: number, system: UnitSystem): string {
  const [value, places] = system === "us" ? [m / METRES_PER_FOOT, 2] : [m, 3];
  return `${Number(value.toFixed(places))} ${lengthUnit(system)}`;
}

/** Light in the unit that the reader has chosen: "500 lx", "50 fc". */
export function lightText(lx: number, system: UnitSystem): string {
  if (system === "si") return `${Number(lx.toFixed(0))} lx`;
  const fc = lx / LUX_PER_FOOTCANDLE;
  return `${Number(fc >= 10 ? (Math.round(fc / 5) * 5).toFixed(0) : fc.toFixed(0))} fc`;
}

/** A length; a number alone takes the reader's unit. */
export const readLength = (text: string, system: UnitSystem): Entered => {
  const read = readEntered(text, LENGTHS, lengthUnit(system));
  if (read.ok && !(read.si >= 0)) return { ok: false, problem: "A length is not below zero." };
  return read;
};
export const readLight = (text: string, system: UnitSystem): Entered => readEntered(text, ILLUMINANCES, lightUnit(system));
