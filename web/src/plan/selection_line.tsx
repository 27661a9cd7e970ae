// One line of figures for what is selected: place, rotation, type, groups; each can be typed.
import type { Edit, Pointer, Room } from "../api/contract";
import type { UnitSystem } from "../units/system";
import type { ObjectKey } from "./objects";

export interface SelectionLineProps {
  room: Room;
  selection: ReadonlySet<ObjectKey>;
  system: UnitSystem;
  onCommit: (label: string, edits: Edit[]) => Promise<unknown> | void;
  onRefuse: (text: string) => void;
  lookUp?: (pointer: Pointer) => unknown;
}

export function SelectionLine(props: SelectionLineProps) {
  return <p class="selection-line">{props.selection.size}</p>;
}
