// What occupancy sensors see of the room, on the plan and in words.
import type { LightAnswer, PlanPoint, Reach, Room } from "../api/contract";
import { UNIT_SPACE, decimalPlace, percent, rounded } from "../units/figures";
import { boundsOf, centreOf } from "./geometry";
import type { Note } from "./labels";
import { coveragePath, pathOf, ringsPath } from "./paths";
import { pure } from "./pure";
import { screenFromPlan, type View } from "./view";

type Place = Reach["places"][number];

/** Outline of a place, or nothing once it is no longer drawn. */
function planOf(room: Room, place: Place): readonly PlanPoint[] {
  const list = place.kind === "furniture" ? room.furniture : room.task_areas;
  return list.find((o) => o.id === place.id)?.plan ?? [];
}

const unwatched = (reach: Reach | null): Place[] =>
  reach === null || reach.sensors.length === 0 ? [] : reach.places.filter((p) => p.reach !== "whole");

type Seat = Reach["seats"][number];
/** One a place: of groups that meet there, the one that serves it worst. */
function seatsOf(reach: Reach | null): Seat[] {
  const worst = new Map<string, Seat>();
  for (const seat of reach?.seats ?? []) {
    const known = worst.get(seat.at.join(" "));
    if (known === undefined || (known.keeps_light && !seat.keeps_light) || (known.keeps_light === seat.keeps_light && badness(seat) > badness(known))) worst.set(seat.at.join(" "), seat);
  }
  return [...worst.values()];
}
const badness = (seat: Seat): number => (seat.movements_per_h > 0 ? seat.taken_per_h : Infinity);
/** Losses an hour, to as many digits as assumptions about movement carry: "1.2", "0.04". */
const perHour = ({ taken_per_h }: Seat): string => (taken_per_h < 0.005 ? "0" : rounded(taken_per_h, Math.max(-2, decimalPlace(taken_per_h, 0.7 * taken_per_h, 1.3 * taken_per_h))));
/** "loses the light 1.2 times an hour". */
const lossWords = (seat: Seat): string => (seat.movements_per_h > 0 ? `loses the light ${perHour(seat)} times an hour` : "is never noticed");

/** Walking as a line, small movements dotted; the bare shape thin where something cuts it, what it hides hatched. */
export const SensorReach = pure(({ room, reach, view, hatch }: {
  room: Room;
  reach: Reach | null;
  view: View;
  /** Id of the hatch of what is hidden. */
  hatch: string;
}) => (
  <g>
    {room.devices.map((d) => {
      if (d.coverage === undefined || d.status === "remove") return null;
      const seen = reach?.sensors.find((s) => s.id === d.id);
      return (["major", "minor"] as const).map((motion) => {
        const kind = motion === "major" ? "cover" : "cover small";
        const shape = coveragePath(view, d, motion);
        if (seen === undefined) return <path key={`${d.id} ${motion}`} class={kind} d={shape} />;
        const field = seen[motion];
        return (
          <g key={`${d.id} ${motion}`}>
            {field.hidden.length > 0 && <path class="cover bare" d={shape} />}
            {field.hidden.length > 0 && <path class="shadowed" fill={`url(#${hatch})`} fill-rule="evenodd" d={ringsPath(view, field.hidden)} />}
            <path class={kind} d={ringsPath(view, field.seen)} />
          </g>
        );
      });
    })}
    {unwatched(reach).map((place) => (
      <path key={`${place.kind} ${place.id}`} class="unwatched" d={pathOf(view, planOf(room, place), true)} />
    ))}
  </g>
));

/** Where people stay: a dot where they keep the light, a ring where they lose it too often. */
export const Seats = pure(({ reach, view }: { reach: Reach | null; view: View }) => (
  <g>
    {seatsOf(reach).map((seat) => {
      const { x_px, y_px } = screenFromPlan(view, seat.at);
      return (
        <circle key={seat.at.join(" ")} class={seat.keeps_light ? "seat" : "seat loses"} cx={x_px} cy={y_px} r={seat.keeps_light ? 3 : 5}>
          <title>{`Whoever sits here alone ${lossWords(seat)}.`}</title>
        </circle>
      );
    })}
  </g>
));

