// The line of the building between first cost and energy: its picture and its words.
import type { Building, BuildingLine, BuildingSearch, CostRange, LineEdits, LinePick, PointOfLine, ProposedEstimate } from "../api/contract";
import { differenceOf, figureOf, isNothing } from "../units/estimate";
import { decimalPlace, rounded } from "../units/figures";
import type { UnitSystem } from "../units/system";
import { type Axes, axesOf } from "./front";
import { costWords, inList, perKwh, progressWords } from "./words";

const middle = ({ least, most }: CostRange): number => 0.5 * (least + most);

/** "1.04 Office and 1 alike". */
export function roomsInWords(spaces: readonly string[], building: Pick<Building, "rooms"> | null): string {
  const [first, ...alike] = spaces;
  const room = building?.rooms.find((one) => one.id === first);
  const name = room === undefined ? (first ?? "") : `${room.number} ${room.name}`;
  return alike.length === 0 ? name : `${name} and ${alike.length} alike`;
}

/** "room 3 of 14, 1.06 Meeting room: designs of 1.06: 12 of 60". */
export function searchWords(search: BuildingSearch, building: Pick<Building, "rooms"> | null): string {
  const room = `room ${search.rooms_done + 1} of ${search.rooms_total}, ${roomsInWords(search.spaces, building)}`;
  return search.stage === "" ? room : `${room}: ${progressWords(search)}`;
}

/** The name of a design of a room on the line. */
export const nameOf = (line: BuildingLine, room: number, design: number): string =>
  line.rooms[room]!.designs.find((one) => one.design === design)!.name;

/** What is known by a name after so many steps; null: nothing. */
export const pickAt = (line: BuildingLine, steps: number): LinePick | null => line.points.find((point) => point.steps === steps)?.name ?? null;

/** Where one begins to look: the knee, or the least cost where there is none. */
export const firstLook = (line: BuildingLine): number => line.points.find((point) => point.name === "most for the building's money")?.steps ?? 0;

/** "3 of 12 steps". */
export const stepsWords = (line: BuildingLine, steps: number): string =>
  line.steps.length === 0 ? "no step to take" : `${steps} of ${line.steps.length} ${line.steps.length === 1 ? "step" : "steps"}`;

/** A step as a sentence without its end: "1.04 Office: 1 ceiling sensor in place of 2 luminaire sensors". */
export function stepWords(line: BuildingLine, step: number, building: Pick<Building, "rooms"> | null): string {
  const { room, from, to } = line.steps[step]!;
  return `${roomsInWords(line.rooms[room]!.spaces, building)}: ${nameOf(line, room, to)} in place of ${nameOf(line, room, from)}`;
}

/** What lies on both sides of a point of the line. */
export function neighbours(line: BuildingLine, steps: number, building: Pick<Building, "rooms"> | null, currency: string): { last: string; next: string } {
  const price = (step: number) => `${perKwh(line.steps[step]!.cost_per_kwh, currency)} for each kWh a year less`;
  return {
    last: steps === 0 ? "Every room has the design that costs least." : `Taken last: ${stepWords(line, steps - 1, building)}, ${price(steps - 1)}.`,
    next: steps === line.steps.length ? "No design on the line draws less." : `Next: ${stepWords(line, steps, building)}, ${price(steps)}.`,
  };
}

/** "−20 to 110 GBP": what designs cost more than others, in whole units; prices may turn it into less. */
export function addedCost({ least, most }: CostRange, currency: string): string {
  if (least === 0 && most === 0) return "none";
  const place = Math.max(0, decimalPlace(0.5 * (least + most), least, most));
  const [from, to] = [rounded(least, place), rounded(most, place)];
  return from === to ? `${from}\u00A0${currency}` : `${from} to ${to}\u00A0${currency}`;
}

/** "350 kWh (220 to 470 kWh)"; more, where it is no saving. */
export const savedWords = (saved: ProposedEstimate, system: UnitSystem): string => (isNothing(saved) ? "none" : saved.mean < 0 ? differenceOf({ mean: -saved.mean, low: -saved.high, high: -saved.low }, "kWh", ["more", "less"], system) : figureOf(saved, "kWh", system));

/** "2 pieces have no price known and are not in the cost."; empty where all have one. */
export function unpricedWords({ unpriced }: PointOfLine): string {
  if (unpriced.length === 0) return "";
  const kinds = [...new Set(unpriced)];
  return `No price is known of ${unpriced.length} ${unpriced.length === 1 ? "piece" : "pieces"}, which the cost leaves out: ${inList(kinds)}.`;
}

/** What the revision is called. The store keeps 200 bytes. */
export function lineLabel(line: BuildingLine, steps: number): string {
  const pick = pickAt(line, steps);
  return `building, take: ${pick === null ? "" : `${pick}, `}${stepsWords(line, steps)}`;
}

