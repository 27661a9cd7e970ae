// The words under the plan that put a tool into the hand.
import type { Room } from "../api/contract";
import type { ToolChoice } from "./tools/tool_choice";

export interface ToolRowProps {
  room: Room;
  tool: ToolChoice;
  onTool: (tool: ToolChoice) => void;
}

export function ToolRow(props: ToolRowProps) {
  return <div class="tool-row">{props.tool.name}</div>;
}
