// Two revisions, or two proposals of one, side by side: of a room or of the building.
import { useState } from "preact/hooks";
import type { Building, LightRequest, Revision, Room } from "../api/contract";
import { inSentences } from "../app/api";
import { useCell } from "../app/cell";
import { useLight } from "../app/light";
import { type Json, valueAt } from "../app/pointer";
import { type Resource, useResource } from "../app/resource";
import { hrefOf } from "../app/router";
import { type FollowedStudy, useStudy } from "../app/run";
import { api, projectStore } from "../app/service";
import { type Accuracy, accuracy as accuracyCell, instant, units } from "../app/session";
import type { Study } from "../app/study";
import { type Pair, type Quantity, differenceOf, differs, pairsOf, verdictsOf } from "../building/comparison";
import { differences } from "../building/difference";
import { placeInWords, valueInWords } from "../building/words";
import { FIRST_LAYERS } from "../plan/layers";
import type { ObjectKey } from "../plan/objects";
import { Plan } from "../plan/plan";
import { SELECT } from "../plan/tools/tool_choice";
import { type UnitSystem, formatInterval, formatResult, formatValue } from "../units/system";
import { civilText } from "../year/civil";
import { StudyLine } from "./building";
import { Shell } from "./shell";
import "../building/building.css";

/** What stands on one side: a revision, and one of its proposals ("" for the first). */
interface Choice {
  revision: number;
  design: string;
}

/** "12", "12.alternative": as it stands in the address. */
const written = ({ revision, design }: Choice): string => (design === "" ? String(revision) : `${revision}.${design}`);
export function readChoice(text: string | null): Choice | null {
  const parts = /^([1-9][0-9]{0,8})(?:\.(.+))?$/.exec(text ?? "");
  return parts === null ? null : { revision: Number(parts[1]), design: parts[2] ?? "" };
}

export function ComparePage({ project: id }: { project: string }) {
  const project = projectStore(id);
  const state = useCell(project.state);
  const head = state.phase === "ready" ? state.head : null;
  const revisions = useResource(id, head === null ? null : String(head), (signal) => api.revisions(id, { signal }));
  return (
    <Shell
      title={`Compare, ${state.name}`}
      project={project}
      crumbs={[
        { words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) },
        { words: "compare" },
      ]}
    >
      <main id="main" class="page wide" aria-busy={revisions.value === null}>
        <h1>Compare</h1>
        {revisions.problem !== null && (
          <p role="alert" class="bad">
            {inSentences(revisions.problem)}
          </p>
        )}
        {revisions.value !== null && head !== null && <View project={id} head={head} revisions={revisions.value} />}
      </main>
    </Shell>
  );
}

/** First choices, from the address: the newest revision beside the one before the last change that was named or issued. */
function begin(revisions: readonly Revision[], head: number): { first: Choice; second: Choice; space: string } {
  const asked = new URLSearchParams(location.search);
  const known = (choice: Choice | null) => (choice !== null && choice.revision <= head ? choice : null);
  const marked = revisions.find((revision) => revision.number < head && (revision.name !== "" || revision.issued !== null));
  return {
    first: known(readChoice(asked.get("first"))) ?? { revision: marked?.number ?? Math.max(1, head - 1), design: "" },
    second: known(readChoice(asked.get("second"))) ?? { revision: head, design: "" },
    space: asked.get("room") ?? "",
  };
}

