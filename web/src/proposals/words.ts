// The words and figures of proposals.
import type { ControlPart, CostRange, DrawnDesign, FirstCost, FrontPick, ProposedDesign, Proposals } from "../api/contract";
import { decimalPlace, printedInterval, rounded } from "../units/figures";

export const PARTS: readonly { part: ControlPart; words: string; says: string }[] = [
  { part: "occupancy", words: "occupancy sensors", says: "sensors with their groups, what brings the light on, what an empty room does" },
  { part: "daylight", words: "daylight control", says: "daylight groups, photosensors and their rules" },
  { part: "stations", words: "wall stations", says: "wall stations and their buttons" },
  { part: "controllers", words: "load controllers", says: "what switches and dims the luminaires" },
  { part: "receptacles", words: "socket outlets", says: "what takes the power of plugged-in devices when nobody is there" },
];
export const partWords = (part: ControlPart): string => PARTS.find((one) => one.part === part)!.words;

/** "a", "a and b", "a, b and c". */
export const inList = (words: readonly string[]): string =>
  words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;

/** The letter of the design that is the n-th of the front: A, B, ... Z, AA, ... */
export const letterOf = (n: number): string => (n < 26 ? "" : letterOf(Math.floor(n / 26) - 1)) + String.fromCharCode(65 + (n % 26));

/** "A" of a design of the front; "" of others. */
export function letterOfDesign({ front }: Pick<Proposals, "front">, design: number): string {
  const place = front.indexOf(design);
  return place < 0 ? "" : letterOf(place);
}

/** What a design is the first in. */
export const picksOf = ({ offers }: Pick<Proposals, "offers">, design: number): readonly FrontPick[] =>
  offers.find((offer) => offer.design === design)?.picked ?? [];

/** What stands side by side: the front or what is first of it in something, by first cost, with the document's own. */
export function sideBySide(proposals: Pick<Proposals, "front" | "offers" | "own" | "drawn">, all: boolean): DrawnDesign[] {
  const { front, offers, own, drawn } = proposals;
  const wanted = front.filter((i) => all || i === own || offers.some((offer) => offer.design === i));
  const shown = own === null || wanted.includes(own) ? wanted : [own, ...wanted];
  return shown.flatMap((i) => drawn.filter((one) => one.design === i));
}

/** "designs of 1.04: 12 of 60". */
export const progressWords = ({ stage, done, total }: { stage: string; done: number; total: number }): string => (total > 0 ? `${stage}: ${done} of ${total}` : stage);

/** "580 to 1090 GBP", "nothing". */
export const costWords = ({ least, most }: CostRange, currency: string): string =>
  most === 0 ? "nothing" : least === most ? `${rounded(least, Math.max(0, decimalPlace(least, least, least)))}\u00A0${currency}` : printedInterval(least, most, currency);
/** "0.9 to 1.9 h". */
export const hoursWords = ({ least, most }: CostRange): string =>
  most === 0 ? "none" : `${rounded(least, -1)} to ${rounded(most, -1)}\u00A0h`;

/** Middle of the range, by which designs are compared. */
export const middleOf = ({ total }: FirstCost): number => 0.5 * (total.least + total.most);

/** One line for each thing: "3 × ...", and pieces without a price counted. */
export function quantityLines({ quantities, unpriced }: FirstCost): string[] {
  const pieces = new Map<string, number>();
  for (const name of unpriced) pieces.set(name, (pieces.get(name) ?? 0) + 1);
  return [
    ...quantities.map((line) => `${line.count} × ${line.name}`),
    ...[...pieces].map(([name, count]) => `${count} × ${name}: no price known, not in the cost`),
  ];
}

/** "18 GBP": first cost of a kWh a year. */
export const perKwh = (cost: number, currency: string): string => `${rounded(cost, Math.max(-1, decimalPlace(cost, cost, cost) + 1))}\u00A0${currency}`;

/** "Each kWh a year less costs 18 GBP from A to C, 27 GBP from C to F." */
export function marginalWords(proposals: Pick<Proposals, "front" | "hull" | "cost_per_kwh" | "currency">): string {
  const { hull, cost_per_kwh, currency } = proposals;
  const steps = cost_per_kwh.map((cost, i) => `${perKwh(cost, currency)} from ${letterOfDesign(proposals, hull[i]!)} to ${letterOfDesign(proposals, hull[i + 1]!)}`);
  return steps.length === 0 ? "" : `Each kWh a year less costs ${steps.join(", ")}.`;
}

/** Designs that were left out, by the design that is no worse in anything. */
export function leftOut({ designs, own }: Pick<Proposals, "designs" | "own">): { by: string; names: string[] }[] {
  const groups = new Map<number, string[]>();
  designs.forEach((design: ProposedDesign, i) => {
    if (design.dominated_by === undefined || i === own) return;
    groups.set(design.dominated_by, [...(groups.get(design.dominated_by) ?? []), design.name]);
  });
  return [...groups].sort(([a], [b]) => a - b).map(([by, names]) => ({ by: designs[by]!.name, names }));
}

/** Designs that were refused, by the reasons. */
export function refusals({ refused }: Pick<Proposals, "refused">): { because: string[]; names: string[] }[] {
  const groups = new Map<string, { because: string[]; names: string[] }>();
  for (const { name, because } of refused) {
    const group = groups.get(because.join("\n")) ?? { because, names: [] };
    group.names.push(name);
    groups.set(because.join("\n"), group);
  }
  return [...groups.values()];
}

/** What a revision is called that takes a design, or some of its parts. The store keeps 200 bytes. */
export function takeLabel(number: string, name: string, parts: readonly ControlPart[] | null): string {
  const what = parts === null ? name : `${inList(parts.map(partWords))} of ${name}`;
  return `${number}, take: ${what}`.slice(0, 180);
}
