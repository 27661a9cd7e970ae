// What the room promises: figures first, each with its interval, what it rests on, and what would refute it.
import { type ComponentChildren, Fragment, type RefObject } from "preact";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Room } from "../../api/contract";
import { inSentences } from "../../app/api";
import type { StudyState } from "../../app/run";
import { valueAt } from "../../app/pointer";
import type { Accuracy } from "../../app/session";
import type { Claim, Finding, SpaceStudy, Study } from "../../app/study";
import { strategyInWords } from "../../building/words";
import { differenceOf, figureOf, isNothing } from "../../units/estimate";
import { UNIT_SPACE, rounded } from "../../units/figures";
import { type UnitSystem, formatInterval, formatResult } from "../../units/system";
import { DemandResponse, HvacContact, LoadShedSignal, PluggedIn } from "./beyond_light";

/** Value that a claim points at: a number, or an object with a mean; null where there is none. */
export function claimedValue(study: Study, claim: Claim): number | null {
  const at = valueAt(study, claim.result);
  const value = typeof at === "number" ? at : valueAt(at, "/mean");
  return typeof value === "number" ? value : null;
}

/** The statement beside its figure: without the value in front and without the interval, which stand there. */
export function statementOf(claim: Claim, value: number, system: UnitSystem): string {
  const text = claim.text
    .replace(/^\{value\} /, "")
    .replace(/ ?\(\{low\} to \{high\}\)/, "")
    .replace(/\.$/, "")
    .replaceAll("{value}", formatResult(value, claim.low, claim.high, claim.unit, system))
    .replaceAll("{low}", formatResult(claim.low, claim.low, claim.high, claim.unit, system))
    .replaceAll("{high}", formatResult(claim.high, claim.low, claim.high, claim.unit, system));
  return text;
}

function refutedBy(claim: Claim, system: UnitSystem): string {
  const { test } = claim;
  if (test.measure === "") return test.remark === "" ? "no test is named" : test.remark;
  const parts = [
    `${test.measure}; expected ${formatInterval(test.expected - test.tolerance, test.expected + test.tolerance, claim.unit, system)}`,
  ];
  if (test.duration_days > 0)
    parts[0] += `, over ${rounded(test.duration_days, test.duration_days < 10 && test.duration_days % 1 !== 0 ? -1 : 0)}${UNIT_SPACE}${test.duration_days === 1 ? "day" : "days"}`;
  if (test.shortfall !== "")
    parts.push(`Chance of noticing a shortfall of ${test.shortfall}: ${rounded(100 * test.chance_of_noticing, 0)}${UNIT_SPACE}%`);
  if (test.remark !== "") parts.push(test.remark.replace(/\.$/, ""));
  return `${parts.join(". ")}.`;
}

function restsOn(study: Study, claim: Claim): string {
  return claim.assumptions
    .map((path) => study.assumptions.find((assumption) => assumption.path === path)?.value ?? "")
    .filter((value) => value !== "")
    .join("; ")
    .replaceAll("+-", "\u00B1");
}

interface RailScale {
  from: number;
  to: number;
}

export function railScale(value: number, low: number, high: number, unit: string): RailScale {
  const top = Math.max(value, high, 0);
  const bottom = Math.min(value, low, 0);
  return {
    from: bottom < 0 ? 1.25 * bottom : 0,
    to: unit === "fraction" && top <= 1 ? 1 : top > 0 ? 1.25 * top : 1,
  };
}

const RAIL_PX = 150;

function Rail({ claim, value, found, says }: { claim: Claim; value: number; found: number | null; says: string }) {
  const { from, to } = railScale(value, claim.low, claim.high, claim.unit);
  const x = (v: number) => 4 + (RAIL_PX - 8) * Math.min(1, Math.max(0, (v - from) / (to - from)));
  return (
    <svg class="rail" viewBox={`0 0 ${RAIL_PX} 14`} role="img" aria-label={says} preserveAspectRatio="xMaxYMid meet">
      <path class="track" d={`M4 7H${RAIL_PX - 4}`} />
      {from < 0 && <path class="zero" d={`M${x(0)} 3v8`} />}
      <path class="interval" d={`M${x(claim.low)} 7H${x(claim.high) + 0.01}`} />
      {found !== null && <path class="found" d={`M${x(found)} 1.5V12.5`} />}
      <circle class="point" cx={x(value)} cy={7} r={3.4} />
    </svg>
  );
}

