// A cut through the room, drawn to scale.
import type { LightAnswer, Room } from "../api/contract";
import type { UnitSystem } from "../units/system";
import type { ObjectKey } from "./objects";

export interface Cut {
  /** The cut runs along x at a y, or along y at an x. */
  along: "x" | "y";
  at_m: number;
}

export interface SectionProps {
  room: Room;
  light: LightAnswer | null;
  selection: ReadonlySet<ObjectKey>;
  system: UnitSystem;
  /** null: through the middle, along the longer side. */
  cut: Cut | null;
  onCut: (cut: Cut) => void;
}

export function Section(props: SectionProps) {
  return <div class="section">{props.room.name}</div>;
}
