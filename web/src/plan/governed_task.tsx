// What a daylight rule makes of the light on its task in a year: on the plan between photosensor and task, and in words.
import type { Room } from "../api/contract";
import type { DaylightLoop } from "../app/study";
import { figureOf, meanOf } from "../units/estimate";
import { UNIT_SPACE } from "../units/figures";
import type { UnitSystem } from "../units/system";
import { boundsOf, centreOf } from "./geometry";
import { pathOf } from "./paths";
import type { RuleChoice } from "./places";
import { pure } from "./pure";
import { type View, screenFromPlan } from "./view";

export interface Governed {
  rule: RuleChoice;
  /** Its year; null: not studied yet. */
  loop: DaylightLoop | null;
}

/** "under-lit 12 h" and "over-lit 400 h a year". */
export const taskNotes = (loop: DaylightLoop, system: UnitSystem): [string, string] => [
  `under-lit ${meanOf(loop.under_lit_hours, "h", system)}`,
  `over-lit ${meanOf(loop.over_lit_hours, "h", system)} a year`,
];
/** "gives away 5.2 kWh a year". */
export const sensorNote = (loop: DaylightLoop, system: UnitSystem): string => `gives away ${meanOf(loop.over_lit_kwh, "kWh", system)} a year`;

/** The year with its intervals. */
export function loopWords(room: Room, { rule, loop }: Governed, system: UnitSystem): string {
  if (loop === null) return "What the photosensor makes of the year is told once the room has been studied.";
  const device = room.devices.find((d) => d.id === rule.photosensor);
  const task = room.task_areas.find((t) => t.id === rule.task_area);
  const who = device === undefined ? "The loop" : device.tag || device.id;
  const saves = `saves ${figureOf(loop.realised_share, "fraction", system)} of what an ideal loop would${loop.realised_share.mean > 1 ? ", because it dims too far" : ""}`;
  return `${who} a year: ${task?.name || rule.task_area} under-lit ${figureOf(loop.under_lit_hours, "h", system)}, over-lit ${figureOf(loop.over_lit_hours, "h", system)} of ${meanOf(loop.hours, "h", system)}; gives away ${figureOf(loop.over_lit_kwh, "kWh", system)}, ${saves}.`;
}

/** What the words of the year count. */
export const LOOP_TERMS = `Hours with somebody there, light asked for and the sun up. Under-lit: below 90${UNIT_SPACE}% of what is promised; over-lit: at least a tenth more than an ideal loop leaves, which gives just what is promised.`;

/** Height of a line of what stands on the plan, px; of the sensor's mark with what stands under and over it. */
const LINE_PX = 14;
const MARK_PX = 50;

/** The task in bold, joined to its photosensor, with the year's figures at each. `isSensorMarked`: the map of places does. */
export const GovernedTask = pure(({ governed, room, view, system, isSensorMarked }: { governed: Governed; room: Room; view: View; system: UnitSystem; isSensorMarked: boolean }) => {
  const { rule, loop } = governed;
  const device = room.devices.find((d) => d.id === rule.photosensor);
  const plan = room.task_areas.find((t) => t.id === rule.task_area)?.plan ?? [];
  const task = plan.length < 3 ? null : screenFromPlan(view, centreOf(boundsOf(plan)));
  const sensor = device === undefined ? null : screenFromPlan(view, [device.at[0], device.at[1]]);
  // Where the sensor hangs over the middle of its task, the task's figures stand above both.
  const isClose = task !== null && sensor !== null && Math.hypot(task.x_px - sensor.x_px, task.y_px - sensor.y_px) < MARK_PX;
  return (
    <g class="governed" aria-hidden="true">
      {task !== null && <path d={pathOf(view, plan, true)} />}
      {task !== null && sensor !== null && <path class="joined" d={`M${sensor.x_px} ${sensor.y_px}L${task.x_px} ${task.y_px}`} />}
      {sensor !== null && !isSensorMarked && <circle cx={sensor.x_px} cy={sensor.y_px} r="13" />}
      {sensor !== null && loop !== null && !isSensorMarked && (
        <text x={sensor.x_px} y={sensor.y_px + 27} text-anchor="middle">
          {sensorNote(loop, system)}
        </text>
      )}
      {task !== null &&
        loop !== null &&
        taskNotes(loop, system).map((line, i) => (
          <text key={i} x={task.x_px} y={(isClose ? sensor.y_px - 34 : task.y_px - 3) + LINE_PX * i} text-anchor="middle">
            {line}
          </text>
        ))}
    </g>
  );
});
