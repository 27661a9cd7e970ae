// The plan of a room, drawn to scale, on which everything can be dragged.
import type { Edit, LightAnswer, PlanPoint, Pointer, Room, Strategy } from "../api/contract";
import type { UnitSystem } from "../units/system";
import type { Layer } from "./layers";
import type { ObjectKey } from "./objects";
import type { ToolChoice } from "./tools/tool_choice";

export interface DaylightZoneDrawing {
  kind: "primary" | "secondary" | "toplit";
  outline: PlanPoint[][];
}

export interface PlanProps {
  room: Room;
  /** Light of the moment, or of the last preview; null: not known yet. */
  light: LightAnswer | null;
  layers: ReadonlySet<Layer>;
  /** Whose groups the layer of zones shows. */
  zoneStrategy?: Strategy;
  daylightZones?: readonly DaylightZoneDrawing[];
  selection: ReadonlySet<ObjectKey>;
  /** What glows because the phrase last touched governs it; groups stand for their luminaires. */
  highlight?: ReadonlySet<ObjectKey>;
  system: UnitSystem;
  /** The tool in hand; Escape gives SELECT back. */
  tool: ToolChoice;
  onTool: (tool: ToolChoice) => void;
  onSelect: (selection: ReadonlySet<ObjectKey>) => void;
  /** One entry of the history. What is drawn stays as dropped until `room` changes or the promise settles. */
  onCommit: (label: string, edits: Edit[]) => Promise<unknown> | void;
  /** The edits that would be made if the hand let go now, at most once a frame; null: let go without any. */
  onPreview: (edits: Edit[] | null) => void;
  /** Why something cannot be done. */
  onRefuse: (text: string) => void;
  /** Value in the document, or undefined. With it copies carry every key and lists that are missing are made. */
  lookUp?: (pointer: Pointer) => unknown;
}

export function Plan(props: PlanProps) {
  return <div class="plan">{props.room.name}</div>;
}