function View({ project, head, revisions }: { project: string; head: number; revisions: readonly Revision[] }) {
  const system = useCell(units);
  const accuracy = useCell(accuracyCell);
  const [chosen, setChosen] = useState(() => begin(revisions, head));
  const { first, second, space } = chosen;
  const choose = (change: Partial<typeof chosen>) => {
    const next = { ...chosen, ...change };
    setChosen(next);
    const search = new URLSearchParams({ first: written(next.first), second: written(next.second) });
    if (next.space !== "") search.set("room", next.space);
    history.replaceState(null, "", `${location.pathname}?${search}`);
  };
  const a = useSide(project, first, space, accuracy, "first");
  const b = useSide(project, second, space, accuracy, "second");
  const rooms = new Map([...(b.building.value?.rooms ?? []), ...(a.building.value?.rooms ?? [])].map((room) => [room.id, room] as const));
  const studies = a.study.study !== null && b.study.study !== null && a.isCurrent && b.isCurrent ? { first: a.study.study, second: b.study.study } : null;
  return (
    <>
      <div class="filters">
        <SideChoice words="first" choice={first} revisions={revisions} building={a.building.value} onChoice={(next) => choose({ first: next })} />
        <SideChoice words="second" choice={second} revisions={revisions} building={b.building.value} onChoice={(next) => choose({ second: next })} />
        <label>
          of{" "}
          <select value={space} onChange={(event) => choose({ space: event.currentTarget.value })}>
            <option value="">the building</option>
            {[...rooms.values()].map((room) => (
              <option key={room.id} value={room.id}>
                {room.number} {room.name}
              </option>
            ))}
          </select>
        </label>
        <button type="button" class="word" onClick={() => choose({ first: second, second: first })}>
          change sides
        </button>
      </div>
      {[a, b].map((side, i) => (
        <div key={i}>
          {side.problem !== null && (
            <p role="alert" class="bad">
              {i === 0 ? "First: " : "Second: "}
              {side.problem}
            </p>
          )}
          {!side.isCurrent && (
            <StudyLine study={side.study} isOld={false} waits={side.hasErrors} accuracy={accuracy} onAccuracy={(next) => accuracyCell.set(next)} />
          )}
        </div>
      ))}
      {studies !== null && (
        <p class="soft">
          Both of the same {studies.first.replicates} building-years (seed {studies.first.seed}, {studies.first.accuracy} accuracy): people, weather
          and habits are paired, so a difference is one of the designs. An interval tells how far buildings differ, not how
          well the difference is known.
        </p>
      )}
      {space !== "" && a.room.value !== null && b.room.value !== null && (
        <div class="side-by-side">
          <SidePlan project={project} choice={first} room={a.room.value} system={system} words="First" />
          <SidePlan project={project} choice={second} room={b.room.value} system={system} words="Second" />
        </div>
      )}
      {studies !== null && <Pairs pairs={pairsOf(studies.first, studies.second, space)} system={system} />}
      {studies !== null && space !== "" && <Verdicts first={studies.first} second={studies.second} space={space} />}
      {a.document.value !== null && b.document.value !== null && (
        <Documents before={a.document.value} after={b.document.value} space={space} />
      )}
    </>
  );
}

interface Side {
  building: Resource<Building>;
  document: Resource<Json>;
  room: Resource<Room>;
  study: FollowedStudy;
  /** The study is of what was chosen. */
  isCurrent: boolean;
  hasErrors: boolean;
  problem: string | null;
}

function useSide(project: string, { revision, design }: Choice, space: string, accuracy: Accuracy, name: string): Side {
  const scope = `${project} ${name}`;
  const building = useResource(scope, String(revision), (signal) => api.building(project, revision, { signal }));
  const document = useResource<Json>(scope, String(revision), async (signal) => JSON.parse(await api.document(project, revision, { signal })) as Json);
  const there = space === "" || building.value?.rooms.some((room) => room.id === space) === true;
  const known = building.value !== null && building.value.revision === revision;
  const hasErrors = known && building.value?.diagnostics.some((d) => d.severity === "error") === true;
  const room = useResource(`${scope} ${space}`, space === "" || !known || !there ? null : `${revision} ${design}`, (signal) =>
    api.room(project, space, revision, { signal }, design),
  );
  const study = useStudy(api, project, space === "" ? [] : [space], known && there && !hasErrors ? revision : null, accuracy, design);
  const problem = building.problem ?? document.problem ?? room.problem;
  return {
    building,
    document,
    room,
    study,
    isCurrent: study.study !== null && study.revision === revision && study.study.accuracy === accuracy,
    hasErrors,
    problem:
      problem !== null
        ? inSentences(problem)
        : known && !there
          ? `Revision ${revision} has no such room.`
          : hasErrors
            ? `Revision ${revision} cannot be studied: ${building.value?.diagnostics.find((d) => d.severity === "error")?.problem ?? ""}`
            : null,
  };
}

function SideChoice({
  words,
  choice,
  revisions,
  building,
  onChoice,
}: {
  words: string;
  choice: Choice;
  revisions: readonly Revision[];
  building: Building | null;
  onChoice: (choice: Choice) => void;
}) {
  const proposals = building?.designs.filter((design) => design.role === "proposal") ?? [];
  return (
    <>
      <label>
        {words}{" "}
        <select value={choice.revision} onChange={(event) => onChoice({ revision: Number(event.currentTarget.value), design: "" })}>
          {revisions.map((revision) => (
            <option key={revision.number} value={revision.number}>
              {revision.number}: {revision.name || revision.label}
              {revision.issued !== null ? " (issued)" : ""}
            </option>
          ))}
        </select>
      </label>
      {proposals.length > 1 && (
        <label>
          <span class="spoken">design of the {words} </span>
          <select value={choice.design} onChange={(event) => onChoice({ ...choice, design: event.currentTarget.value })}>
            {proposals.map((design, i) => (
              <option key={design.id} value={i === 0 ? "" : design.id}>
                {design.name}
              </option>
            ))}
          </select>
        </label>
      )}
    </>
  );
}

