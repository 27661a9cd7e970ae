// What phrases and their editors need to know of where they stand.
import { createContext } from "preact";
import type { Diagnostic, Edit } from "../api/contract";
import type { Json } from "../app/pointer";
import type { CommitResult } from "../app/project";
import type { UnitSystem } from "../units/system";
import type { Choice } from "./choices";
import type { SchemaDocument } from "./schema";

export interface Editing {
  document: Json;
  schema: SchemaDocument | null;
  system: UnitSystem;
  /** Of the sentence. */
  revision: number;
  /** An older revision is looked at, not edited. */
  readOnly: boolean;
  /** What is wrong with the document of that revision. */
  diagnostics: readonly Diagnostic[];
  /** Kinds of space, to choose from; empty where no phrase names one. */
  kinds: readonly Choice[];
  /** In front of each label: the number of the room. */
  subject: string;
  commit(label: string, edits: Edit[]): Promise<CommitResult>;
  /** Edits that would be made if the hand let go now; null: none. */
  preview(edits: Edit[] | null): void;
}

export const EditingContext = createContext<Editing | null>(null);
