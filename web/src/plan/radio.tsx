// How radio devices of the room reach a gateway, on the plan and in words.
import type { DeviceDrawing, PlanPoint, Radio, RadioLink, Room } from "../api/contract";
import { percent } from "../units/figures";
import { type UnitSystem, formatLength } from "../units/system";
import { cross, distance, minus, plus, times, wallsOf } from "./geometry";
import { contourPath, pathOf, pointText } from "./paths";
import { pure } from "./pure";
import { type View, screenFromPlan } from "./view";

const MARGIN_WORDS: Readonly<Record<RadioLink["margin"], string>> = { strong: "strong", sound: "sound", weak: "weak", none: "too weak" };

/** Rounded down, so that no margin reads as the next better word. */
const decibels = (db: number): string => `${db < 0 ? "\u2212" : ""}${Math.abs(Math.floor(db))}\u00A0dB`;
/** A model that errs by ten decibels does not know its last per mille. */
const chance = (share: number): string => (share > 0.99 ? "over 99\u00A0%" : share < 0.01 ? "under 1\u00A0%" : percent(Math.round(100 * share) / 100));

/** "24 dB, sound, 97 %" */
export const linkWords = (link: RadioLink): string => `${decibels(link.margin_db)}, ${MARGIN_WORDS[link.margin]}, ${chance(link.availability)}`;

/** Where a straight line from within the room leaves it, or null when it ends inside. */
export function wayOut(floor: readonly PlanPoint[], from: PlanPoint, to: PlanPoint): PlanPoint | null {
  const along = minus(to, from);
  let nearest = Infinity;
  for (const wall of wallsOf(floor)) {
    const edge = minus(wall.to, wall.from);
    const turn = cross(along, edge);
    if (turn === 0) continue;
    const share = cross(minus(wall.from, from), edge) / turn;
    const onWall = cross(minus(wall.from, from), along) / turn;
    if (share > 1e-6 && share <= 1 && onWall >= 0 && onWall <= 1) nearest = Math.min(nearest, share);
  }
  return nearest === Infinity ? null : plus(from, times(nearest, along));
}

const placeOf = (device: DeviceDrawing): PlanPoint => [device.at[0], device.at[1]];

interface Drawn {
  device: DeviceDrawing;
  link: RadioLink | null;
}
const drawn = (room: Room, radio: Radio | null): Drawn[] =>
  (radio?.devices ?? []).flatMap(({ id, to }) => {
    const device = room.devices.find((d) => d.id === id);
    return device === undefined ? [] : [{ device, link: to }];
  });

/** Contours of the margin, and from each device a line to its gateway or an arrow to where the line leaves the room. */
export const RadioLinks = pure(({ room, radio, view }: { room: Room; radio: Radio | null; view: View }) => (
  <g>
    {(radio?.contours ?? []).map((c, i) => (
      <path key={i} class={`margin db${c.db}`} d={contourPath(view, [c])} />
    ))}
    {drawn(room, radio).map(({ device, link }) => {
      const from = placeOf(device);
      if (link === null) return null;
      const to: PlanPoint = [link.at[0], link.at[1]];
      const exit = link.is_here ? null : wayOut(room.floor, from, to);
      const end = exit ?? to;
      const a = screenFromPlan(view, from);
      const b = screenFromPlan(view, end);
      const degrees = (Math.atan2(b.y_px - a.y_px, b.x_px - a.x_px) * 180) / Math.PI;
      return (
        <g key={device.id} class={`radio-link ${link.margin}`}>
          <path d={`M${pointText(view, from)}L${pointText(view, end)}`} />
          {!link.is_here && distance(from, end) > 0 && <path class="head" d="M-11 -5L-2 0L-11 5" transform={`translate(${b.x_px} ${b.y_px}) rotate(${degrees})`} />}
        </g>
      );
    })}
    {drawn(room, radio).map(({ device, link }) => link === null && <path key={device.id} class="radio-link none" d={pathOf(view, square(placeOf(device), 14 / view.px_per_m), true)} />)}
  </g>
));

