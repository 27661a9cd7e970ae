// The service that this page came from, and the project that this window has open.
import type { Revision } from "../api/contract";
import type { SchemaDocument } from "../sentence/schema";
import { Api, listen } from "./api";
import { ProjectStore } from "./project";
import { useResource } from "./resource";

export const api = new Api();

let open: { store: ProjectStore; stop: () => void } | null = null;

/** The project that is open in this window, for what acts without a view: keys. */
export const openProject = (): ProjectStore | null => open?.store ?? null;

/**
 * The store of a project. It stays open from page to page, with its steps to undo, until another project is asked
 * for, and follows what other windows save.
 */
export function projectStore(id: string): ProjectStore {
  if (open?.store.id === id) return open.store;
  open?.stop();
  const store = new ProjectStore(api, id);
  const stop = listen(
    `projects/${encodeURIComponent(id)}/events`,
    { revision: (data) => store.heardOf(data as Revision) },
    () => void store.lookAgain(),
  );
  open = { store, stop };
  void store.open();
  return store;
}

let schema: Promise<SchemaDocument> | null = null;

/** The published schema of project documents, asked for once. */
export function projectSchema(): Promise<SchemaDocument> {
  schema ??= api.projectSchema().catch((error: unknown) => {
    schema = null;
    throw error;
  });
  return schema;
}

export function useSchema(): SchemaDocument | null {
  return useResource("schema", "schema", projectSchema).value;
}
