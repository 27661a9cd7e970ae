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
  run: Run | null;
  problem: Problem | null;
}

/** Edits come in bursts; a study starts when the design has stood still for so long. */
const SETTLED_MS = 500;

/** Studies `spaces` of each revision that settles, and follows the work. */
export function useStudy(
  api: Api,
  project: string,
  spaces: readonly string[],
  revision: number | null,
  accuracy: Accuracy,
): StudyState {
  const scope = `${project} ${spaces.join(" ")}`;
  const [state, setState] = useState<StudyState & { scope: string }>({ scope, ...NOTHING });
  useEffect(() => {
    if (revision === null) return;
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
        if (!over) setState({ scope, study, revision, run: null, problem: null });
      } else if (run.state === "failed") {
        id = null;
        stop();
        fail(run.problem ?? { code: "internal", problem: "The study failed.", remedy: "Try it again." });
      } else if (run.state === "cancelled") {
        id = null;
        stop();
        setState((s) => ({ ...s, run: null }));
      } else setState((s) => ({ ...s, run }));
    };
    const begin = async () => {
      const run = await api.startStudy(project, { revision, spaces: [...spaces], accuracy }, { signal: control.signal });
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
    const timer = setTimeout(() => void begin().catch(caught), SETTLED_MS);
    return () => {
      over = true;
      clearTimeout(timer);
      stop();
      control.abort();
      if (id !== null) void api.cancelRun(id).catch(() => {});
    };
  }, [scope, revision, accuracy]);
  return state.scope === scope ? state : NOTHING;
}

const NOTHING: StudyState = { study: null, revision: null, run: null, problem: null };
