// Light of the moment, as the hand moves: one question at a time; the newest of those that came meanwhile is asked
// next, so that the plan follows as fast as the service answers and never shows an older answer after a newer one.
import { useEffect, useRef, useState } from "preact/hooks";
import type { LightAnswer, LightRequest, Problem } from "../api/contract";
import { isAbort, problemOf } from "./api";

export interface Asker<Q> {
  ask(question: Q): void;
  stop(): void;
}

/** Asks questions one at a time and keeps only the newest of those that wait. */
export function latestOnly<Q, A>(
  answer: (question: Q, signal: AbortSignal) => Promise<A>,
  onAnswer: (answer: A, question: Q) => void,
  onProblem: (error: unknown) => void,
): Asker<Q> {
  const control = new AbortController();
  let busy = false;
  let waiting: { question: Q } | null = null;
  const next = async (question: Q) => {
    busy = true;
    try {
      const result = await answer(question, control.signal);
      if (!control.signal.aborted) onAnswer(result, question);
    } catch (error) {
      if (!control.signal.aborted) onProblem(error);
    }
    busy = false;
    const then = waiting;
    waiting = null;
    if (then !== null && !control.signal.aborted) void next(then.question);
  };
  return {
    ask: (question) => {
      if (busy) waiting = { question };
      else void next(question);
    },
    stop: () => control.abort(),
  };
}

export interface Light {
  answer: LightAnswer | null;
  problem: Problem | null;
}

/** The light that `request` asks for; `scope` names the room, whose light is never shown in another. */
export function useLight(
  scope: string,
  request: LightRequest | null,
  answer: (request: LightRequest, signal: AbortSignal) => Promise<LightAnswer>,
): Light {
  const [light, setLight] = useState<Light & { scope: string }>({ scope, answer: null, problem: null });
  const asker = useRef<Asker<LightRequest> | null>(null);
  useEffect(() => {
    const mine = latestOnly(
      answer,
      (result) => setLight({ scope, answer: result, problem: null }),
      (error) => {
        if (!isAbort(error)) setLight((l) => ({ ...l, problem: problemOf(error) }));
      },
    );
    asker.current = mine;
    return () => mine.stop();
  }, [scope]);
  const key = JSON.stringify(request);
  useEffect(() => {
    if (request !== null) asker.current?.ask(request);
  }, [scope, key]);
  return light.scope === scope ? light : { answer: null, problem: null };
}
