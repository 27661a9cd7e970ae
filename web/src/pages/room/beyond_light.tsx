// What the sequence does beyond the lamps, through the year: plugs, what HVAC is told, events of demand response, and signals that shed load.
import { Fragment } from "preact";
import type { Room } from "../../api/contract";
import type { HvacZone, LoadShed, PlugLoads, ShedSignal } from "../../app/study";
import { figureOf, isNothing } from "../../units/estimate";
import { percent } from "../../units/figures";
import { type UnitSystem, formatIlluminance, formatValue } from "../../units/system";

export function PluggedIn({ loads, system }: { loads: PlugLoads; system: UnitSystem }) {
  if (loads.devices.length === 0) return null;
  const kwh = (e: PlugLoads["found_kwh"]) => figureOf(e, "kWh", system);
  return (
    <details class="told">
      <summary>Plugged in, apart from the light: {isNothing(loads.saved_kwh) ? "nothing is saved" : `${kwh(loads.saved_kwh)} less a year`}</summary>
      <dl>
        {loads.devices.map((device, i) => (
          <Fragment key={i}>
            <dt>
              {device.kind}, {device.count}
              {device.must_stay_on !== "" && `; stays on: ${device.must_stay_on}`}
            </dt>
            <dd>
              {isNothing(device.saved_kwh)
                ? `${kwh(device.found_kwh)} a year, as found: ${device.switched_by === "nothing" ? "nothing switches it" : `the ${device.switched_by} saves nothing`}`
                : `${kwh(device.proposed_kwh)} a year; as found ${kwh(device.found_kwh)}; switched by the ${device.switched_by}`}
              {device.cut_with_people_h.mean >= 1 && `; without power with somebody at it ${figureOf(device.cut_with_people_h, "h", system)} a year`}
            </dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}

const namesOfTasks = (room: Room) => (id: string) => room.task_areas.find((task) => task.id === id)?.name || id;

/** What the contact of the room's zone tells. A study of one room knows of no other, so that a zone of several is left to the building's. */
export function HvacContact({ zone, system }: { zone: HvacZone; system: UnitSystem }) {
  const called = zone.name || zone.id;
  if (zone.spaces.length > 1)
    return (
      <p class="told soft">
        The HVAC zone “{called}” is told by its {zone.spaces.length} rooms together: its hours stand in the report of the building.
      </p>
    );
  return (
    <details class="told">
      <summary>HVAC: {figureOf(zone.set_back_h, "h", system)} to set back</summary>
      <p class="soft">Hours a year that {called} is told of; nothing is claimed about HVAC energy.</p>
      <dl>
        <dt>the zone runs by its schedule</dt>
        <dd>{formatValue(zone.scheduled_h, "h", system)}</dd>
        <dt>the contact says occupied</dt>
        <dd>{figureOf(zone.occupied_h, "h", system)}</dd>
        <dt>scheduled, and said to be empty: can be set back</dt>
        <dd>
          {figureOf(zone.set_back_h, "h", system)}
          {!zone.standby_allowed && "; the document does not allow its standby"}
        </dd>
        <dt>said to be occupied outside the schedule</dt>
        <dd>{figureOf(zone.out_of_hours_h, "h", system)}</dd>
      </dl>
    </details>
  );
}

export function DemandResponse({ shed, room, system }: { shed: LoadShed; room: Room; system: UnitSystem }) {
  const nameOf = namesOfTasks(room);
  return (
    <details class="told">
      <summary>Demand response takes {figureOf(shed.shed_w, "W", system)} off</summary>
      <p class="soft">In the mean over its events, with the light held to {percent(shed.cap)} of trimmed output; light as it is while somebody is there.</p>
      <dl>
        <dt>drawn without the event</dt>
        <dd>{figureOf(shed.before_w, "W", system)}</dd>
        <dt>taken off at the event that takes off least</dt>
        <dd>{figureOf(shed.least_shed_w, "W", system)}</dd>
        {shed.tasks.map((task) => (
          <Fragment key={task.task_area}>
            <dt>
              left on {nameOf(task.task_area)}, target {formatIlluminance(task.target_lx, system)}
            </dt>
            <dd>
              {figureOf(task.left_lx, "lx", system)}; at the darkest event {figureOf(task.least_lx, "lx", system)}
            </dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}

export function LoadShedSignal({ signal, room, system }: { signal: ShedSignal; room: Room; system: UnitSystem }) {
  const nameOf = namesOfTasks(room);
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
              {formatIlluminance(way.min_lx, system)}, {way.holds ? "enough" : "too little"}: {formatIlluminance(way.limit_lx, system)} asked
            </dd>
          </Fragment>
        ))}
        {signal.tasks.map((task) => (
          <Fragment key={task.task_area}>
            <dt>
              light left on {nameOf(task.task_area)}, target {formatIlluminance(task.target_lx, system)}
            </dt>
            <dd>{formatIlluminance(task.left_lx, system)}</dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}