const NOTHING: ReadonlySet<ObjectKey> = new Set();

/** A room with its light, to be looked at. */
function SidePlan({ project, choice, room, system, words }: { project: string; choice: Choice; room: Room; system: UnitSystem; words: string }) {
  const at = useCell(instant);
  const request: LightRequest = {
    revision: room.revision,
    ...(choice.design === "" ? {} : { design: choice.design }),
    ...(at === null ? {} : { at_civil_s: at }),
  };
  const light = useLight(`compare ${words} ${project}/${room.id}`, request, (asked, signal) => api.light(project, room.id, asked, { signal }));
  return (
    <figure class="side">
      <figcaption>
        {words}: revision {room.revision}, {at === null ? "scene at trim without daylight" : civilText(at, 0).replace(/^[A-Za-z]+,? /, "")}
        {light.problem !== null && <span class="bad"> {inSentences(light.problem)}</span>}
      </figcaption>
      <div class="side-plan" inert>
        <Plan
          room={room}
          light={light.answer}
          zoneStrategy="scene"
          layers={FIRST_LAYERS}
          selection={NOTHING}
          system={system}
          tool={SELECT}
          onTool={() => {}}
          onSelect={() => {}}
          onCommit={() => {}}
          onPreview={() => {}}
          onRefuse={() => {}}
          lookUp={() => undefined}
        />
      </div>
    </figure>
  );
}

const figureOf = ({ value, low, high }: Quantity, unit: string, system: UnitSystem): string =>
  low === high ? formatValue(value, unit, system) : formatResult(value, low, high, unit, system);

/** Half an interval that leaves two digits, as a share of the value: how well a paired difference is known is not told. */
const TWO_DIGITS = 0.36;

/** "+12 kWh"; nothing where one of the two is missing. */
function differenceWords(pair: Pair, system: UnitSystem): string {
  const by = differenceOf(pair);
  if (by === null) return "";
  if (!differs(pair)) return "the same";
  const unit = pair.unit === "fraction" ? "points" : pair.unit;
  const size = Math.abs(by);
  const text = formatResult(size, (1 - TWO_DIGITS) * size, (1 + TWO_DIGITS) * size, unit, system);
  return `${by < 0 ? "\u2212" : "+"}${text}`;
}

function Pairs({ pairs, system }: { pairs: readonly Pair[]; system: UnitSystem }) {
  const [all, setAll] = useState(false);
  const differing = pairs.filter(differs).length;
  // Savings and energy are always told; of the rest what differs, until all is asked for.
  const shown = pairs.filter((pair) => all || differs(pair) || pair.group === "saving" || pair.group.startsWith("energy of light") || pair.group === "energy a year");
  const groups = [...new Set(shown.map((pair) => pair.group))];
  return (
    <section aria-labelledby="figures-heading">
      <h2 id="figures-heading">What was found</h2>
      <div class="filters">
        <label>
          <input type="checkbox" checked={all} onChange={(event) => setAll(event.currentTarget.checked)} /> also what is the same
        </label>
        <span class="soft" role="status">
          {differing === 0 ? "nothing differs" : `${differing} of ${pairs.length} differ`}
        </span>
      </div>
      <div class="scrolls" role="region" aria-label="Figures side by side" tabIndex={0}>
        <table class="rows figures pairs-table">
          <thead>
            <tr>
              <th scope="col">
                <span class="spoken">what</span>
              </th>
              <th scope="col" class="n">first</th>
              <th scope="col" class="n">second</th>
              <th scope="col" class="n">difference</th>
            </tr>
          </thead>
          {groups.map((group) => (
            <tbody key={group}>
              <tr class="group">
                <th scope="rowgroup" colSpan={4}>
                  {group}
                </th>
              </tr>
              {shown
                .filter((pair) => pair.group === group)
                .map((pair) => (
                  <tr key={pair.words} class={differs(pair) ? "differs" : ""}>
                    <th scope="row">{pair.words}</th>
                    {[pair.first, pair.second].map((quantity, i) => (
                      <td key={i} class="n">
                        {quantity === null ? (
                          <span class="soft">none</span>
                        ) : (
                          <>
                            <b>{figureOf(quantity, pair.unit, system)}</b>{" "}
                            {quantity.low !== quantity.high && (
                              <span class="soft">{formatInterval(quantity.low, quantity.high, pair.unit, system)}</span>
                            )}
                          </>
                        )}
                      </td>
                    ))}
                    <td class="n difference">{differenceWords(pair, system)}</td>
                  </tr>
                ))}
            </tbody>
          ))}
        </table>
      </div>
    </section>
  );
}

