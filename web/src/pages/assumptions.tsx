// What the figures rest on, by how much each moves them, confirmed one by one.
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Building } from "../api/contract";
import { inSentences } from "../app/api";
import { useCell } from "../app/cell";
import type { Json } from "../app/pointer";
import type { CommitResult } from "../app/project";
import { Link, hrefOf } from "../app/router";
import { useStudy } from "../app/run";
import { api } from "../app/service";
import { accuracy as accuracyCell } from "../app/session";
import { useBuilding, useShown } from "../app/shown";
import type { Assumption } from "../app/study";
import {
  type Confirmation,
  type Known,
  editsToConfirm,
  editsToWithdraw,
  groupedByTypical,
  hrefOfPlace,
  knownAssumptions,
  todayInWords,
} from "../building/assumptions";
import { placeInWords } from "../building/words";
import { UNIT_SPACE, decimalPlace, rounded } from "../units/figures";
import { StudyLine } from "./building";
import { ProofParts } from "./proof";
import { Shell } from "./shell";
import "../building/building.css";

export function AssumptionsPage({ project: id, revision }: { project: string; revision: number | null }) {
  const accuracy = useCell(accuracyCell);
  const showing = useShown(id, revision);
  const { project, state, shown, older } = showing;
  const { value, problem } = useBuilding(id, showing);
  const hasErrors = value?.answer.diagnostics.some((d) => d.severity === "error") ?? false;
  const study = useStudy(api, id, [], value === null || hasErrors ? null : value.answer.revision, accuracy);
  const isOld = study.study !== null && study.revision !== shown;
  return (
    <Shell
      title={`Assumptions of ${state.name}`}
      project={project}
      older={older}
      diagnostics={value?.answer.diagnostics ?? null}
      waits="The study waits until it is put right."
      crumbs={[
        { words: state.name || id, to: hrefOf({ page: "building", project: id, revision }) },
        { words: "assumptions" },
      ]}
    >
      <main id="main" class="page wide" aria-busy={study.study === null}>
        <h1>Assumptions</h1>
        <p class="soft">
          What the figures rest on, the largest effect first: the points of saving that one standard deviation of it
          moves. Confirm what you have looked up, measured or been told.
        </p>
        {problem !== null && (
          <p role="alert" class="bad">
            {inSentences(problem)}
          </p>
        )}
        <StudyLine study={study} isOld={isOld} waits={hasErrors} accuracy={accuracy} onAccuracy={(next) => accuracyCell.set(next)} />
        {study.study !== null && value !== null && (
          <List
            building={value.answer}
            document={value.document}
            older={older}
            assumptions={study.study.assumptions}
            commit={(label, edits) => project.commit(label, edits, value.answer.revision)}
          />
        )}
        {study.study !== null && value !== null && (
          <ProofParts building={value.answer} document={value.document} assumptions={study.study.assumptions} proof={study.study.proof} />
        )}
      </main>
    </Shell>
  );
}

interface ListProps {
  building: Building;
  document: Json;
  older: number | null;
  assumptions: readonly Assumption[];
  commit: (label: string, edits: ReturnType<typeof editsToConfirm>) => Promise<CommitResult>;
}

