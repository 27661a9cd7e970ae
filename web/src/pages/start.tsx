// Where everything begins: projects that are kept, the demo building, a new one, one brought along.
import { useState } from "preact/hooks";
import type { Problem } from "../api/contract";
import { type NewProject, problemOf, inSentences } from "../app/api";
import { useResource } from "../app/resource";
import { Link, hrefOf, navigate } from "../app/router";
import { api } from "../app/service";
import { Shell } from "./shell";

export function StartPage() {
  const projects = useResource("projects", "projects", (signal) => api.projects({ signal }));
  const [problem, setProblem] = useState<Problem | null>(null);
  const [busy, setBusy] = useState(false);
  const make = async (request: NewProject) => {
    setBusy(true);
    setProblem(null);
    try {
      const made = await api.newProject(request);
      const begins = "from" in request && request.from === "empty";
      navigate(hrefOf(begins ? { page: "place", project: made.id } : { page: "building", project: made.id, revision: null }));
    } catch (error) {
      setProblem(problemOf(error));
      setBusy(false);
    }
  };
  return (
    <Shell title="">
      <main id="main" class="page">
        <h1>Halflight</h1>
        <p class="lead">
          How should the lighting of a building be controlled, room by room; what will that save, how sure is it, and
          why? Each answer comes with what it rests on and the test that could refute it.
        </p>
        {problem !== null && (
          <p role="alert" class="bad">
            {inSentences(problem)}
            {problem.where !== undefined && ` (at ${problem.where})`}
          </p>
        )}
        <section aria-labelledby="projects-heading">
          <h2 id="projects-heading">Projects</h2>
          {projects.problem !== null && (
            <p role="alert" class="bad">
              {inSentences(projects.problem)}
            </p>
          )}
          {projects.value?.length === 0 && <p class="soft">None yet. The demo building shows what there is to see.</p>}
          {projects.value !== null && projects.value.length > 0 && (
            <table class="rows">
              <thead>
                <tr>
                  <th scope="col">name</th>
                  <th scope="col">revision</th>
                  <th scope="col">saved</th>
                </tr>
              </thead>
              <tbody>
                {projects.value.map((project) => (
                  <tr key={project.id}>
                    <td class="name">
                      <Link to={hrefOf({ page: "building", project: project.id, revision: null })}>{project.name}</Link>
                    </td>
                    <td>{project.head}</td>
                    <td class="soft">{savedAt(project.saved_at)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          )}
        </section>
        <section aria-labelledby="begin-heading">
          <h2 id="begin-heading">Begin</h2>
          <div class="choices">
            <div>
              <h3>Explore the demo building</h3>
              <p>A town library of two storeys that is being refitted, all of it invented. Change anything.</p>
              <form
                onSubmit={(event) => {
                  event.preventDefault();
                  void make({ from: "demo" });
                }}
              >
                <button class="action" disabled={busy}>
                  explore
                </button>
              </form>
            </div>
            <NewFromNothing busy={busy} onMake={(name) => void make({ from: "empty", name })} />
            <BringAlong busy={busy} onMake={(document) => void make({ document })} onProblem={setProblem} />
          </div>
        </section>
      </main>
    </Shell>
  );
}

/** Instants in the reader's own zone. */
export function savedAt(iso: string): string {
  const at = new Date(iso);
  if (Number.isNaN(at.getTime())) return iso;
  return at.toLocaleString("en-GB", { day: "numeric", month: "long", year: "numeric", hour: "2-digit", minute: "2-digit" });
}

function NewFromNothing({ busy, onMake }: { busy: boolean; onMake: (name: string) => void }) {
  const [name, setName] = useState("");
  return (
    <div>
      <h3>A new building</h3>
      <p>Say where it stands, then add a room: its saving is there a few minutes later.</p>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          onMake(name.trim());
        }}
      >
        <label>
          name{" "}
          <input
            class="field"
            value={name}
            maxLength={120}
            required
            onInput={(event) => setName(event.currentTarget.value)}
          />
        </label>
        <button class="action" disabled={busy || name.trim() === ""}>
          begin
        </button>
      </form>
    </div>
  );
}

function BringAlong({
  busy,
  onMake,
  onProblem,
}: {
  busy: boolean;
  onMake: (document: string) => void;
  onProblem: (problem: Problem) => void;
}) {
  const [over, setOver] = useState(false);
  const take = async (file: File | undefined | null) => {
    if (!file) return;
    try {
      onMake(await file.text());
    } catch {
      onProblem({
        code: "bad_request",
        problem: `“${file.name}” cannot be read.`,
        remedy: "Choose a project document, whose name ends in .halflight.json.",
      });
    }
  };
  return (
    <div
      class={over ? "drop over" : "drop"}
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        void take(event.dataTransfer?.files[0]);
      }}
    >
      <h3>Bring a document along</h3>
      <p>Drop a project document (*.halflight.json) here, or choose it.</p>
      <form>
        <label>
          <span class="spoken">project document </span>
          <input
            type="file"
            accept=".json,application/json"
            disabled={busy}
            onChange={(event) => void take(event.currentTarget.files?.[0])}
          />
        </label>
      </form>
    </div>
  );
}
