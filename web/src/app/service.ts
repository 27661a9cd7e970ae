// The service that this page came from, and the project that this window has open.
import { useEffect, useState } from "preact/hooks";
import type { Revision } from "../api/contract";
import type { SchemaDocument } from "../sentence/schema";
import { Api, listen } from "./api";
import { ProjectStore } from "./project";
import { useResource } from "./resource";

export const api = new Api();

let open: ProjectStore | null = null;

/** The project that is open in this window, for what acts without a view: keys, leaving the window. */
export const openProject = (): ProjectStore | null => open;

/** Opens a project for as long as a view shows it, and follows what other windows save. */
export function useProject(id: string): ProjectStore {
  const [store, setStore] = useState(() => new ProjectStore(api, id));
  const current = store.id === id ? store : new ProjectStore(api, id);
  useEffect(() => {
    if (current !== store) setStore(current);
    open = current;
    void current.open();
    const stop = listen(
      `projects/${encodeURIComponent(id)}/events`,
      { revision: (data) => current.heardOf(data as Revision) },
      () => void current.lookAgain(),
    );
    return () => {
      stop();
      if (open === current) open = null;
    };
  }, [id]);
  return current;
}

let schema: Promise<SchemaDocument> | null = null;

/** The published schema of project documents, asked for once. */
export function useSchema(): SchemaDocument | null {
  const { value } = useResource("schema", "schema", () => {
    schema ??= api.projectSchema().catch((error: unknown) => {
      schema = null;
      throw error;
    });
    return schema;
  });
  return value;
}
