// The words under the plan that put a tool into the hand.
import type { Room } from "../api/contract";
import { SELECT, type ToolChoice } from "./tools/tool_choice";

export interface ToolRowProps {
  room: Room;
  tool: ToolChoice;
  onTool: (tool: ToolChoice) => void;
  /** A tool is in hand: the keys go to the plan. */
  onTaken: () => void;
}

const ADDS: readonly { word: string; tool: ToolChoice; says: string }[] = [
  { word: "occupancy sensor", tool: { name: "add_device", device: "occupancy_sensor" }, says: "click where it hangs" },
  { word: "photosensor", tool: { name: "add_device", device: "photosensor" }, says: "click where it hangs" },
  { word: "wall station", tool: { name: "add_device", device: "station" }, says: "click beside the wall that it is on" },
  { word: "task area", tool: { name: "draw", thing: "task_area" }, says: "draw its rectangle" },
  { word: "table", tool: { name: "draw", thing: "furniture" }, says: "draw its rectangle" },
  { word: "window", tool: { name: "add_on_wall", thing: "window" }, says: "draw along a wall, or click on it" },
  { word: "door", tool: { name: "add_on_wall", thing: "door" }, says: "draw along a wall, or click on it" },
];

/** What the hand does with the tool, for the line under the words. */
export function toolHint(tool: ToolChoice): string {
  switch (tool.name) {
    case "select":
      return "";
    case "add_luminaire":
      return "click for one, drag for a row or an array";
    case "measure":
      return "press, draw, let go";
    case "edit_walls":
      return "drag a corner or the middle of a wall";
    default:
      return ADDS.find((a) => isSameTool(a.tool, tool))?.says ?? "";
  }
}

export function isSameTool(a: ToolChoice, b: ToolChoice): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}

export function ToolRow({ room, tool, onTool, onTaken }: ToolRowProps) {
  const take = (choice: ToolChoice) => {
    onTool(choice);
    if (choice.name !== "select") onTaken();
  };
  const word = (text: string, choice: ToolChoice) => {
    const isOn = isSameTool(choice, tool);
    return (
      <button type="button" key={text} aria-pressed={isOn} onClick={() => take(isOn ? SELECT : choice)}>
        {text}
      </button>
    );
  };
  // The type that hangs most in the room comes first.
  const count = (id: string) => room.luminaires.filter((l) => l.type === id).length;
  const types = [...room.luminaire_types].sort((a, b) => count(b.id) - count(a.id));
  return (
    <div class="tool-row" role="toolbar" aria-label="Tools of the plan">
      {word("select", SELECT)}
      <span class="tool-adds">
        add
        {types.length > 0 && (
          <label class={tool.name === "add_luminaire" ? "on" : ""}>
            <select
              aria-label="Add luminaires of a type"
              value={tool.name === "add_luminaire" ? tool.type : ""}
              onKeyDown={(e) => {
                // Arrow keys choose here; only Enter goes on to the plan.
                if (e.key === "Enter" && tool.name === "add_luminaire") onTaken();
              }}
              onChange={(e) => onTool(e.currentTarget.value === "" ? SELECT : { name: "add_luminaire", type: e.currentTarget.value })}
            >
              <option value="">luminaire…</option>
              {types.map((t) => (
                <option key={t.id} value={t.id}>
                  {`luminaire ${t.tag || t.id}, ${t.name}`}
                </option>
              ))}
            </select>
          </label>
        )}
        {ADDS.map((a) => word(a.word, a.tool))}
      </span>
      {word("walls", { name: "edit_walls" })}
      {word("measure", { name: "measure" })}
    </div>
  );
}