/** How much of each claim is told at once: with its grounds, with what would refute it, or as a figure. */
export type Density = "whole" | "refuted" | "figures";

/** Height that a claim takes when told so, px. */
const WHOLE_PX = 190;
const REFUTED_PX = 86;
/** What stands above them. */
const CAPTION_PX = 28;
/** Above each folded line. */
const FOLDED_GAP_PX = 3;

export function densityFor(height_px: number, claims: number): Density {
  const each = (height_px - CAPTION_PX) / Math.max(1, claims);
  return each >= WHOLE_PX ? "whole" : each >= REFUTED_PX ? "refuted" : "figures";
}

/** Where the page is as high as the window (look/room.css); elsewhere claims take the height they need. */
const FITS = "(min-width: 1200px) and (min-height: 640px)";

/** Follows the height that the claims have beside what is folded below them. */
function useDensity(ref: RefObject<HTMLElement | null>, claims: number): Density {
  const [height, setHeight] = useState<number | null>(0);
  const measure = () => {
    const element = ref.current;
    if (element === null) return;
    let folded = 0;
    for (const summary of element.querySelectorAll<HTMLElement>(":scope > details > summary")) folded += summary.offsetHeight + FOLDED_GAP_PX;
    setHeight(matchMedia(FITS).matches ? element.clientHeight - folded : null);
  };
  // What is folded comes with the study.
  useLayoutEffect(measure);
  useLayoutEffect(() => {
    if (ref.current === null) return;
    const watch = new ResizeObserver(measure);
    watch.observe(ref.current);
    return () => watch.disconnect();
  }, []);
  return height === null ? "refuted" : densityFor(height, claims);
}

interface ClaimsProps {
  state: StudyState;
  room: Room;
  /** The revision that the page shows. */
  revision: number;
  /** Whether that revision can be studied. */
  studies: boolean;
  system: UnitSystem;
  accuracy: Accuracy;
  onAccuracy: (accuracy: Accuracy) => void;
  /** Below what is promised. */
  whatIf: ComponentChildren;
}

export function Claims({ state, room, revision, studies, system, accuracy, onAccuracy, whatIf }: ClaimsProps) {
  const { study } = state;
  const found = study?.spaces.find((s) => s.id === room.id) ?? null;
  const isOld = study !== null && state.revision !== revision;
  const ref = useRef<HTMLElement>(null);
  // The rules are told as one more claim.
  const density = useDensity(ref, (found?.claims.length ?? 0) + 1);
  return (
    <section ref={ref} class={isOld ? "claims-slot old" : "claims-slot"} aria-labelledby="claims-heading" tabIndex={0}>
      <div class="caption">
        <h2 id="claims-heading">What this room promises</h2>
        <label class="soft no-print">
          <span class="spoken">accuracy of the study </span>
          <select value={accuracy} onChange={(event) => onAccuracy(event.currentTarget.value as Accuracy)}>
            <option value="draft">draft</option>
            <option value="design">design</option>
            <option value="proof">proof</option>
          </select>
        </label>
      </div>
      {studies && <Work state={state} isOld={isOld} />}
      {study !== null && found !== null && <Promises study={study} room={room} space={found} system={system} density={density} />}
      {whatIf}
    </section>
  );
}

function Work({ state, isOld }: { state: StudyState; isOld: boolean }) {
  const { run, problem } = state;
  if (problem !== null)
    return (
      <p class="bad" role="alert">
        {inSentences(problem)}
      </p>
    );
  if (run === null && state.study !== null && !isOld) return null;
  return (
    <p class="work" role="status">
      <span>
        {isOld ? `Revision ${state.revision}; the new one: ` : ""}
        {run === null || run.stage === "" ? "studying" : run.stage}
      </span>
      <progress aria-label="study" {...(run !== null && run.total > 0 ? { value: run.done, max: run.total } : {})} />
    </p>
  );
}

