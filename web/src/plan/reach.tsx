// What occupancy sensors see of the room, on the plan and in words.
import type { LightAnswer, PlanPoint, Reach, Room } from "../api/contract";
import { percent } from "../units/figures";
import { boundsOf, centreOf } from "./geometry";
import { coveragePath, pathOf, ringsPath } from "./paths";
import { pure } from "./pure";
import type { View } from "./view";

type Place = Reach["places"][number];

/** Outline of a place, or nothing once it is no longer drawn. */
function planOf(room: Room, place: Place): readonly PlanPoint[] {
  const list = place.kind === "furniture" ? room.furniture : room.task_areas;
  return list.find((o) => o.id === place.id)?.plan ?? [];
}

const unwatched = (reach: Reach | null): Place[] =>
  reach === null || reach.sensors.length === 0 ? [] : reach.places.filter((p) => p.reach !== "whole");

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

/** The lines of the hatch, at the scale of the screen. */
export const ReachHatch = ({ id }: { id: string }) => (
  <pattern id={id} width="6" height="6" patternUnits="userSpaceOnUse">
    <path class="reach-hatch" d="M-1 1L1 -1M0 6L6 0M5 7L7 5" />
  </pattern>
);

/** What is written over the places that are not wholly watched. */
export function reachNotes(room: Room, reach: Reach | null): { text: string; at: PlanPoint }[] {
  return unwatched(reach).flatMap((place) => {
    const plan = planOf(room, place);
    return plan.length < 3 ? [] : [{ text: place.reach === "none" ? "out of reach" : "partly in reach", at: centreOf(boundsOf(plan)) }];
  });
}

/** The words about a room as it is shown: with the newest edits, as soon as its light is there. */
export const shownReachWords = (room: Room, light: Pick<LightAnswer, "reach"> | null): string =>
  reachWords(light === null ? room.reach : light.reach, room.devices.some((device) => device.kind === "occupancy_sensor"));

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
  if (places.length === 0) return `${sentence(walking)}, small movements on ${share(reach.minor_share)}.`;
  const what = `${places.length === 1 ? "place" : "places"}`;
  const count =
    none + partly === 0
      ? `${places.length === 1 ? "the one place is" : places.length === 2 ? "both places are" : `all ${places.length} places are`} in reach for small movements`
      : none === 0
        ? `${partly} of ${places.length} ${what} only partly in reach for small movements`
        : `${none} of ${places.length} ${what} out of reach for small movements${partly === 0 ? "" : `, ${partly} partly in reach`}`;
  return `${sentence(count)}; ${walking}.`;
}
const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