/** The lines of the hatch, at the scale of the screen. */
export const ReachHatch = ({ id }: { id: string }) => (
  <pattern id={id} width="6" height="6" patternUnits="userSpaceOnUse">
    <path class="reach-hatch" d="M-1 1L1 -1M0 6L6 0M5 7L7 5" />
  </pattern>
);

/** What is written over the places that are not wholly watched. */
export const reachNotes = (room: Room, reach: Reach | null): Note[] =>
  unwatched(reach).flatMap((place) => {
    const plan = planOf(room, place);
    return plan.length < 3 ? [] : [{ text: place.reach === "none" ? "out of reach" : "partly in reach", at: centreOf(boundsOf(plan)) }];
  });
/** By the seat that loses the light most often, in words. */
export function worstSeatNotes(reach: Reach | null): Note[] {
  const worst = losing(reach)[0];
  return worst === undefined ? [] : [{ text: lossWords(worst), at: worst.at }];
}
/** By every seat how often an hour it loses the light, worst first, so that these find room. */
export const seatNotes = (reach: Reach | null): Note[] =>
  [...losing(reach), ...seatsOf(reach).filter((seat) => seat.keeps_light)].map((seat) => ({
    text: seat.movements_per_h > 0 ? `${perHour(seat)}${UNIT_SPACE}/h` : "never noticed",
    at: seat.at,
    isBeside: true,
  }));
/** Seats that do not keep their light, worst first. */
const losing = (reach: Reach | null): Seat[] =>
  seatsOf(reach)
    .filter((seat) => !seat.keeps_light)
    .sort((a, b) => badness(b) - badness(a));

/** The words about a room as it is shown: with the newest edits, as soon as its light is there. */
export const shownReachWords = (room: Room, light: Pick<LightAnswer, "reach"> | null): string =>
  reachWords(light === null ? room.reach : light.reach, room.devices.some((device) => device.kind === "occupancy_sensor"));

/** The same about seats alone. */
export function shownSeatWords(room: Room, light: Pick<LightAnswer, "reach"> | null): string {
  const reach = light === null ? room.reach : light.reach;
  const words = reach === null ? "" : seatWords(reach).trim();
  return words === "" ? "No occupancy sensor takes the light from anybody here." : words;
}

/** "2 of 8 places out of reach for small movements, 1 in part; walking is seen on 96 % of the floor." */
export function reachWords(reach: Reach | null, hasSensors: boolean): string {
  if (reach === null)
    return hasSensors ? "Too much stands in this room to work out what hides what; the whole shapes of coverage are drawn." : "";
  if (reach.sensors.length === 0) return "";
  const { places } = reach;
  const none = places.filter((p) => p.reach === "none").length;
  const partly = places.filter((p) => p.reach === "partly").length;
  const share = (of: number) => percent(Math.round(100 * of) / 100);
  const walking = `walking is seen on ${share(reach.major_share)} of the floor`;
  if (places.length === 0) return `${sentence(walking)}, small movements on ${share(reach.minor_share)}.${seatWords(reach)}`;
  const what = `${places.length === 1 ? "place" : "places"}`;
  const count =
    none + partly === 0
      ? `${places.length === 1 ? "the one place is" : places.length === 2 ? "both places are" : `all ${places.length} places are`} in reach for small movements`
      : none === 0
        ? `${partly} of ${places.length} ${what} only partly in reach for small movements`
        : `${none} of ${places.length} ${what} out of reach for small movements${partly === 0 ? "" : `, ${partly} partly in reach`}`;
  return `${sentence(count)}; ${walking}.${seatWords(reach)}`;
}
/** " One person alone loses the light at 2 of 8 seats, at worst 1.2 times an hour." */
function seatWords(reach: Reach): string {
  const all = seatsOf(reach);
  const [worst, ...others] = losing(reach);
  if (all.length === 0) return "";
  if (worst === undefined) return ` Whoever sits still alone keeps the light at ${all.length === 1 ? "the one seat" : `all ${all.length} seats`}.`;
  return ` Whoever sits still alone loses the light too often at ${others.length + 1} of ${all.length} seats; the worst ${lossWords(worst)} (0.05 is taken as bearable).`;
}
const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