function Promises({
  study,
  room,
  space,
  system,
  density,
}: {
  study: Study;
  room: Room;
  space: SpaceStudy;
  system: UnitSystem;
  density: Density;
}) {
  const zone = study.hvac_zones.find((one) => one.spaces.includes(space.id));
  const [open, setOpen] = useState<string | null>(null);
  if (!space.studied) return <p class="soft">Not studied: {space.not_studied_because}</p>;
  // What is saved and whether it passes stay in sight where the rest has to be scrolled to.
  const [first, ...others] = space.claims;
  const told = (claim: Claim) => {
    const value = claimedValue(study, claim);
    if (value === null) return null;
    return (
      <ClaimView
        key={claim.id}
        study={study}
        claim={claim}
        value={value}
        found={claim.result.endsWith("/saving/against_as_found") ? space.annual.saving.as_usually_found.mean : null}
        system={system}
        density={open === claim.id ? "whole" : density}
        onToggle={() => setOpen(open === claim.id ? null : claim.id)}
      />
    );
  };
  return (
    <>
      {first !== undefined && told(first)}
      <Verdicts findings={space.findings} density={density} />
      {others.map(told)}
      <Shares space={space} system={system} />
      <PeopleAndLight space={space} system={system} />
      <Faults space={space} system={system} />
      <PluggedIn loads={space.plug_loads} system={system} />
      {zone !== undefined && <HvacContact zone={zone} system={system} />}
      {space.load_shed && <DemandResponse shed={space.load_shed} room={room} system={system} />}
      {space.shed_signal && <LoadShedSignal signal={space.shed_signal} room={room} system={system} />}
    </>
  );
}

