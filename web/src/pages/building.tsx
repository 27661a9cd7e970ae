// The building: what it uses and saves, rooms as rows, typicals, and what is missing before it can be issued.
import { useState } from "preact/hooks";
import type { Building } from "../api/contract";
import { inSentences } from "../app/api";
import { useCell } from "../app/cell";
import type { Json } from "../app/pointer";
import type { ProjectStore } from "../app/project";
import { useResource } from "../app/resource";
import { Link, hrefOf, navigate } from "../app/router";
import { type FollowedStudy, useStudy } from "../app/run";
import { api, useSchema } from "../app/service";
import { type Accuracy, accuracy as accuracyCell, units } from "../app/session";
import { useBuilding, useShown } from "../app/shown";
import { BatchBar } from "../building/batch_bar";
import { IssueDialog } from "../building/issue_dialog";
import { IssueList } from "../building/issue_list";
import { obstacles, openIssues } from "../building/issues";
import { RoomTable } from "../building/room_table";
import { rowsOf } from "../building/rows";
import { Totals } from "../building/totals";
import { overridesOf } from "../building/typicals";
import { Typicals, fieldInWords } from "../building/typicals_panel";
import { roomOfPlace } from "../building/words";
import type { Editing } from "../sentence/context";
import { inWords } from "../sentence/schema";
import { Shell } from "./shell";
import "../building/building.css";
import { StartLinks } from "../start/links";

export function BuildingPage({ project: id, revision }: { project: string; revision: number | null }) {
  const showing = useShown(id, revision);
  const { project, state, older } = showing;
  const { value, problem } = useBuilding(id, showing);
  return (
    <Shell
      title={state.name}
      project={project}
      older={older}
      diagnostics={value?.answer.diagnostics ?? null}
      waits="The study waits until it is put right."
      crumbs={[{ words: state.name || id }]}
    >
      <main id="main" class="page wide" aria-busy={value === null}>
        <h1>{state.name || id}</h1>
        {problem !== null && (
          <p role="alert" class="bad">
            {inSentences(problem)}
          </p>
        )}
        {value !== null && <View project={project} building={value.answer} document={value.document} older={older} />}
      </main>
    </Shell>
  );
}

/** What rooms say themselves although they follow a typical, by room: "delay", "occupancy people". */
function ownWords(document: Json, building: Building): Map<string, string[]> {
  const words = new Map<string, string[]>();
  for (const typical of building.typicals)
    for (const override of overridesOf(document, typical.id)) {
      const field = fieldInWords(document, override.at);
      const list = words.get(override.heir.id) ?? [];
      if (!list.includes(field)) words.set(override.heir.id, [...list, field]);
    }
  return words;
}

