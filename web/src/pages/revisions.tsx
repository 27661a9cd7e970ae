// Every state that was ever saved: look at it, name it, restore it, take its document away.
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Issue, Problem, Revision } from "../api/contract";
import { problemOf, inSentences } from "../app/api";
import { useCell } from "../app/cell";
import type { ProjectStore } from "../app/project";
import { useResource } from "../app/resource";
import { Link, hrefOf } from "../app/router";
import { api, projectStore } from "../app/service";
import { Shell } from "./shell";
import { savedAt } from "./start";

export function RevisionsPage({ project: id }: { project: string }) {
  const project = projectStore(id);
  const state = useCell(project.state);
  const [named, setNamed] = useState(0);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [older, setOlder] = useState<Revision[]>([]);
  const revisions = useResource(id, state.phase === "ready" ? `${state.head} ${named}` : null, (signal) =>
    api.revisions(id, { signal }),
  );
  const attempt = async (work: () => Promise<unknown>) => {
    setProblem(null);
    try {
      await work();
    } catch (error) {
      setProblem(problemOf(error));
    }
  };
  // Older ones keep their numbers whatever is saved meanwhile; what comes twice is shown once.
  const newest = revisions.value ?? [];
  const shown = [...newest, ...older.filter((one) => one.number < (newest.at(-1)?.number ?? 0))];
  const oldest = shown.at(-1)?.number ?? 1;
  const wrong = problem ?? revisions.problem;
  return (
    <Shell
      title={`Revisions of ${state.name}`}
      project={project}
      crumbs={[
        { words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) },
        { words: "revisions" },
      ]}
    >
      <main id="main" class="page">
        <h1>Revisions</h1>
        <p class="soft">
          Every change is a revision and is kept. Restoring saves an older one once more as the newest. One that was
          issued is frozen, with its name, its results and their hashes; a revision is issued on the page of the building.
        </p>
        {wrong !== null && (
          <p role="alert" class="bad">
            {inSentences(wrong)}
          </p>
        )}
        {revisions.value !== null && (
          <table class="rows">
            <thead>
              <tr>
                <th scope="col" class="n">
                  revision
                </th>
                <th scope="col">what was done</th>
                <th scope="col">name</th>
                <th scope="col">saved</th>
                <th scope="col">
                  <span class="spoken">what can be done</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {shown.map((revision) => (
                <Row
                  key={revision.number}
                  project={project}
                  revision={revision}
                  head={state.head}
                  onName={(name) =>
                    attempt(async () => {
                      await api.nameRevision(id, revision.number, name);
                      setOlder((all) => all.map((one) => (one.number === revision.number ? { ...one, name } : one)));
                      setNamed(named + 1);
                    })
                  }
                  onExport={() => attempt(() => exportDocument(id, revision.number))}
                />
              ))}
            </tbody>
          </table>
        )}
        {oldest > 1 && (
          <button
            type="button"
            class="action quiet"
            onClick={() => attempt(async () => setOlder([...older, ...(await api.revisions(id, { before: oldest }))]))}
          >
            revisions before {oldest}
          </button>
        )}
      </main>
    </Shell>
  );
}

function Row({
  project,
  revision,
  head,
  onName,
  onExport,
}: {
  project: ProjectStore;
  revision: Revision;
  head: number;
  onName: (name: string) => Promise<void>;
  onExport: () => Promise<void>;
}) {
  const [name, setName] = useState<string | null>(null);
  const button = useRef<HTMLButtonElement>(null);
  const returns = useRef(false);
  useLayoutEffect(() => {
    if (name === null && returns.current) button.current?.focus();
    returns.current = false;
  }, [name]);
  const save = () => {
    if (name !== null && name.trim() !== revision.name) void onName(name.trim());
    setName(null);
  };
  return (
    <tr>
      <td class="n">{revision.number}</td>
      <td class="name">
        <Link to={hrefOf({ page: "building", project: project.id, revision: revision.number })}>{revision.label}</Link>
        {revision.restores !== null && <span class="soft"> as revision {revision.restores}</span>}
        {revision.issued !== null && <Issued project={project.id} revision={revision.number} issue={revision.issued} />}
      </td>
      <td>
        {revision.issued !== null ? (
          revision.name
        ) : name === null ? (
          <button type="button" class="word" ref={button} onClick={() => setName(revision.name)}>
            {revision.name === "" ? "name it" : revision.name}
          </button>
        ) : (
          <input
            class="field"
            aria-label={`name of revision ${revision.number}`}
            value={name}
            maxLength={120}
            ref={(input) => input?.focus()}
            onInput={(event) => setName(event.currentTarget.value)}
            onBlur={() => {
              // What Enter has saved or Escape has left is blurred by going away.
              if (!returns.current) save();
            }}
            onKeyDown={(event) => {
              if (event.key !== "Enter" && event.key !== "Escape") return;
              event.preventDefault();
              returns.current = true;
              if (event.key === "Enter") save();
              else setName(null);
            }}
          />
        )}
      </td>
      <td class="soft">{savedAt(revision.saved_at)}</td>
      <td>
        <span class="actions">
          {revision.number !== head && (
            <Link
              to={`${hrefOf({ page: "compare", project: project.id })}?first=${revision.number}&second=${head}`}
              aria-label={`compare revision ${revision.number} with the newest`}
            >
              compare
            </Link>
          )}
          {revision.number !== head && (
            <button
              type="button"
              class="word"
              aria-label={`restore revision ${revision.number}`}
              onClick={() => void project.restore(revision.number)}
            >
              restore
            </button>
          )}
          <button
            type="button"
            class="word"
            aria-label={`document of revision ${revision.number}`}
            onClick={() => void onExport()}
          >
            document
          </button>
        </span>
      </td>
    </tr>
  );
}

/** That it is frozen, by whom, and with what. */
function Issued({ project, revision, issue }: { project: string; revision: number; issue: Issue }) {
  const results = `/api/projects/${encodeURIComponent(project)}/revisions/${revision}/results`;
  return (
    <div class="issued">
      <span class="good">
        issued by {issue.by}, {savedAt(issue.at)}
      </span>
      <span class="soft">
        <a href={results} download={`${project}-revision-${revision}.study.json`}>
          results
        </a>{" "}
        <code title={issue.results_hash}>{issue.results_hash.slice(0, 12)}</code>, program{" "}
        <code title={issue.program_digest}>{issue.program_digest.slice(0, 12)}</code>
        {issue.files.map((file) => (
          <span key={file.path}>
            , {file.path} <code title={file.hash}>{file.hash.slice(0, 12)}</code>
          </span>
        ))}
      </span>
    </div>
  );
}

/** Hands the document of a revision to the browser as a file. */
async function exportDocument(project: string, revision: number): Promise<void> {
  const text = await api.document(project, revision);
  const url = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const link = document.createElement("a");
  link.href = url;
  link.download = `${project}-revision-${revision}.halflight.json`;
  link.click();
  URL.revokeObjectURL(url);
}
