// A search at the service: seconds to minutes of work, begun when somebody asks and stopped when nobody listens. What
// was found last stays with the window, so that it stands there when somebody comes back.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Problem } from "../api/contract";
import { listen } from "./api";
import { api } from "./service";

export interface Search<Answer, Progress> {
  /** The last answer, perhaps of an older revision. */
  answer: Answer | null;
  /** What is being done, or "begins"; null: nothing. */
  progress: Progress | "begins" | null;
  problem: Problem | null;
  /** Stopped by hand and not begun again. */
  stopped: boolean;
  /** Asks at a path of the service's stream. */
  find(path: string): void;
  stop(): void;
}

const NO_ANSWER: Problem = {
  code: "unreachable",
  problem: "The service looks for no proposals.",
  remedy: "Load the page again, or close other windows of the workbench that listen.",
};

/** `found`: what was found last, by `key`. */
export function useSearch<Answer, Progress>(found: Map<string, Answer>, key: string): Search<Answer, Progress> {
  const [answer, setAnswer] = useState<Answer | null>(found.get(key) ?? null);
  const [progress, setProgress] = useState<Progress | "begins" | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [stopped, setStopped] = useState(false);
  const end = useRef(() => {});
  useEffect(() => () => end.current(), []);

  const find = (path: string) => {
    end.current();
    setStopped(false);
    setProblem(null);
    setProgress("begins");
    let isOver = false;
    const finish = () => {
      isOver = true;
      over();
      setProgress(null);
    };
    const over = listen(
      path,
      {
        progress: (data) => setProgress(data as Progress),
        done: (data) => {
          finish();
          found.set(key, data as Answer);
          setAnswer(data as Answer);
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
