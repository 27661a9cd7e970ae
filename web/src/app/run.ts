// The run scope: studies that the service works on. A study belongs to one revision and is never edited; when the
// design moves on, the old one stands, marked as old, until the new one is there.
import { useEffect, useState } from "preact/hooks";
import type { Problem, Run } from "../api/contract";
import { type Api, isAbort, listen, problemOf } from "./api";
import type { Accuracy } from "./session";
import type { Study } from "./study";

export interface StudyState {
  study: Study | null;
  /** Of the study that is shown. */
  revision: number | null;
  /** Id of the run that made it. */
  made_by: string | null;
  run: Run | null;
  problem: Problem | null;
}

export interface FollowedStudy extends StudyState {
  /** Cancelled by hand and not begun again. */
  stopped: boolean;
  cancel(): void;
  /** Begins once more what was cancelled or failed. */
  again(): void;
}

/** Studies of whole buildings, so that a page that is opened again shows what is known at once; the last few. */
const kept = new Map<string, { study: Study; made_by: string }>();
const MOST_KEPT = 6;

function keep(key: string, study: Study, made_by: string): void {
  kept.delete(key);
  kept.set(key, { study, made_by });
  const [oldest] = kept.keys();
  if (kept.size > MOST_KEPT && oldest !== undefined) kept.delete(oldest);
}

/** Edits come in bursts; a study starts when the design has stood still for so long. */
const SETTLED_MS = 500;

/** Studies `spaces` (none: all) of each revision that settles, and follows the work. `design`: the proposal, or "" for the first. */
export function useStudy(
  api: Api,
  project: string,
  spaces: readonly string[],
  revision: number | null,
  accuracy: Accuracy,
  design = "",
): FollowedStudy {
  const scope = `${project} ${design} ${spaces.join(" ")}`;
  const key = `${scope} ${revision} ${accuracy}`;
  const [state, setState] = useState<StudyState & { scope: string }>({ scope, ...NOTHING });
  const [stopped, setStopped] = useState(false);
  const [turn, setTurn] = useState(0);
  const [cancel, setCancel] = useState<() => void>(() => () => {});
  useEffect(() => {
    setStopped(false);
    if (revision === null) return;
    const known = spaces.length === 0 ? kept.get(key) : undefined;
    if (known !== undefined) {
      setState({ scope, study: known.study, revision, made_by: known.made_by, run: null, problem: null });
      return;
    }
    let over = false;
    let stop = () => {};
    let id: string | null = null;
    const control = new AbortController();
    setState((s) => (s.scope === scope ? { ...s, run: null, problem: null } : { scope, ...NOTHING }));

    const fail = (problem: Problem) => setState((s) => ({ ...s, run: null, problem }));
    const follow = async (run: Run) => {
      if (over) return;
      if (run.state === "done") {
        stop();
        id = null;
        const study = await api.study(run.id, { signal: control.signal });
        if (spaces.length === 0) keep(key, study, run.id);
        if (!over) setState({ scope, study, revision, made_by: run.id, run: null, problem: null });
      } else if (run.state === "failed") {
        id = null;
        stop();
        fail(run.problem ?? { code: "internal", problem: "The study failed.", remedy: "Try it again." });
      } else if (run.state === "cancelled") {
        id = null;
        stop();
        setStopped(true);
        setState((s) => ({ ...s, run: null }));
      } else setState((s) => ({ ...s, run }));
    };
    const begin = async () => {
      const request = { revision, spaces: [...spaces], accuracy, ...(design === "" ? {} : { design }) };
      const run = await api.startStudy(project, request, { signal: control.signal });
      id = run.id;
      if (over) {
        void api.cancelRun(run.id).catch(() => {});
        return;
      }
      const hear = (data: unknown) => void follow(data as Run).catch(caught);
      if (run.state === "waiting" || run.state === "running")
        stop = listen(`runs/${encodeURIComponent(run.id)}/events`, {
          progress: hear,
          done: hear,
          failed: hear,
          cancelled: hear,
        });
      await follow(run);
    };
    const caught = (error: unknown) => {
      if (!over && !isAbort(error)) fail(problemOf(error));
    };
    setCancel(() => () => {
      if (id !== null) void api.cancelRun(id).catch(caught);
    });
    const timer = setTimeout(() => void begin().catch(caught), SETTLED_MS);
    return () => {
      over = true;
      clearTimeout(timer);
      stop();
      control.abort();
      if (id !== null) void api.cancelRun(id).catch(() => {});
    };
  }, [scope, revision, accuracy, turn]);
  const again = () => {
    kept.delete(key);
    setTurn(turn + 1);
  };
  const standing = state.scope === scope ? state : NOTHING;
  return { ...standing, stopped, cancel, again };
}

const NOTHING: StudyState = { study: null, revision: null, made_by: null, run: null, problem: null };
