// What the sequence does beyond the lamps, through the year: plugs, events of demand response, and signals that shed load.
import { Fragment } from "preact";
import type { LoadShed, PlugLoads, ShedSignal } from "../../app/study";
import { figureOf } from "../../units/estimate";
import { type UnitSystem, formatResult, formatValue } from "../../units/system";

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

export function LoadShedSignal({ signal, system }: { signal: ShedSignal; system: UnitSystem }) {
  const figure = (value: number, unit: string) => formatValue(value, unit, system);
  return (
    <details class="told">
      <summary>
        Load shed by {signal.interface} takes {figure(signal.shed_w, "W")} off at once
      </summary>
      <dl>
        <dt>drawn in the normal scene before</dt>
        <dd>{figure(signal.before_w, "W")}</dd>
        {signal.ways.map((way) => (
          <Fragment key={way.path}>
            <dt>least light left on path {way.path}</dt>
            <dd>
              {figure(way.min_lx, "lx")}, {way.holds ? "enough" : "too little"}: {figure(way.limit_lx, "lx")} asked
            </dd>
          </Fragment>
        ))}
        {signal.tasks.map((task) => (
          <Fragment key={task.task_area}>
            <dt>light left on {task.task_area}</dt>
            <dd>{figure(task.left_lx, "lx")}</dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}
