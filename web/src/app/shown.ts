// The revision that a page shows: the newest, or an older one that its address names.
import type { Building } from "../api/contract";
import { useCell } from "./cell";
import type { Json } from "./pointer";
import type { ProjectState, ProjectStore } from "./project";
import { type Resource, useResource } from "./resource";
import { api, projectStore } from "./service";

export interface Shown {
  project: ProjectStore;
  state: ProjectState;
  /** null until the project has answered. */
  shown: number | null;
  /** Set when an older revision is looked at. */
  older: number | null;
}

export function useShown(id: string, revision: number | null): Shown {
  const project = projectStore(id);
  const state = useCell(project.state);
  const isOpen = state.phase === "ready";
  return {
    project,
    state,
    shown: revision ?? (isOpen ? state.head : state.expected),
    older: isOpen && revision !== state.head ? revision : null,
  };
}

/** What `ask` answers, with the document of the same revision: places read from the one are written to the other. */
export function useWithDocument<T extends { revision: number }>(
  scope: string,
  { project, shown }: Shown,
  ask: (signal: AbortSignal) => Promise<T>,
): Resource<{ answer: T; document: Json }> {
  return useResource(scope, shown === null ? null : String(shown), async (signal) => {
    const answer = await ask(signal);
    return { answer, document: await project.documentOf(answer.revision, { signal }) };
  });
}

export function useBuilding(id: string, showing: Shown): Resource<{ answer: Building; document: Json }> {
  return useWithDocument(id, showing, (signal) => api.building(id, showing.shown, { signal }));
}