/** What takes how much off the energy as found, each with its interval; together they are the saving. */
function Shares({ space, system }: { space: SpaceStudy; system: UnitSystem }) {
  const shares = space.annual.shares.filter((share) => share.low !== 0 || share.high !== 0);
  if (shares.length === 0) return null;
  return (
    <details class="told">
      <summary>Where the saving comes from, kWh a year</summary>
      <dl>
        {shares.map((share) => (
          <Fragment key={share.strategy}>
            <dt>{strategyInWords(share.strategy)}</dt>
            <dd>
              {formatResult(share.kwh, share.low, share.high, "kWh", system)} ({formatInterval(share.low, share.high, "kWh", system)})
            </dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}

/** How well the light follows the people of the room through the year. */
function PeopleAndLight({ space, system }: { space: SpaceStudy; system: UnitSystem }) {
  const people = space.light_for_people;
  return (
    <details class="told">
      <summary>Light and people through the year</summary>
      <dl>
        <dt>lit for nobody, hours at full power</dt>
        <dd>{figureOf(people.lit_for_nobody_h, "h", system)}</dd>
        <dt>the same as found</dt>
        <dd>{figureOf(people.lit_for_nobody_as_found_h, "h", system)}</dd>
        <dt>times that light is taken from people who are there</dt>
        <dd>{figureOf(people.taken_from_people, "", system)}</dd>
        <dt>warnings while somebody is there</dt>
        <dd>{figureOf(people.dips_on_people, "", system)}</dd>
        {space.divided_room && (
          <>
            <dt>hours that {space.divided_room.partition} divides the room with somebody in a part</dt>
            <dd>{figureOf(space.divided_room.hours, "h", system)}</dd>
          </>
        )}
      </dl>
    </details>
  );
}

/** The saving against as found with one fault, as a fraction; the study's own without. */
export function savingWith(space: SpaceStudy, fault: string | null): number {
  const { cases, saving } = space.annual;
  const found = space.faults.find((one) => one.fault === fault);
  const as_found_kwh = cases.as_found.lighting_kwh + cases.as_found.standby_kwh;
  return found === undefined || as_found_kwh <= 0 ? saving.against_as_found.mean : saving.against_as_found.mean - found.kwh.mean / as_found_kwh;
}

/** The faults of the installed controls, switched on one at a time: what each costs; what to test first at hand-over. */
function Faults({ space, system }: { space: SpaceStudy; system: UnitSystem }) {
  const [on, setOn] = useState<string | null>(null);
  if (space.faults.length === 0) return null;
  const designed = space.annual.saving.against_as_found;
  const { low, high } = designed;
  /** In words that follow "it". */
  const left = (of: number) => `${of < 0 ? "uses" : "saves"} ${formatResult(Math.abs(of), low, high, "fraction", system)}${of < 0 ? " more than was found" : " of what was found"}`;
  const MORE = ["more", "less"] as const;
  const OFTEN = ["times more often", "times less often"] as const;
  return (
    <details class="told">
      <summary>What faults would cost, {space.faults.length} of them</summary>
      <p>
        Energy a year against the design as it stands, which saves {figureOf(designed, "fraction", system)} of what was found. Switch a fault on to see what it leaves.
      </p>
      <dl>
        {space.faults.map((fault) => (
          <Fragment key={fault.fault}>
            <dt>
              <button type="button" class="word" aria-pressed={on === fault.fault} onClick={() => setOn(on === fault.fault ? null : fault.fault)}>
                {fault.name}
              </button>
            </dt>
            <dd>
              {isNothing(fault.kwh) ? "costs nothing" : differenceOf(fault.kwh, "kWh", MORE, system)}
              {Math.abs(fault.under_lit_hours.mean) >= 1 && `; under-lit ${differenceOf(fault.under_lit_hours, "h", MORE, system)}`}
              {Math.abs(fault.taken_from_people.mean) >= 1 && `; takes light from people ${differenceOf(fault.taken_from_people, "", OFTEN, system)}`}
              <b class="left" role="status">
                {on === fault.fault && `With this fault the room ${left(savingWith(space, on))}.`}
              </b>
            </dd>
          </Fragment>
        ))}
      </dl>
    </details>
  );
}

function ClaimView({
  study,
  claim,
  value,
  found,
  system,
  density,
  onToggle,
}: {
  study: Study;
  claim: Claim;
  value: number;
  found: number | null;
  system: UnitSystem;
  density: Density;
  onToggle: () => void;
}) {
  const figure = formatResult(value, claim.low, claim.high, claim.unit, system);
  const interval = formatInterval(claim.low, claim.high, claim.unit, system);
  const usually =
    found === null ? "" : formatResult(found, claim.low, claim.high, claim.unit, system);
  const rests = restsOn(study, claim);
  const statement = statementOf(claim, value, system);
  const refuted = refutedBy(claim, system);
  return (
    <article class={`claim ${density}`}>
      <button type="button" class="figure" aria-expanded={density === "whole"} onClick={onToggle}>
        <b>{figure}</b>
        <i>{interval}</i>
        <Rail
          claim={claim}
          value={value}
          found={found}
          says={`${figure}, interval ${interval}${usually === "" ? "" : `, as usually found ${usually}`}`}
        />
      </button>
      <p class="statement" title={statement}>
        {statement}
      </p>
      {density === "whole" && (
        <>
          {usually !== "" && <p>The tick is what this design saves as such rooms are usually found: {usually}.</p>}
          {rests !== "" && <p>Rests on {rests}.</p>}
        </>
      )}
      {(density === "whole" || density === "refuted") && (
        <p class="refute" title={refuted}>
          refuted by: {refuted}
        </p>
      )}
    </article>
  );
}

const HOW_KNOWN: Record<Finding["confirmed"], string> = {
  confirmed: "",
  from_memory: "figure from memory",
  low: "figure hardly known",
};

function Verdicts({ findings, density }: { findings: readonly Finding[]; density: Density }) {
  const bound = findings.filter((finding) => finding.verdict !== "does_not_apply");
  const open = bound.filter((finding) => finding.verdict !== "pass");
  const passed = bound.length - open.length;
  const unsure = bound.filter((finding) => finding.confirmed !== "confirmed").length;
  const [all, setAll] = useState(false);
  if (bound.length === 0) return null;
  const listed = all ? bound : open;
  return (
    <article class={`claim verdicts ${density}`}>
      <button type="button" class="figure" aria-expanded={all} onClick={() => setAll(!all)}>
        <b>
          {passed} / {bound.length}
        </b>
        <span class="squares" role="img" aria-label={`${passed} rules met, ${open.length} not met or without evidence`}>
          {bound.map((finding) => (
            <i key={`${finding.rule} ${finding.section}`} class={finding.verdict} />
          ))}
        </span>
      </button>
      <p class="statement">
        rules that apply are met{unsure > 0 ? `, ${unsure} on unconfirmed figures` : ""}; a design aid, not an approval
      </p>
      {listed.length > 0 && (
        <ul>
          {listed.map((finding) => (
            <li key={`${finding.rule} ${finding.section}`}>
              <b class={finding.verdict === "fail" ? "bad" : ""}>{finding.title}</b>{" "}
              {[finding.code, finding.edition, finding.section].filter((s) => s !== "").join(" ")}:{" "}
              {finding.verdict === "needs_evidence" ? "needs evidence. " : ""}
              {finding.evidence} {finding.fix}
              {HOW_KNOWN[finding.confirmed] !== "" && ` (${HOW_KNOWN[finding.confirmed]})`}
            </li>
          ))}
        </ul>
      )}
    </article>
  );
}
