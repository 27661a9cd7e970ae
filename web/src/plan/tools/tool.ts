// How a tool works: a state, an event, and what comes of it. Each state is a file of its own; none keeps anything
// outside its state, so that every path through them can be walked in a test.
import type { PlanPoint } from "../../api/contract";
import type { Action, Outcome } from "../actions";
import { isRefusal } from "../actions";
import type { Surroundings } from "../document";
import type { Handle } from "../hit";
import type { ObjectKey } from "../objects";
import type { Guide } from "../snap";
import type { ScreenPoint } from "../view";
import type { ToolChoice } from "./tool_choice";

export type ToolState =
  | { name: "idle" }
  /** Pressed on an object; it is not clear yet whether it will be dragged. */
  | { name: "pointing"; key: ObjectKey; start: PlanPoint; start_px: ScreenPoint; wasSelected: boolean; isAdding: boolean }
  | { name: "dragging"; grabbed: ObjectKey; keys: readonly ObjectKey[]; start: PlanPoint; by: PlanPoint; guides: readonly Guide[] }
  | { name: "boxing"; start: PlanPoint; end: PlanPoint; kept: ReadonlySet<ObjectKey> }
  | { name: "rotating"; key: ObjectKey; about: PlanPoint; from_deg: number; by_deg: number }
  | { name: "resizing"; handle: Extract<Handle, { kind: "corner" | "end" }>; at: PlanPoint }
  | { name: "reshaping"; handle: Extract<Handle, { kind: "vertex" | "wall" }>; start: PlanPoint; floor: readonly PlanPoint[] }
  | { name: "placing"; start: PlanPoint; end: PlanPoint }
  | { name: "drawing"; start: PlanPoint; end: PlanPoint }
  | { name: "drawing_on_wall"; wall: number; from_m: number; to_m: number }
  | { name: "measuring"; start: PlanPoint; end: PlanPoint; isDone: boolean };

export type StateName = ToolState["name"];
export type StateOf<N extends StateName> = Extract<ToolState, { name: N }>;

export interface PointerFacts {
  at: PlanPoint;
  at_px: ScreenPoint;
  /** Object or handle under the pointer. */
  over: ObjectKey | null;
  handle: Handle | null;
  shift: boolean;
  alt: boolean;
}

export type ToolEvent =
  | ({ kind: "down" | "move" | "up" } & PointerFacts)
  | { kind: "key"; key: string; shift: boolean; alt: boolean; ctrl: boolean }
  /** The pointer was taken away: a call, another window. */
  | { kind: "lost" };

export interface Surrounded {
  around: Surroundings;
  selection: ReadonlySet<ObjectKey>;
  tool: ToolChoice;
  m_per_px: number;
}

export type Effect =
  | { kind: "select"; keys: ReadonlySet<ObjectKey> }
  /** Draw this now and ask what the light would be; null: what was drafted is dropped. */
  | { kind: "draft"; action: Action | null }
  | { kind: "commit"; action: Action }
  | { kind: "refuse"; text: string }
  | { kind: "tool"; tool: ToolChoice };

export interface Step {
  state: ToolState;
  effects: Effect[];
}

export const IDLE: ToolState = { name: "idle" };
export const stay = (state: ToolState, ...effects: Effect[]): Step => ({ state, effects });

/** Draws what would come of a gesture; says why when it cannot be. */
export function drafted(state: ToolState, outcome: Outcome): Step {
  return isRefusal(outcome) ? stay(state, { kind: "draft", action: null }) : stay(state, { kind: "draft", action: { ...outcome, undo: outcome.undo === "never" ? "never" : "later" } });
}

/** Ends a gesture: one entry of the history, none when it changed nothing, words when it cannot be. */
export function committed(outcome: Outcome): Step {
  if (isRefusal(outcome)) return stay(IDLE, { kind: "draft", action: null }, { kind: "refuse", text: outcome.refused });
  if (outcome.edits.length === 0) return stay(IDLE, { kind: "draft", action: null });
  return stay(IDLE, { kind: "commit", action: outcome });
}

/** Pixels that a pressed pointer may tremble before it drags. */
export const DRAG_PX = 4;
export const apart_px = (a: ScreenPoint, b: ScreenPoint): number => Math.hypot(a.x_px - b.x_px, a.y_px - b.y_px);
export const SNAP_PX = 7;