function List(props: ListProps) {
  const { building, document, assumptions } = props;
  const [grouped, setGrouped] = useState(false);
  const [all, setAll] = useState(false);
  const [words, setWords] = useState("");
  const [open, setOpen] = useState<string | null>(null);
  const [by, setBy] = useState("");
  const known = knownAssumptions(document, assumptions);
  const wanted = words.toLowerCase().split(/\s+/).filter((word) => word !== "");
  const listed = known.filter((one) => {
    if (!all && one.effect === 0 && wanted.length === 0) return false;
    const text = `${placeInWords(document, one.path)} ${one.value} ${one.source} ${one.typical}`.toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
  const most = Math.max(0, ...assumptions.map((one) => one.effect));
  const confirmed = known.filter((one) => one.confirmation !== null).length;
  const without = known.filter((one) => one.effect === 0).length;
  const groups = grouped ? groupedByTypical(listed) : [{ typical: "", items: listed }];
  const nameOf = (typical: string) => building.typicals.find((one) => one.id === typical)?.name ?? typical;
  return (
    <>
      <div class="filters">
        <label>
          show{" "}
          <input class="field" type="search" placeholder="place, value, source" value={words} onInput={(event) => setWords(event.currentTarget.value)} />
        </label>
        <label>
          <input type="checkbox" checked={grouped} onChange={(event) => setGrouped(event.currentTarget.checked)} /> by typical
        </label>
        <label>
          <input type="checkbox" checked={all} onChange={(event) => setAll(event.currentTarget.checked)} /> also the {without} that move nothing
        </label>
        <span class="soft" role="status">
          {listed.length} of {known.length}; {confirmed} confirmed
        </span>
      </div>
      {groups.map((group) => (
        <section key={group.typical} aria-label={grouped ? (group.typical === "" ? "Of single rooms and the building" : `Of the typical ${nameOf(group.typical)}`) : "All"}>
          {grouped && <h2>{group.typical === "" ? "Of single rooms and the building" : `Of the typical ${nameOf(group.typical)}`}</h2>}
          <div class="scrolls" role="region" aria-label="Assumptions" tabIndex={0}>
            <table class="rows assumptions">
              <thead>
                <tr>
                  <th scope="col" class="n">effect</th>
                  <th scope="col">
                    <span class="spoken">as a bar</span>
                  </th>
                  <th scope="col">what</th>
                  <th scope="col">assumed</th>
                  <th scope="col">from</th>
                  <th scope="col">confirmed</th>
                </tr>
              </thead>
              <tbody>
                {group.items.map((one) => (
                  <Row
                    key={`${one.path} ${one.value}`}
                    {...props}
                    one={one}
                    most={most}
                    isOpen={open === `${one.path} ${one.value}`}
                    by={by}
                    onBy={setBy}
                    onOpen={(is) => setOpen(is ? `${one.path} ${one.value}` : null)}
                  />
                ))}
              </tbody>
            </table>
          </div>
        </section>
      ))}
    </>
  );
}

interface RowProps extends ListProps {
  one: Known;
  most: number;
  isOpen: boolean;
  by: string;
  onBy: (by: string) => void;
  onOpen: (is: boolean) => void;
}

function Row({ building, document, older, one, most, isOpen, by, onBy, onOpen, commit }: RowProps) {
  const place = placeInWords(document, one.path);
  const to = hrefOfPlace(building, document, one.path, older);
  const { confirmation } = one;
  const cell = useRef<HTMLTableCellElement>(null);
  const had = useRef(false);
  useLayoutEffect(() => {
    // The form, and then its button, give way to another: the focus goes on to that.
    if (had.current && window.document.activeElement === window.document.body) cell.current?.querySelector("button")?.focus();
    had.current = isOpen || cell.current?.contains(window.document.activeElement) === true;
  });
  return (
    <>
      <tr>
        <td class="n">{one.effect === 0 ? "0" : rounded(100 * one.effect, Math.max(-2, decimalPlace(100 * one.effect, 0, 0) + 1))}{`${UNIT_SPACE}points`}</td>
        <td class="effect">
          <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
            <rect class="level" width={most > 0 ? (100 * one.effect) / most : 0} height={8} />
          </svg>
        </td>
        <td class="name">{to === null ? place : <Link to={to}>{place}</Link>}</td>
        <td>{one.value.replaceAll("+-", "\u00B1")}</td>
        <td class="soft">{confirmation === null ? one.source.replaceAll("+-", "\u00B1") : confirmation.how}</td>
        <td class="who" ref={cell}>
          {confirmation !== null ? (
            <>
              <span class="good">
                {confirmation.by}, {confirmation.on}
              </span>{" "}
              {older === null && (
                <button
                  type="button"
                  class="word"
                  aria-label={`withdraw the confirmation of ${place}`}
                  onClick={() => void commit(`withdraw the confirmation of ${place}`, editsToWithdraw(document, one.path))}
                >
                  withdraw
                </button>
              )}
            </>
          ) : (
            older === null && (
              <button type="button" class="word" aria-expanded={isOpen} aria-label={`confirm ${place}`} onClick={() => onOpen(!isOpen)}>
                confirm
              </button>
            )
          )}
        </td>
      </tr>
      {isOpen && confirmation === null && (
        <tr class="confirms">
          <td colSpan={6}>
            <ConfirmForm
              place={place}
              path={one.path}
              by={by}
              onConfirm={async (made) => {
                const result = await commit(`confirm ${place}`, editsToConfirm(document, made));
                if (result.kind === "refused") return inSentences(result.problem);
                onBy(made.by);
                onOpen(false);
                return "";
              }}
              onLeave={() => onOpen(false)}
            />
          </td>
        </tr>
      )}
    </>
  );
}

function ConfirmForm({
  place,
  path,
  by,
  onConfirm,
  onLeave,
}: {
  place: string;
  path: string;
  by: string;
  /** Gives what went wrong, or "". */
  onConfirm: (confirmation: Confirmation) => Promise<string>;
  onLeave: () => void;
}) {
  const [who, setWho] = useState(by);
  const [on, setOn] = useState(() => todayInWords(new Date()));
  const [how, setHow] = useState("");
  const [problem, setProblem] = useState("");
  const complete = [who, on, how].every((text) => text.trim() !== "");
  return (
    <form
      class="batch"
      aria-label={`Confirm ${place}`}
      onKeyDown={(event) => {
        if (event.key === "Escape") onLeave();
      }}
      onSubmit={(event) => {
        event.preventDefault();
        if (complete) void onConfirm({ pointer: path, by: who.trim(), on: on.trim(), how: how.trim() }).then(setProblem);
      }}
    >
      <label>
        by{" "}
        <input
          class="field"
          value={who}
          required
          maxLength={200}
          ref={(input) => {
            if (input !== null && document.activeElement?.closest("form") !== input.form) input.focus();
          }}
          onInput={(event) => setWho(event.currentTarget.value)}
        />
      </label>
      <label>
        on <input class="field" value={on} required maxLength={60} onInput={(event) => setOn(event.currentTarget.value)} />
      </label>
      <label class="how">
        how it was found out{" "}
        <input class="field" value={how} required maxLength={400} onInput={(event) => setHow(event.currentTarget.value)} />
      </label>
      <button type="submit" class="action" disabled={!complete}>
        confirm
      </button>
      <button type="button" class="word" onClick={onLeave}>
        leave it
      </button>
      {problem !== "" && (
        <span role="alert" class="bad">
          {problem}
        </span>
      )}
    </form>
  );
}
