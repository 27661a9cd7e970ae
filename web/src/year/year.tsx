// The year as a picture: days across, hours up. One cross-hair is the instant that the whole page shows.
import type { YearAnswer, YearQuantity } from "../api/contract";
import type { UnitSystem } from "../units/system";

export interface YearProps {
  /** null: not known yet. */
  year: YearAnswer | null;
  /** Second of the civil calendar year, 0 .. 31,535,999. */
  at_civil_s: number;
  onPick: (civil_s: number) => void;
  quantity: YearQuantity;
  onQuantity: (quantity: YearQuantity) => void;
  system: UnitSystem;
  /** Days without opening hours, 0 .. 364. */
  holidays?: ReadonlySet<number>;
}

export const YEAR_QUANTITIES: readonly { id: YearQuantity; word: string }[] = [
  { id: "power", word: "power" },
  { id: "presence", word: "presence" },
  { id: "task_light", word: "table light" },
  { id: "sensor_error", word: "sensor error" },
];

export function Year(props: YearProps) {
  return <div class="year">{props.quantity}</div>;
}
