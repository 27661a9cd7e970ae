// A small plan of the room with a design in it: luminaires by their daylight group, sensors with what they see,
// stations and load controllers.
import { useId, useMemo } from "preact/hooks";
import type { DrawnDesign, PlanPoint, Room } from "../api/contract";
import { distance, spanningTree } from "../plan/geometry";
import { luminaireOutline } from "../plan/hit";
import { DEVICE_WORDS, membersOf, typeOf } from "../plan/objects";
import { Fittings, Walls, overhangs, tokenAt } from "../plan/parts";
import { pathOf, pointText } from "../plan/paths";
import { ReachHatch, SensorReach } from "../plan/reach";
import { Token } from "../plan/tokens";
import { fitted, screenFromPlan } from "../plan/view";
import { inList } from "./words";
import "../plan/plan.css";

const WIDTH_PX = 216;
const HEIGHT_PX = 190;
const EDGE_PX = 9;
const LEAST_PX = 5;
/** Grounds of daylight groups, over and over: each group also has a letter and a line. */
const GROUNDS = 4;

/** The room as it would be with a design. */
export const roomWith = (room: Room, { devices, groups, reach }: DrawnDesign): Room => ({ ...room, devices, groups, reach });

/** "1 occupancy sensor, 2 photosensors and 1 wall station; daylight group a: L1, L2." */
export function planInWords(room: Room): string {
  const counts = new Map<string, number>();
  for (const device of room.devices) {
    if (device.status === "remove") continue;
    const words = DEVICE_WORDS[device.kind];
    counts.set(words, (counts.get(words) ?? 0) + 1);
  }
  const devices = inList([...counts].map(([words, n]) => `${n} ${words}${n === 1 || words === "infrastructure" ? "" : "s"}`));
  const groups = daylightGroups(room).map((group) => `daylight group ${group.letter}: ${group.members.map((l) => l.tag).join(", ")}`);
  return `${[devices === "" ? "no control devices" : devices, ...groups].join("; ")}.`;
}

export function daylightGroups(room: Room) {
  return room.groups
    .filter((group) => group.strategy === "daylight")
    .map((group, i) => ({ id: group.id, letter: String.fromCharCode(97 + (i % 26)), ground: i % GROUNDS, members: membersOf(room, group) }))
    .filter((group) => group.members.length > 0);
}

/** Of some places the one nearest to their middle. */
function middlemost(places: readonly PlanPoint[]): PlanPoint {
  const mean: PlanPoint = [places.reduce((s, p) => s + p[0], 0) / places.length, places.reduce((s, p) => s + p[1], 0) / places.length];
  return places.reduce((best, p) => (distance(p, mean) < distance(best, mean) - 1e-9 ? p : best));
}

export function DesignPlan({ room, label }: { room: Room; label: string }) {
  const name = useId();
  const view = useMemo(() => {
    const first = fitted(room.floor, WIDTH_PX, HEIGHT_PX, { left_px: EDGE_PX, right_px: EDGE_PX, top_px: EDGE_PX, bottom_px: EDGE_PX });
    const out = overhangs(room, first);
    return fitted(room.floor, WIDTH_PX, HEIGHT_PX, { left_px: EDGE_PX + out.left_px, right_px: EDGE_PX + out.right_px, top_px: EDGE_PX + out.top_px, bottom_px: EDGE_PX + out.bottom_px });
  }, [room.floor, room.doors]);
  const groups = daylightGroups(room);
  const at = (l: Room["luminaires"][number]): PlanPoint => [l.at[0], l.at[1]];
  return (
    <div class="plan design-plan">
      <svg viewBox={`0 0 ${WIDTH_PX} ${HEIGHT_PX}`} role="img" aria-label={`${label}: ${planInWords(room)}`}>
        <defs>
          <clipPath id={`${name}-floor`}>
            <path d={pathOf(view, room.floor, true)} />
          </clipPath>
          <pattern id={`${name}-glass`} width="6" height="6" patternUnits="userSpaceOnUse">
            <rect class="glass-ground" width="6" height="6" />
            <path class="glass-hatch" d="M-1 1L1 -1M0 6L6 0M5 7L7 5" />
          </pattern>
          <ReachHatch id={`${name}-hidden`} />
        </defs>
        <g clip-path={`url(#${name}-floor)`}>
          <path class="floor" d={pathOf(view, room.floor, true)} />
          <Fittings furniture={room.furniture} partitions={room.partitions} tasks={room.task_areas} openings={room.openings} view={view} />
          <SensorReach room={room} reach={room.reach} view={view} hatch={`${name}-hidden`} />
        </g>
        <Walls floor={room.floor} openings={room.openings} doors={room.doors} view={view} glass={`${name}-glass`} />
        {room.luminaires.map((l) => {
          const group = groups.find((one) => one.members.includes(l));
          if (l.status === "remove") return null;
          return <path key={l.id} class={`fixture${group === undefined ? "" : ` ground${group.ground}`}`} d={pathOf(view, luminaireOutline(l, typeOf(room, l), LEAST_PX / view.px_per_m), true)} />;
        })}
        {groups.map((group) => (
          <path
            key={group.id}
            class="string"
            d={spanningTree(group.members.map(at))
              .map(([a, b]) => `M${pointText(view, a)}L${pointText(view, b)}`)
              .join("")}
          />
        ))}
        {room.devices.map((d) => {
          if (d.status === "remove") return null;
          const { x_px, y_px } = tokenAt(room, d, view);
          return (
            <g key={d.id} transform={`translate(${x_px} ${y_px}) scale(0.78)`}>
              <title>{d.type === "" ? DEVICE_WORDS[d.kind] : d.type}</title>
              <Token kind={d.kind} />
            </g>
          );
        })}
        {groups.map((group) => {
          const { x_px, y_px } = screenFromPlan(view, middlemost(group.members.map(at)));
          return (
            <g key={group.id} transform={`translate(${x_px} ${y_px})`}>
              <rect class="letter-box small" x="-7" y="-7.5" width="14" height="15" rx="3" />
              <text class="letter small" y="4">
                {group.letter}
              </text>
            </g>
          );
        })}
      </svg>
    </div>
  );
}
