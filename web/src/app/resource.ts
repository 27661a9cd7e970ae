// What is asked of the service for one revision. The last answer stands until the next one is there; an answer
// that comes after a newer question is dropped by its key.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Problem } from "../api/contract";
import { isAbort, problemOf } from "./api";

export interface Resource<T> {
  value: T | null;
  /** Of which question `value` is the answer. */
  key: string | null;
  loading: boolean;
  problem: Problem | null;
}

/**
 * Asks again whenever `key` changes; null asks nothing. `scope` names what may stand while its successor is
 * awaited: an answer of another scope (another room) is never shown in its place.
 */
export function useResource<T>(
  scope: string,
  key: string | null,
  ask: (signal: AbortSignal) => Promise<T>,
): Resource<T> {
  const [state, setState] = useState<Resource<T> & { scope: string }>({ scope, value: null, key: null, loading: true, problem: null });
  const latest = useRef(ask);
  latest.current = ask;
  useEffect(() => {
    if (key === null) return;
    const control = new AbortController();
    setState((s) =>
      s.scope === scope ? { ...s, loading: true } : { scope, value: null, key: null, loading: true, problem: null },
    );
    latest.current(control.signal).then(
      (value) => {
        if (!control.signal.aborted) setState({ scope, value, key, loading: false, problem: null });
      },
      (error: unknown) => {
        if (control.signal.aborted || isAbort(error)) return;
        setState((s) => ({ ...s, loading: false, problem: problemOf(error) }));
      },
    );
    return () => control.abort();
  }, [scope, key]);
  return state.scope === scope ? state : { value: null, key: null, loading: true, problem: null };
}