const square = ([x, y]: PlanPoint, half: number): PlanPoint[] => [
  [x - half, y - half],
  [x + half, y - half],
  [x + half, y + half],
  [x - half, y + half],
];

/** What is written beside the tags of radio devices: in full, or where that finds no room, in short. */
export function radioTags(room: Room, radio: Radio | null): Map<string, string[]> {
  return new Map(
    drawn(room, radio).map(({ device, link }) => [
      device.id,
      link === null ? ["no gateway"] : [linkWords(link), `${decibels(link.margin_db)}, ${chance(link.availability)}`, decibels(link.margin_db)],
    ]),
  );
}

/** What is written on the contours and where links leave the room. */
export function radioNotes(room: Room, radio: Radio | null): { text: string; at: PlanPoint }[] {
  const lines = (radio?.contours ?? []).flatMap(({ db, points }) => {
    const i = 2 * Math.floor(points.length / 4);
    return points.length < 4 ? [] : [{ text: decibels(db), at: [points[i]!, points[i + 1]!] as PlanPoint }];
  });
  // One word for each gateway: its links leave in about the same direction.
  const ends = new Map<string, { text: string; at: PlanPoint }>();
  for (const { device, link } of drawn(room, radio)) {
    if (link === null || link.is_here || ends.has(link.id)) continue;
    const to: PlanPoint = [link.at[0], link.at[1]];
    const from = placeOf(device);
    // A little before the wall, where the word is read as the arrow's.
    const end = wayOut(room.floor, from, to) ?? to;
    ends.set(link.id, { text: `to ${link.tag} in ${link.room}`, at: plus(from, times(0.8, minus(end, from))) });
  }
  return [...ends.values(), ...lines];
}

/** "12.30 m, 2 walls, 1 floor": what lies between. */
function betweenWords(link: RadioLink, system: UnitSystem): string {
  const counted = (n: number, one: string) => (n === 0 ? [] : [`${n} ${one}${n === 1 ? "" : "s"}`]);
  return [formatLength(link.distance_m, system), ...counted(link.light_walls, "light wall"), ...counted(link.heavy_walls, "heavy wall"), ...counted(link.floors, "floor")].join(", ");
}

/** Every link in words, for those that find no room on the plan. */
export const RadioKey = ({ room, radio, system }: { room: Room; radio: Radio | null; system: UnitSystem }) => (
  <ul class="together-key radio-key">
    {drawn(room, radio).map(({ device, link }) => (
      <li key={device.id}>
        <b>{device.tag || device.id}</b> {link === null ? "no gateway" : `${linkWords(link)}: ${betweenWords(link, system)}`}
      </li>
    ))}
  </ul>
);

/** Where the gateways are and how the weakest link of the room stands. */
export function radioWords(radio: Radio | null): string {
  if (radio === null) return "Radio links are not computed: there is no proposal, or there are too many radios and walls.";
  const count = radio.devices.length;
  if (count === 0) return "No device here talks by radio.";
  const talk = count === 1 ? "One device here talks by radio" : `${count} devices here talk by radio`;
  const links = radio.devices.flatMap(({ to }) => to ?? []);
  const [first] = links;
  if (first === undefined) return `${talk}, and no gateway of the building does.`;
  const weakest = links.reduce((a, b) => (b.margin_db < a.margin_db ? b : a), first);
  const ends = [...new Set(links.map((l) => `${l.is_repeater ? "repeater " : ""}${l.tag}${l.is_here ? "" : ` in ${l.room}`}`))].join(" and ");
  return `${talk} to ${ends}. The weakest link has ${decibels(weakest.margin_db)} to spare (${MARGIN_WORDS[weakest.margin]}) and works with a chance of ${chance(weakest.availability)}; the model errs by 8 to 10\u00A0dB, a survey on site decides.`;
}