function View({
  project,
  building,
  document,
  older,
}: {
  project: ProjectStore;
  building: Building;
  document: Json;
  older: number | null;
}) {
  const system = useCell(units);
  const accuracy = useCell(accuracyCell);
  const schema = useSchema();
  const [selected, setSelected] = useState<ReadonlySet<string>>(new Set());
  const [typical, setTypical] = useState<string | null>(null);
  const [issuing, setIssuing] = useState(false);
  const { revision } = building;
  const hasErrors = building.diagnostics.some((diagnostic) => diagnostic.severity === "error");
  const study = useStudy(api, building.project, [], hasErrors || building.rooms.length === 0 ? null : revision, accuracy);
  const drawings = useResource(building.project, study.made_by, (signal) => api.drawings(study.made_by ?? "", { signal }));
  const isOld = study.study !== null && study.revision !== revision;
  // A study of another revision says nothing of what is missing in this one.
  const current = isOld ? null : study.study;
  const chosen = building.rooms.map((room) => room.id).filter((room) => selected.has(room));
  const editing: Editing = {
    document,
    schema,
    system,
    readOnly: older !== null,
    diagnostics: building.diagnostics,
    kinds: building.kinds.map((kind) => ({ value: kind.id, name: kind.name || inWords(kind.id) })),
    subject: "",
    revision,
    commit: (label, edits) =>
      older === null ? project.commit(label, edits, revision) : Promise.resolve({ kind: "unchanged" as const }),
    preview: () => {},
  };
  const issues = openIssues(building, current, (where) => roomOfPlace(document, where));
  const open = issues.filter((issue) => issue.severity !== "warning").length;
  const stops = issues.some((issue) => issue.severity !== "warning" && issue.severity !== "needs evidence");
  return (
    <>
      <p class="actions page-actions">
        <a href="#missing" class={open === 0 ? "good" : stops ? "bad" : ""}>
          {open > 0
            ? `${open} ${open === 1 ? "thing" : "things"} to settle before issue`
            : current === null
              ? "nothing missing in the document"
              : "nothing missing before issue"}
        </a>
        <Link to={hrefOf({ page: "assumptions", project: building.project, revision: older })}>assumptions</Link>
        <Link to={hrefOf({ page: "compare", project: building.project })}>compare</Link>
        {older === null && building.rooms.length > 0 && (
          <Link to={hrefOf({ page: "building_proposals", project: building.project })} title="the designs of every room on one line between first cost and energy">
            proposals for the building <kbd>p</kbd>
          </Link>
        )}
        <Link to={hrefOf({ page: "revisions", project: building.project })}>revisions</Link>
        {current !== null && study.made_by !== null && (
          <>
            <a href={`/api/runs/${encodeURIComponent(study.made_by)}/report`} target="_blank" rel="noopener">
              report of revision {revision}
            </a>
            <button type="button" class="action quiet" onClick={() => setIssuing(true)}>
              issue revision {revision}
            </button>
          </>
        )}
      </p>
      <StudyLine study={study} isOld={isOld} waits={hasErrors} accuracy={accuracy} onAccuracy={(next) => accuracyCell.set(next)} />
      {study.study !== null && (
        <div class={isOld ? "old" : ""}>
          <Totals study={study.study} system={system} />
        </div>
      )}
      <section aria-labelledby="rooms-heading">
        <h2 id="rooms-heading">Rooms</h2>
        {older === null && (
          <p class="actions">
            <StartLinks project={building.project} />
          </p>
        )}
        {chosen.length > 0 && older === null && (
          <BatchBar building={building} document={document} editing={editing} selected={chosen} onDone={() => setSelected(new Set())} />
        )}
        <RoomTable
          building={building}
          rows={rowsOf(building, study.study, building.diagnostics)}
          overrides={ownWords(document, building)}
          study={study.study}
          drawings={drawings.value}
          isOld={isOld}
          older={older}
          system={system}
          selected={selected}
          onSelect={setSelected}
        />
      </section>
      <IssueList
        building={building}
        document={document}
        editing={editing}
        issues={issues}
        isStudied={current !== null}
        older={older}
        onTypical={setTypical}
      />
      <Typicals building={building} document={document} editing={editing} shown={typical} onShow={setTypical} />
      {issuing && study.made_by !== null && (
        <IssueDialog
          project={building.project}
          revision={revision}
          run={study.made_by}
          accuracy={study.study?.accuracy ?? accuracy}
          obstacles={obstacles(building, current)}
          onClose={() => setIssuing(false)}
          onIssued={() => navigate(hrefOf({ page: "revisions", project: building.project }))}
        />
      )}
    </>
  );
}

/** How the study stands, and its accuracy. */
export function StudyLine({
  study,
  isOld,
  waits,
  accuracy,
  onAccuracy,
}: {
  study: FollowedStudy;
  isOld: boolean;
  waits: boolean;
  accuracy: Accuracy;
  onAccuracy: (accuracy: Accuracy) => void;
}) {
  const { run, problem } = study;
  const works = !waits && problem === null && !study.stopped && (study.study === null || isOld);
  return (
    <p class="work study-line" role="status">
      <label class="no-print">
        <span>accuracy </span>
        <select value={accuracy} onChange={(event) => onAccuracy(event.currentTarget.value as Accuracy)}>
          <option value="draft">draft</option>
          <option value="design">design</option>
          <option value="proof">proof</option>
        </select>
      </label>
      {study.study !== null && (
        <span>
          {isOld ? `Figures of revision ${study.revision}. ` : ""}
          {study.study.replicates} building-years, {study.study.climate}
        </span>
      )}
      {problem !== null && <span class="bad">{inSentences(problem)}</span>}
      {works && (
        <>
          <span>{run === null || run.stage === "" ? "studying the building" : run.stage}</span>
          <progress aria-label="study" {...(run !== null && run.total > 0 ? { value: run.done, max: run.total } : {})} />
          {run !== null && (
            <button type="button" class="word" onClick={study.cancel}>
              cancel
            </button>
          )}
        </>
      )}
      {(study.stopped || problem !== null) && (
        <button type="button" class="word" onClick={study.again}>
          {study.stopped ? "cancelled; study it" : "try again"}
        </button>
      )}
    </p>
  );
}