/** What the designs need of the building besides, in sentences; empty where they need nothing. */
export function needsWords({ shared_controllers, radio, no_radio, hvac }: Pick<LineEdits, "shared_controllers" | "radio" | "no_radio" | "hvac">, currency: string): string {
  const many = (n: number, one: string) => `${n} ${one}${n === 1 ? "" : "s"}`;
  const sentences: string[] = [];
  for (const shared of shared_controllers)
    sentences.push(`${many(shared.controllers, "load controller")} ${shared.controllers === 1 ? "serves" : "serve"} ${many(shared.spaces.length, "room")} of a storey in place of ${shared.replaced}, for ${costWords(shared.cost_after, currency)} in place of ${costWords(shared.cost_before, currency)}.`);
  const added = radio === null ? [] : [...(radio.gateways.length > 0 ? [many(radio.gateways.length, "gateway")] : []), ...(radio.repeaters.length > 0 ? [many(radio.repeaters.length, "repeater")] : [])];
  if (added.length > 0) sentences.push(`With it came ${inList(added)} for ${many(radio!.devices, "radio device")}.`);
  if (radio !== null && radio.out_of_reach.length > 0) sentences.push(`No radio reaches ${inList(radio.out_of_reach)}.`);
  if (no_radio !== null) sentences.push(`Gateways and repeaters were not added: ${no_radio}.`);
  if (hvac !== null) {
    const contacts = hvac.new_contacts === 0 ? "" : `, by ${many(hvac.new_contacts, "new contact")}${hvac.cost === undefined ? "" : ` at ${costWords(hvac.cost, currency)}`}`;
    sentences.push(`HVAC is now told of ${many(hvac.told.length, "room")} more${contacts}.`);
  }
  return sentences.join(" ");
}

// ---- the picture ---------------------------------------------------------------------------------------------

export interface LineMark {
  x_px: number;
  y_px: number;
}
export interface LineLabel {
  text: string;
  x: number;
  y: number;
  anchor: "start" | "end";
}
export interface LinePicture {
  axes: Axes;
  /** By steps taken. */
  points: LineMark[];
  stands: LineMark | null;
  labels: LineLabel[];
}

/** What stands now is called so in the picture and over its column. */
export const AS_IT_STANDS = "as it stands";

export function linePicture(line: BuildingLine, width_px: number, height_px: number): LinePicture {
  const place = (point: PointOfLine) => ({ cost: middle(point.cost), kwh: point.kwh.mean });
  const all = [...line.sums, ...(line.stands === null ? [] : [line.stands])].map(place);
  const { axes, x, y } = axesOf(all, width_px, height_px);
  const mark = (point: PointOfLine): LineMark => ({ x_px: x(place(point).cost), y_px: y(place(point).kwh) });
  const points = line.sums.map(mark);
  const stands = line.stands === null ? null : mark(line.stands);
  const named = line.points.map(({ name, steps }) => ({ text: name as string, ...points[steps]! }));
  if (stands !== null) named.push({ text: AS_IT_STANDS, ...stands });
  return { axes, points, stands, labels: labelsOf(named, points, axes.frame) };
}

const LETTER_PX = 5.9;
const LINE_PX = 13;
/** Marks nearer than this are one to the eye. */
const SAME_PX = 4;

/** Words beside marks: those of one place together, each where the line, other marks and words are least in the way. */
function labelsOf(named: readonly ({ text: string } & LineMark)[], points: readonly LineMark[], frame: Axes["frame"]): LineLabel[] {
  const together: ({ text: string } & LineMark)[] = [];
  for (const one of named) {
    const there = together.find((other) => Math.hypot(other.x_px - one.x_px, other.y_px - one.y_px) < SAME_PX);
    if (there === undefined) together.push({ ...one });
    else there.text += `, ${one.text}`;
  }
  const along: { x: number; y: number }[] = together.map((one) => ({ x: one.x_px, y: one.y_px }));
  points.slice(1).forEach((to, i) => {
    const from = points[i]!;
    const parts = Math.max(1, Math.ceil(Math.hypot(to.x_px - from.x_px, to.y_px - from.y_px) / 6));
    for (let k = 0; k <= parts; k += 1) along.push({ x: from.x_px + (k / parts) * (to.x_px - from.x_px), y: from.y_px + (k / parts) * (to.y_px - from.y_px) });
  });
  const box = ({ text, x, y, anchor }: LineLabel) => {
    const wide = LETTER_PX * text.length;
    return { left: anchor === "start" ? x : x - wide, right: anchor === "start" ? x + wide : x, top: y - 10, bottom: y + 3 };
  };
  const placed: LineLabel[] = [];
  for (const { text, x_px, y_px } of together) {
    const candidates = ([[15, 4], [10, -9], [10, 17], [-15, 4], [-10, -9], [-10, 17], [10, -9 - LINE_PX], [-10, -9 - LINE_PX]] as const).map(
      ([right, down]): LineLabel => ({ text, x: x_px + right, y: y_px + down, anchor: right > 0 ? "start" : "end" }),
    );
    const cost = (label: LineLabel) => {
      const b = box(label);
      const out = b.left < frame.left_px || b.right > frame.right_px || b.top < frame.top_px - 12 || b.bottom > frame.bottom_px;
      return (
        (out ? 100 : 0) +
        20 * placed.map(box).filter((o) => o.left < b.right && b.left < o.right && o.top < b.bottom && b.top < o.bottom).length +
        along.filter((p) => p.x > b.left - 2 && p.x < b.right + 2 && p.y > b.top - 2 && p.y < b.bottom + 2).length
      );
    };
    placed.push(candidates.reduce((best, one) => (cost(one) < cost(best) ? one : best)));
  }
  return placed;
}

/** How many steps are taken at the point of the line that lies nearest to a place in the picture. */
export function nearestPoint(points: readonly LineMark[], x_px: number, y_px: number): number {
  const far = points.map((point) => Math.hypot(point.x_px - x_px, point.y_px - y_px));
  return far.indexOf(Math.min(...far));
}
