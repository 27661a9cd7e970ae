// The building's line in figures: its known points beside the chosen one, its steps, and what each room gets.
import type { Building, BuildingLine, PointOfLine } from "../api/contract";
import { Link, hrefOf } from "../app/router";
import { figureOf } from "../units/estimate";
import type { UnitSystem } from "../units/system";
import { AS_IT_STANDS, addedCost, nameOf, pickAt, roomsInWords, savedWords, stepWords, stepsWords } from "./line";
import { costWords, hoursWords, perKwh } from "./words";

interface LineProps {
  line: BuildingLine;
  currency: string;
  system: UnitSystem;
  /** How many steps are taken. */
  chosen: number;
  onChoose: (steps: number) => void;
}
interface RoomProps {
  project: string;
  building: Pick<Building, "rooms"> | null;
}

/** Cost, energy and saving of the chosen point beside those that have a name. */
export function Points({ line, currency, system, chosen, onChoose }: LineProps) {
  const columns: { name: string; steps: number | null; point: PointOfLine }[] = line.points.map(({ name, steps }) => ({ name, steps, point: line.sums[steps]! }));
  if (line.stands !== null) columns.unshift({ name: AS_IT_STANDS, steps: null, point: line.stands });
  const here = line.sums[chosen]!;
  const row = (words: string, of: (point: PointOfLine) => string) => (
    <tr>
      <th scope="row">{words}</th>
      <td class="here">{of(here)}</td>
      {columns.map(({ name, point }) => (
        <td key={name}>{of(point)}</td>
      ))}
    </tr>
  );
  return (
    <table class="points" aria-label="Chosen designs beside others">
      <thead>
        <tr>
          <td />
          <th scope="col">
            chosen <span class="soft">{stepsWords(line, chosen)}</span>
          </th>
          {columns.map(({ name, steps }) => (
            <th key={name} scope="col">
              {steps === null ? (
                name
              ) : (
                <button type="button" class="word" aria-pressed={steps === chosen} onClick={() => onChoose(steps)}>
                  {name}
                </button>
              )}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {row("first cost", (point) => costWords(point.cost, currency))}
        {[here, ...columns.map(({ point }) => point)].some(({ unpriced }) => unpriced.length > 0) && row("pieces without a price", ({ unpriced }) => (unpriced.length === 0 ? "none" : `${unpriced.length}, not in the cost`))}
        {row("over least cost", (point) => addedCost(point.cost_over_least, currency))}
        {row("energy a year", (point) => figureOf(point.kwh, "kWh", system))}
        {row("less than at least cost", (point) => savedWords(point.saved_over_least_kwh, system))}
        {row("saving against as found", (point) => figureOf(point.saving_against_as_found, "fraction", system))}
        {row("to set up", (point) => hoursWords(point.set_up_h))}
      </tbody>
    </table>
  );
}

/** The steps in the order of what a kWh costs. */
export function Steps({ line, currency, system, chosen, onChoose, project, building }: LineProps & RoomProps) {
  const number = (steps: number, words: string) => (
    <button type="button" class="word" aria-pressed={steps === chosen} aria-label={words} onClick={() => onChoose(steps)}>
      {steps}
    </button>
  );
  const known = (steps: number) => {
    const pick = pickAt(line, steps);
    return pick === null ? null : <span class="picked">{pick}</span>;
  };
  return (
    <div class="steps" tabIndex={0} role="region" aria-label="Steps of the line">
      <table class="rows">
        <thead>
          <tr>
            <th scope="col">step</th>
            <th scope="col">room</th>
            <th scope="col">what changes</th>
            <th scope="col" class="n">
              first cost
            </th>
            <th scope="col" class="n">
              kWh a year less
            </th>
            <th scope="col" class="n">
              a kWh a year costs
            </th>
            <th scope="col" class="n">
              over least cost until here
            </th>
            <th scope="col">taken</th>
          </tr>
        </thead>
        <tbody>
          <tr class={chosen === 0 ? "here" : ""}>
            <td>{number(0, "0 steps: least cost")}</td>
            <td>every room</td>
            <td>the design that costs least {known(0)}</td>
            <td class="n">–</td>
            <td class="n">–</td>
            <td class="n">–</td>
            <td class="n">–</td>
            <td>taken</td>
          </tr>
          {line.steps.map((step, i) => {
            const { spaces } = line.rooms[step.room]!;
            const steps = i + 1;
            return (
              <tr key={steps} class={`${steps === chosen ? "here" : ""}${steps > chosen ? " ahead" : ""}`}>
                <td>{number(steps, `${steps} ${steps === 1 ? "step" : "steps"}, until ${stepWords(line, i, building)}`)}</td>
                <td class="name">
                  <Link to={hrefOf({ page: "proposals", project, space: spaces[0]! })}>{roomsInWords(spaces, building)}</Link>
                </td>
                <td>
                  {nameOf(line, step.room, step.to)} <span class="soft">in place of {nameOf(line, step.room, step.from)}</span> {known(steps)}
                </td>
                <td class="n">{addedCost(step.cost, currency)}</td>
                <td class="n">{figureOf(step.saved_kwh, "kWh", system)}</td>
                <td class="n">{perKwh(step.cost_per_kwh, currency)}</td>
                <td class="n">{addedCost(line.sums[steps]!.cost_over_least, currency)}</td>
                <td>{steps <= chosen ? "taken" : "not taken"}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}

/** The design of each room at the chosen point. */
export function RoomDesigns({ line, currency, system, chosen, project, building }: Omit<LineProps, "onChoose"> & RoomProps) {
  return (
    <table class="rows">
      <thead>
        <tr>
          <th scope="col">room</th>
          <th scope="col">design</th>
          <th scope="col" class="n">
            first cost of one
          </th>
          <th scope="col" class="n">
            energy a year of one
          </th>
        </tr>
      </thead>
      <tbody>
        {line.rooms.map((room, r) => {
          const index = line.sums[chosen]!.designs[r]!;
          const design = room.designs.find((one) => one.design === index)!;
          return (
            <tr key={room.spaces[0]}>
              <td class="name">
                <Link to={hrefOf({ page: "proposals", project, space: room.spaces[0]! })}>{roomsInWords(room.spaces, building)}</Link>
              </td>
              <td>
                {design.name} {index === room.own && <span class="picked">stands in the document</span>}
              </td>
              <td class="n">{costWords(design.cost, currency)}</td>
              <td class="n">{figureOf(design.kwh, "kWh", system)}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
