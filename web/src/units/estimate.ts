// An estimate in words.
import type { Estimate } from "../app/study";
import { type UnitSystem, formatInterval, formatResult } from "./system";

/** "46 % (41 to 51 %)". */
export const figureOf = ({ mean, low, high }: Estimate, unit: string, system: UnitSystem): string =>
  `${formatResult(mean, low, high, unit, system)} (${formatInterval(low, high, unit, system)})`;
