// Places for a photosensor: seconds of work at the service, begun when somebody asks and stopped when nobody does.
import { useEffect, useRef, useState } from "preact/hooks";
import type { PhotosensorPlaces, Problem } from "../api/contract";
import { listen } from "./api";

export interface PlacesState {
  /** The last answer for this rule, perhaps of an older revision. */
  answer: PhotosensorPlaces | null;
  /** How many places have been tried, of how many; null: nothing is under way. */
  progress: { done: number; total: number } | null;
  problem: Problem | null;
  /** Stopped by hand and not begun again. */
  stopped: boolean;
  stop(): void;
  /** Tries them anew, in the revision that stands now. */
  again(): void;
}

interface Found {
  key: string;
  answer: PhotosensorPlaces | null;
  problem: Problem | null;
}

const NO_ANSWER: Problem = {
  code: "unreachable",
  problem: "The service does not try the places.",
  remedy: "Load the page again, or close other windows of the workbench that listen.",
};

/**
 * Places for the daylight rule number `rule` of a room, from when they are first `wanted`. A later revision does not
 * begin them anew: the old ones stand until somebody asks.
 */
export function usePhotosensorPlaces(project: string, room: string, revision: number | null, rule: number, wanted: boolean): PlacesState {
  const key = `${project}/${room} ${rule}`;
  const [found, setFound] = useState<Found>({ key, answer: null, problem: null });
  const [progress, setProgress] = useState<PlacesState["progress"]>(null);
  const [stopped, setStopped] = useState(false);
  const [turn, setTurn] = useState(0);
  const latest = useRef(revision);
  latest.current = revision;
  const end = useRef(() => {});
  const can = wanted && revision !== null;
  useEffect(() => {
    if (!can) return;
    const part = encodeURIComponent;
    setStopped(false);
    setProgress({ done: 0, total: 0 });
    setFound((f) => (f.key === key ? { ...f, problem: null } : { key, answer: null, problem: null }));
    const over = listen(
      `projects/${part(project)}/rooms/${part(room)}/photosensor_places?revision=${latest.current}&rule=${rule}`,
      {
        progress: (data) => setProgress(data as { done: number; total: number }),
        done: (data) => {
          finish();
          setFound({ key, answer: data as PhotosensorPlaces, problem: null });
        },
        failed: (data) => {
          finish();
          setFound((f) => ({ ...f, key, problem: (data as { error: Problem }).error }));
        },
      },
      () => {},
      () => {
        finish();
        setFound((f) => ({ ...f, key, problem: NO_ANSWER }));
      },
    );
    const finish = () => {
      over();
      setProgress(null);
    };
    end.current = finish;
    return finish;
  }, [key, can, turn]);
  const standing = found.key === key ? found : { answer: null, problem: null };
  return {
    answer: standing.answer,
    problem: standing.problem,
    progress,
    stopped,
    stop: () => {
      end.current();
      setStopped(true);
    },
    again: () => setTurn(turn + 1),
  };
}
