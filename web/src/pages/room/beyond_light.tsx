// What the sequence does beyond the lamps, through the year: plugs, and events of demand response.
import { Fragment } from "preact";
import type { LoadShed, PlugLoads } from "../../app/study";
import { figureOf } from "../../units/estimate";
import { type UnitSystem, formatResult } from "../../units/system";

export function PluggedIn({ loads, system }: { loads: PlugLoads; system: UnitSystem }) {
  if (loads.devices.length === 0) return null;
  return (
    <details class="told">
      <summary>Plugged in: {figureOf(loads.saved_kwh, "kWh", system)} less a year, apart from the light</summary>
      <dl>
        {loads.devices.map((device, i) => (
          <Fragment key={i}>
            <dt>
              {device.count} {device.kind}
              {device.must_stay_on !== "" && `, ${device.must_stay_on}`}
            </dt>
            <dd>
              {figureOf(device.proposed_kwh, "kWh", system)} of {formatResult(device.found_kwh.mean, device.found_kwh.low, device.found_kwh.high, "kWh", system)} a year as found; its power is taken by{" "}
              {device.switched_by}
              {device.cut_with_people_h.mean >= 1 && `; without power with somebody at it ${figureOf(device.cut_with_people_h, "h", system)} a year`}
            </dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}

export function DemandResponse({ shed, system }: { shed: LoadShed; system: UnitSystem }) {
  return (
    <details class="told">
      <summary>Demand response takes {figureOf(shed.shed_w, "W", system)} off</summary>
      <dl>
        <dt>drawn without the event</dt>
        <dd>{figureOf(shed.before_w, "W", system)}</dd>
        <dt>taken off at the event that takes off least</dt>
        <dd>{figureOf(shed.least_shed_w, "W", system)}</dd>
        {shed.tasks.map((task) => (
          <Fragment key={task.task_area}>
            <dt>light left on {task.task_area}</dt>
            <dd>
              {figureOf(task.left_lx, "lx", system)}; at the darkest event {figureOf(task.least_lx, "lx", system)}
            </dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}
