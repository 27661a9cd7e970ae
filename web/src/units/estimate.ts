// An estimate in words.
import type { ProposedEstimate as Estimate } from "../api/contract";
import { type UnitSystem, formatInterval, formatResult } from "./system";

/** 0 in 9 of 10 years: whatever is left in the mean, no figure of it is known. */
export const isNothing = ({ low, high }: Estimate): boolean => low === 0 && high === 0;

/** "46 %". */
export const meanOf = (e: Estimate, unit: string, system: UnitSystem): string => formatResult(isNothing(e) ? 0 : e.mean, e.low, e.high, unit, system);

/** "46 % (41 to 51 %)". */
export const figureOf = (e: Estimate, unit: string, system: UnitSystem): string =>
  isNothing(e) ? meanOf(e, unit, system) : `${meanOf(e, unit, system)} (${formatInterval(e.low, e.high, unit, system)})`;

/** "300 h more (250 to 350 h)", "2.4 h less (...)": a difference without a sign. */
export function differenceOf({ mean, low, high }: Estimate, unit: string, [more, less]: readonly [string, string], system: UnitSystem): string {
  const [from, to] = mean < 0 ? [-high, -low] : [low, high];
  return `${formatResult(Math.abs(mean), from, to, unit, system)} ${mean < 0 ? less : more} (${formatInterval(from, to, unit, system)})`;
}
