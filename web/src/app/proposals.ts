// Proposals for a room: seconds to minutes of work at the service, begun when somebody asks and stopped when nobody
// does. What was found last stays with the window, so that it stands beside the room when somebody comes back.
import { useEffect, useRef, useState } from "preact/hooks";
import type { ControlPart, Problem, Proposals } from "../api/contract";
import { listen } from "./api";
import { api } from "./service";

export interface ProposalsState {
  /** The last answer, perhaps of an older revision. */
  answer: Proposals | null;
  /** What is being done; null: nothing. */
  progress: { stage: string; done: number; total: number } | null;
  problem: Problem | null;
  /** Stopped by hand and not begun again. */
  stopped: boolean;
  find(revision: number, kept: readonly ControlPart[]): void;
  stop(): void;
}

const NO_ANSWER: Problem = {
  code: "unreachable",
  problem: "The service looks for no proposals.",
  remedy: "Load the page again, or close other windows of the workbench that listen.",
};

/** What was found last, by project and room. */
const found = new Map<string, Proposals>();

/** `keep` of a question: the parts with commas between them, or none. */
export const keepText = (kept: readonly ControlPart[]): string => (kept.length === 0 ? "none" : kept.join(","));

export function useProposals(project: string, room: string): ProposalsState {
  const key = `${project}/${room}`;
  const [answer, setAnswer] = useState<Proposals | null>(found.get(key) ?? null);
  const [progress, setProgress] = useState<ProposalsState["progress"]>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [stopped, setStopped] = useState(false);
  const end = useRef(() => {});
  useEffect(() => () => end.current(), []);

  const find = (revision: number, kept: readonly ControlPart[]) => {
    end.current();
    const part = encodeURIComponent;
    const path = `projects/${part(project)}/rooms/${part(room)}/proposals?revision=${revision}&keep=${keepText(kept)}`;
    setStopped(false);
    setProblem(null);
    setProgress({ stage: "", done: 0, total: 0 });
    let isOver = false;
    const finish = () => {
      isOver = true;
      over();
      setProgress(null);
    };
    const over = listen(
      path,
      {
        progress: (data) => setProgress(data as { stage: string; done: number; total: number }),
        done: (data) => {
          finish();
          found.set(key, data as Proposals);
          setAnswer(data as Proposals);
        },
        failed: (data) => {
          finish();
          setProblem((data as { error: Problem }).error);
        },
      },
      () => {},
      // The browser does not say why: another look does.
      () =>
        void api.whyNoStream(path).then((why) => {
          if (isOver) return;
          finish();
          setProblem(why ?? NO_ANSWER);
        }),
    );
    end.current = finish;
  };
  return {
    answer,
    progress,
    problem,
    stopped,
    find,
    stop: () => {
      end.current();
      setStopped(true);
    },
  };
}
