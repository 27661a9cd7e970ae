// The tool in hand, with the word of its switch.
export type ToolChoice =
  | { name: "select" }
  | { name: "add_luminaire"; type: string }
  | { name: "add_device"; device: "occupancy_sensor" | "photosensor" | "station" }
  | { name: "measure" }
  | { name: "draw"; thing: "task_area" | "furniture" }
  | { name: "add_on_wall"; thing: "window" | "door" }
  | { name: "edit_walls" };

export const SELECT: ToolChoice = { name: "select" };
