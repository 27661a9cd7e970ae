// What every page stands in: head with the way to it, messages, foot with the cautions.
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Caution, Diagnostic, Revision } from "../api/contract";
import { inSentences } from "../app/api";
import { Cell, useCell } from "../app/cell";
import { type ProjectState, type ProjectStore } from "../app/project";
import { useResource } from "../app/resource";
import { Link, hrefOf } from "../app/router";
import { api } from "../app/service";
import { type Theme, theme, units } from "../app/session";
import { ConflictDialog } from "./conflict";
import { HelpDialog } from "./help";

export interface Crumb {
  words: string;
  to?: string;
}

export const showsHelp = new Cell(false);

interface ShellProps {
  title: string;
  crumbs?: readonly Crumb[];
  /** Figures about what is shown, after the crumbs. */
  about?: string;
  project?: ProjectStore;
  /** The older revision that is looked at, or null. */
  older?: number | null;
  /** What is wrong with the revision that is shown; null: as the last save said. */
  diagnostics?: readonly Diagnostic[] | null;
  /** What waits until that is put right. */
  waits?: string;
  /** Said at the right before the switches. */
  status?: ComponentChildren;
  /** As high as the window where it is large enough. */
  fits?: boolean;
  children: ComponentChildren;
}

export function Shell({ title, crumbs = [], about, project, older = null, diagnostics = null, waits = "", status, fits, children }: ShellProps) {
  useEffect(() => {
    document.title = title === "" ? "Halflight" : `${title} · Halflight`;
  }, [title]);
  return (
    <div class={fits === true ? "app fits" : "app"}>
      <a class="skip" href="#main">
        to the page
      </a>
      <header class="head">
        <Link to="/" class="brand">
          Halflight
        </Link>
        {crumbs.length > 0 && <Crumbs crumbs={crumbs} />}
        {about !== undefined && <span class="about">{about}</span>}
        <div class="state">
          {project !== undefined && <RevisionState project={project} older={older} />}
          {status}
          <UnitsSwitch />
          <ThemeSwitch />
          <button type="button" class="word" aria-label="help" onClick={() => showsHelp.set(true)}>
            ?
          </button>
        </div>
      </header>
      {project !== undefined && <Messages project={project} older={older} diagnostics={diagnostics} waits={waits} />}
      {children}
      <Foot project={project?.id ?? null} revision={older} />
      {project !== undefined && <ConflictDialog project={project} />}
      <HelpDialog />
    </div>
  );
}

function Crumbs({ crumbs }: { crumbs: readonly Crumb[] }) {
  return (
    <nav class="crumbs" aria-label="Where this is">
      <ol>
        {crumbs.map((crumb, i) => (
          <li key={i}>
            {crumb.to !== undefined ? (
              <Link to={crumb.to}>{crumb.words}</Link>
            ) : (
              <span {...(i === crumbs.length - 1 ? { "aria-current": "page" as const } : {})}>{crumb.words}</span>
            )}
          </li>
        ))}
      </ol>
    </nav>
  );
}

function stateInWords(state: ProjectState, older: number | null): string {
  if (older !== null && older !== state.head) return `revision ${older}, to look at`;
  if (state.phase === "loading") return "opening";
  if (state.phase === "failed") return "not opened";
  if (state.saving !== null) return `revision ${state.head}, saving`;
  if (state.refused !== null || state.conflict !== null) return `revision ${state.head}, last change not saved`;
  return `revision ${state.head}, saved`;
}

function RevisionState({ project, older }: { project: ProjectStore; older: number | null }) {
  const state = useCell(project.state);
  const undo = state.undo.at(-1);
  const redo = state.redo.at(-1);
  const canStep = older === null && state.saving === null;
  return (
    <>
      <button
        type="button"
        class="word"
        disabled={undo === undefined || !canStep}
        title={undo === undefined ? "nothing to undo in this window" : `undo: ${undo.label}`}
        onClick={() => void project.undo()}
      >
        undo
      </button>
      <button
        type="button"
        class="word"
        disabled={redo === undefined || !canStep}
        title={redo === undefined ? "nothing to redo" : `redo: ${redo.label}`}
        onClick={() => void project.redo()}
      >
        redo
      </button>
      <Link to={hrefOf({ page: "revisions", project: project.id })} title="all revisions">
        <span role="status" class={state.refused === null ? "" : "bad"}>
          {stateInWords(state, older)}
        </span>
      </Link>
    </>
  );
}

function UnitsSwitch() {
  const system = useCell(units);
  return (
    <button
      type="button"
      class="word"
      aria-label={system === "si" ? "Units: lx, m (lux and metres). Change to foot-candles and feet" : "Units: fc, ft (foot-candles and feet). Change to lux and metres"}
      title="units of what is shown; what was typed keeps its own"
      onClick={() => units.set(system === "si" ? "us" : "si")}
    >
      {system === "si" ? "lx, m" : "fc, ft"}
    </button>
  );
}

const THEMES: readonly Theme[] = ["system", "light", "dark"];

