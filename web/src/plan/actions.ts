// What a tool or key does to a room: how the room would look and the edits of the document that make it so.
import type { Edit, Room } from "../api/contract";
import type { ObjectKey } from "./objects";

/** now: an entry that can be undone; later: part of a gesture that is not over; never: nothing to undo. */
export type UndoPolicy = "now" | "later" | "never";

export interface Action {
  /** As the room would look, to draw it before the service answers. */
  room: Room;
  edits: Edit[];
  /** What is done, for the list of revisions: "move 3 luminaires". */
  label: string;
  undo: UndoPolicy;
  /** What is selected after it; left out: as before. */
  select?: ReadonlySet<ObjectKey>;
}

/** Why something cannot be done, in words for the person who tried. */
export interface Refusal {
  refused: string;
}
export type Outcome = Action | Refusal;
export const isRefusal = (outcome: Outcome): outcome is Refusal => "refused" in outcome;