const VERDICT_WORDS = { pass: "met", fail: "failed", does_not_apply: "does not apply", needs_evidence: "needs evidence" } as const;

function Verdicts({ first, second, space }: { first: Study; second: Study; space: string }) {
  const verdicts = verdictsOf(first, second, space);
  if (verdicts.length === 0) return null;
  return (
    <section aria-labelledby="verdicts-heading">
      <h2 id="verdicts-heading">Rules</h2>
      <div class="scrolls" role="region" aria-label="Rules side by side" tabIndex={0}>
        <table class="rows">
          <thead>
            <tr>
              <th scope="col">rule</th>
              <th scope="col">first</th>
              <th scope="col">second</th>
            </tr>
          </thead>
          <tbody>
            {verdicts.map((pair) => (
              <tr key={`${pair.rule} ${pair.title}`} class={pair.differs ? "differs" : ""}>
                <th scope="row">
                  {pair.title} <span class="soft">{pair.rule}</span>
                </th>
                {[pair.first, pair.second].map((finding, i) => (
                  <td key={i} title={finding?.evidence ?? ""} class={finding?.verdict === "fail" ? "bad" : finding?.verdict === "pass" ? "good" : ""}>
                    {finding === null ? "not judged" : VERDICT_WORDS[finding.verdict]}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

const MOST_DIFFERENCES = 400;

/** What differs in the documents themselves; of a room, what concerns it. */
function Documents({ before, after, space }: { before: Json; after: Json; space: string }) {
  const all = differences(before, after);
  const concerns = (document: Json, at: string | null) => at === null || space === "" || concernsRoom(document, at, space);
  const listed = all.filter((d) => concerns(before, d.before_at) && concerns(after, d.after_at)).slice(0, MOST_DIFFERENCES);
  return (
    <section aria-labelledby="documents-heading">
      <h2 id="documents-heading">What was changed</h2>
      {listed.length === 0 ? (
        <p class="soft">{all.length === 0 ? "The documents say the same." : "Nothing that concerns this room alone."}</p>
      ) : (
        <div class="scrolls" role="region" aria-label="Differences of the documents" tabIndex={0}>
          <table class="rows">
            <thead>
              <tr>
                <th scope="col">what</th>
                <th scope="col">first</th>
                <th scope="col">second</th>
              </tr>
            </thead>
            <tbody>
              {listed.map((d) => (
                <tr key={`${d.before_at} ${d.after_at}`}>
                  <th scope="row" title={d.after_at ?? d.before_at ?? ""}>
                    {d.after_at !== null ? placeInWords(after, d.after_at) : placeInWords(before, d.before_at ?? "")}
                  </th>
                  <td class={d.before === undefined ? "soft" : ""}>{d.before === undefined ? "not there" : valueInWords(d.before)}</td>
                  <td class={d.after === undefined ? "soft" : ""}>{d.after === undefined ? "not there" : valueInWords(d.after)}</td>
                </tr>
              ))}
            </tbody>
          </table>
          {listed.length === MOST_DIFFERENCES && <p class="soft">and more</p>}
        </div>
      )}
    </section>
  );
}

/** Whether a place says something of a room: its own, its typical's, or nobody's in particular. */
function concernsRoom(document: Json, at: string, space: string): boolean {
  const within = /^\/(spaces\/\d+|designs\/\d+\/(?!typicals)[a-z_]+\/\d+)/.exec(at);
  if (within !== null) {
    const owner = valueAt(document, within[0]);
    const id = valueAt(owner, at.startsWith("/spaces/") ? "/id" : "/space");
    return id === undefined || id === space;
  }
  const typical = /^(?:\/designs\/\d+)?\/typicals\/\d+/.exec(at);
  if (typical === null) return true;
  const entry = valueAt(document, typical[0]);
  const spaces = valueAt(document, "/spaces");
  const own = Array.isArray(spaces) ? spaces.find((one) => valueAt(one, "/id") === space) : undefined;
  return valueAt(own, "/typical") === (valueAt(entry, "/typical") ?? valueAt(entry, "/id"));
}
