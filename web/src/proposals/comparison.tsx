// Designs side by side: what each looks like on the plan, what it costs and saves, why it is so and what it gives up.
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import type { ControlPart, DrawnDesign, ProposedReceptacles, Proposals, Room } from "../api/contract";
import { figureOf, isNothing } from "../units/estimate";
import type { UnitSystem } from "../units/system";
import { DesignPlan, roomWith } from "./design_plan";
import { costWords, hoursWords, letterOfDesign, partWords, picksOf, quantityLines } from "./words";

interface ComparisonProps {
  proposals: Proposals;
  shown: readonly DrawnDesign[];
  room: Room;
  system: UnitSystem;
  /** The design that is pointed at, or null. */
  reading: number | null;
  /** The design that somebody asked to see, a new object each time; null: none yet. */
  wanted: { design: number } | null;
  onRead: (design: number | null) => void;
  /** Takes a design, or one of its parts; null: nothing can be taken now. */
  onTake: ((design: DrawnDesign, parts: ControlPart[] | null) => void) | null;
}

export function Comparison({ proposals, shown, room, system, reading, wanted, onRead, onTake }: ComparisonProps) {
  const region = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (wanted === null) return;
    region.current?.querySelector(`th[data-design="${wanted.design}"]`)?.scrollIntoView({ block: "nearest", inline: "center" });
  }, [wanted]);
  const { as_found_kwh, new_luminaires_only, currency, own } = proposals;
  const row = (words: string, found: ComponentChildren, bare: ComponentChildren, of: (drawn: DrawnDesign) => ComponentChildren, kind = "") => (
    <tr class={kind}>
      <th scope="row">{words}</th>
      <td>{found}</td>
      <td>{bare}</td>
      {shown.map((drawn) => (
        <td key={drawn.design} class={drawn.design === reading ? "reading" : ""} onPointerEnter={() => onRead(drawn.design)} onPointerLeave={() => onRead(null)}>
          {of(drawn)}
        </td>
      ))}
    </tr>
  );
  const design = (drawn: DrawnDesign) => proposals.designs[drawn.design]!;
  const nothing = <span class="soft">–</span>;
  const outletsOf = (outlets: ProposedReceptacles | null) =>
    outlets === null ? (
      nothing
    ) : (
      <>
        {figureOf(outlets.saved_kwh, "kWh", system)} a year less, {costWords(outlets.cost.total, currency)}
        {list([...quantityLines(outlets.cost), ...outlets.why])}
      </>
    );
  const list = (items: readonly string[]) => (items.length === 0 ? nothing : <ul>{items.map((item) => <li key={item}>{item}</li>)}</ul>);
  return (
    <div class="comparison" ref={region} tabIndex={0} role="region" aria-label="Designs side by side">
      <table style={{ "--designs": String(shown.length) }}>
        <thead>
          <tr>
            <td />
            <th scope="col">as found</th>
            <th scope="col">new luminaires only</th>
            {shown.map((drawn) => {
              const letter = letterOfDesign(proposals, drawn.design);
              return (
                <th key={drawn.design} scope="col" data-design={drawn.design} class={drawn.design === reading ? "reading" : ""}>
                  {letter !== "" && <b class="front-letter">{letter}</b>} {design(drawn).name}
                  {picksOf(proposals, drawn.design).map((pick) => (
                    <span key={pick} class="picked">
                      {pick}
                    </span>
                  ))}
                  {letter === "" && <span class="picked">not on the front</span>}
                </th>
              );
            })}
          </tr>
        </thead>
        <tbody>
          {row("on the plan", nothing, nothing, (drawn) => <DesignPlan room={roomWith(room, drawn)} label={design(drawn).name} />, "plans")}
          {row(
            "take it",
            nothing,
            nothing,
            (drawn) =>
              drawn.design === own && drawn.edits.length === 0 ? (
                <span class="soft">stands in the document</span>
              ) : (
                <Take drawn={drawn} name={design(drawn).name} free={proposals.free} onTake={onTake} />
              ),
            "takes",
          )}
          {row("first cost", "nothing", costWords(new_luminaires_only.cost.total, currency), (drawn) => costWords(design(drawn).cost.total, currency), "figures")}
          {row(
            "energy a year",
            figureOf(as_found_kwh, "kWh", system),
            figureOf(new_luminaires_only.kwh, "kWh", system),
            (drawn) => figureOf(design(drawn).kwh, "kWh", system),
            "figures",
          )}
          {row(
            "saving against as found",
            nothing,
            figureOf(new_luminaires_only.saving_against_as_found, "fraction", system),
            (drawn) => figureOf(design(drawn).saving_against_as_found, "fraction", system),
            "figures",
          )}
          {row(
            "too dark by daylight, a year",
            nothing,
            nothing,
            (drawn) => (drawn.devices.some((d) => d.kind === "photosensor") ? figureOf(design(drawn).under_lit_h, "h", system) : nothing),
            "figures",
          )}
          {row(
            "light taken from people, a year",
            nothing,
            nothing,
            (drawn) => (isNothing(design(drawn).taken_from_people) && design(drawn).taken_from_people.mean < 0.05 ? "never" : `${figureOf(design(drawn).taken_from_people, "", system)} times`),
            "figures",
          )}
          {row("to set up", "none", hoursWords(new_luminaires_only.cost.set_up_h), (drawn) => hoursWords(design(drawn).cost.set_up_h), "figures")}
          {row("to buy", "nothing", list(quantityLines(new_luminaires_only.cost)), (drawn) => list(quantityLines(design(drawn).cost)), "lists")}
          {row("why", nothing, nothing, (drawn) => (drawn.design === own ? "As the document has it." : list(design(drawn).why)), "lists")}
          {shown.some((drawn) => design(drawn).receptacles !== null) && row("what is plugged in", nothing, nothing, (drawn) => outletsOf(design(drawn).receptacles), "lists")}
          {row("gives up", nothing, nothing, (drawn) => list(design(drawn).gives_up.map((words) => `against ${words}`)), "lists")}
        </tbody>
      </table>
    </div>
  );
}

function Take({ drawn, name, free, onTake }: { drawn: DrawnDesign; name: string; free: readonly ControlPart[]; onTake: ComparisonProps["onTake"] }) {
  return (
    <>
      <button type="button" class="action" disabled={onTake === null} aria-label={`take this design: ${name}`} onClick={() => onTake?.(drawn, null)}>
        take this design
      </button>
      {free.length > 1 && (
        <details>
          <summary>or one part of it</summary>
          <ul class="parts">
            {free.map((part) => (
              <li key={part}>
                <button type="button" class="word" disabled={onTake === null} aria-label={`take only its ${partWords(part)}: ${name}`} onClick={() => onTake?.(drawn, [part])}>
                  only its {partWords(part)}
                </button>
              </li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}