function ThemeSwitch() {
  const now = useCell(theme);
  const next = THEMES[(THEMES.indexOf(now) + 1) % THEMES.length]!;
  const words: Record<Theme, string> = { system: "as the system", light: "light", dark: "dark" };
  return (
    <button
      type="button"
      class="word"
      aria-label={`Page: ${now === "system" ? `light or dark ${words[now]}` : now}. Change to ${words[next]}`}
      title="light page, dark page, or as the system has it"
      onClick={() => theme.set(next)}
    >
      {now === "system" ? "light or dark" : now}
    </button>
  );
}

function Messages({
  project,
  older,
  diagnostics,
  waits,
}: {
  project: ProjectStore;
  older: number | null;
  diagnostics: readonly Diagnostic[] | null;
  waits: string;
}) {
  const state = useCell(project.state);
  return (
    <>
      {state.phase === "failed" && state.problem !== null && (
        <div class="message alarm" role="alert">
          <span>
            {inSentences(state.problem)}
          </span>
          <span class="actions">
            <button type="button" class="word" onClick={() => void project.open()}>
              try again
            </button>
          </span>
        </div>
      )}
      {state.refused !== null && (
        <div class="message alarm" role="alert">
          <span>
            “{state.refused.label}” is not saved. {inSentences(state.refused.problem)}
          </span>
          <span class="actions">
            {state.refused.wanted !== null && (
              <button type="button" class="word" onClick={() => void project.retry()}>
                try again
              </button>
            )}
            <button type="button" class="word" onClick={() => project.giveUp()}>
              give it up
            </button>
          </span>
        </div>
      )}
      {older === null && <Errors project={project} diagnostics={diagnostics} waits={waits} />}
      {state.news !== null && <News project={project} revision={state.news} />}
      {older !== null && state.phase === "ready" && older !== state.head && (
        <div class="message" role="status">
          <span>
            This is revision {older} as it was; the newest is {state.head}. Nothing here can be changed.
          </span>
          <span class="actions">
            <button
              type="button"
              class="word"
              onClick={() => void project.restore(older)}
              title="saves it once more as the newest; nothing is lost"
            >
              restore it
            </button>
          </span>
        </div>
      )}
    </>
  );
}

/** What in the document cannot be understood: it is kept as it is, and a change of this window can be undone. */
function Errors({
  project,
  diagnostics,
  waits,
}: {
  project: ProjectStore;
  diagnostics: readonly Diagnostic[] | null;
  waits: string;
}) {
  const state = useCell(project.state);
  const { undo } = state;
  const errors = (diagnostics ?? state.diagnostics).filter((diagnostic) => diagnostic.severity === "error");
  const [first] = errors;
  if (first === undefined) return null;
  const step = undo.at(-1);
  return (
    <div class="message alarm" role="alert">
      <span>
        {inSentences(first)} ({first.where}
        {errors.length > 1 && `, and ${errors.length - 1} more`}). {waits}
      </span>
      {step !== undefined && (
        <span class="actions">
          <button type="button" class="word" onClick={() => void project.undo()}>
            undo: {step.label}
          </button>
        </span>
      )}
    </div>
  );
}

function News({ project, revision }: { project: ProjectStore; revision: Revision }) {
  return (
    <div class="message" role="status">
      <span>
        Another window saved revision {revision.number}: {revision.label}. The page shows it.
      </span>
      <span class="actions">
        <button type="button" class="word" onClick={() => project.readNews()}>
          good
        </button>
      </span>
    </div>
  );
}

/** What stands under every page that shows no project, and until the project's own are there. */
const ALWAYS: readonly Caution[] = [
  { id: "estimates", brief: "Estimates, not guarantees", text: "" },
  { id: "authority", brief: "Local codes and the authority that enforces them govern", text: "" },
  { id: "egress", brief: "Egress lighting is a life-safety design of its own", text: "" },
];

function Foot({ project, revision }: { project: string | null; revision: number | null }) {
  const about = useResource("about", "about", (signal) => api.about({ signal }));
  const cautions = useResource(project ?? "", project === null ? null : `${project} ${revision ?? ""}`, (signal) =>
    api.cautions(project ?? "", revision, { signal }),
  );
  const [inFull, showInFull] = useState(false);
  const applicable = cautions.value ?? ALWAYS;
  return (
    <footer class="foot">
      <div class="brief">
        <span class="line">
          <b>Cautions.</b> {applicable.map((caution) => caution.brief).join(" \u00b7 ")}
        </span>
        {cautions.value !== null && (
          <button type="button" class="word no-print" aria-expanded={inFull} onClick={() => showInFull(!inFull)}>
            {inFull ? "in brief" : `all ${applicable.length} in full`}
          </button>
        )}
        {about.value !== null && <span class="no-print">Halflight {about.value.version}</span>}
      </div>
      {inFull && (
        <ol>
          {applicable.map((caution) => (
            <li key={caution.id}>{caution.text}</li>
          ))}
        </ol>
      )}
    </footer>
  );
}
