// Group letters in the margin: left of each row that a group lights, or above it when it runs up the page.
import type { PlanPoint, Room } from "../api/contract";
import { boundsOf } from "./geometry";
import { type Group, letterOf, membersOf } from "./objects";
import type { View } from "./view";

export interface MarginLetter {
  groups: Group[];
  /** Of the groups, those that stand in this row. */
  luminaires: string[];
  text: string;
  /** Of the middle of its box, along the margin. */
  at_px: number;
  width_px: number;
}

export interface MarginLetters {
  rows: MarginLetter[];
  columns: MarginLetter[];
}

const LETTER_PX = 7.4;
const ROW_APART_M = 0.4;
export const LETTER_BOX_PX = 24;
const widthOf = (text: string): number => Math.max(22, LETTER_PX * text.length + 10);

interface Row {
  y: number;
  luminaires: string[];
  groups: Group[];
}

/** Rows of luminaires by their y, each with the groups that light it. */
function rowsOf(room: Room, groups: readonly Group[]): Row[] {
  const rows: Row[] = [];
  for (const group of groups) {
    for (const luminaire of membersOf(room, group)) {
      if (luminaire.status === "remove") continue;
      const y = luminaire.at[1];
      let row = rows.find((r) => Math.abs(r.y - y) < ROW_APART_M);
      if (row === undefined) rows.push((row = { y, luminaires: [], groups: [] }));
      if (!row.luminaires.includes(luminaire.id)) {
        row.y = (row.y * row.luminaires.length + y) / (row.luminaires.length + 1);
        row.luminaires.push(luminaire.id);
      }
      if (!row.groups.includes(group)) row.groups.push(group);
    }
  }
  return rows;
}

/** Off one another from the first on, then back from the far edge. */
function spread(letters: MarginLetter[], halfOf: (l: MarginLetter) => number, end_px: number): MarginLetter[] {
  letters.sort((a, b) => a.at_px - b.at_px);
  let from = -Infinity;
  for (const l of letters) {
    l.at_px = Math.max(l.at_px, from + halfOf(l));
    from = l.at_px + halfOf(l);
  }
  let to = end_px;
  for (const l of [...letters].reverse()) {
    l.at_px = Math.min(l.at_px, to - halfOf(l));
    to = l.at_px - halfOf(l);
  }
  return letters;
}

/** Letters of the groups of one strategy; of the scenes' groups usually. */
export function marginLetters(room: Room, groups: readonly Group[], view: View): MarginLetters {
  const across: Group[] = [];
  const up: Group[] = [];
  for (const group of groups) {
    const places = membersOf(room, group)
      .filter((l) => l.status !== "remove")
      .map((l): PlanPoint => [l.at[0], l.at[1]]);
    if (places.length === 0) continue;
    const { low, high } = boundsOf(places);
    // A column of single luminaires; a block of rows has its letter at each of them.
    (high[0] - low[0] < ROW_APART_M && high[1] - low[1] > ROW_APART_M ? up : across).push(group);
  }
  const { low, high } = boundsOf(room.floor);
  const rows = rowsOf(room, across).map((row): MarginLetter => {
    const text = row.groups.map(letterOf).join(" ");
    return { groups: row.groups, luminaires: row.luminaires, text, at_px: view.origin.y_px - row.y * view.px_per_m, width_px: widthOf(text) };
  });
  const columns = up.map((group): MarginLetter => {
    const members = membersOf(room, group).filter((l) => l.status !== "remove");
    const x = members.reduce((sum, l) => sum + l.at[0], 0) / members.length;
    const text = letterOf(group);
    return { groups: [group], luminaires: members.map((l) => l.id), text, at_px: view.origin.x_px + x * view.px_per_m, width_px: widthOf(text) };
  });
  const bottom = view.origin.y_px - low[1] * view.px_per_m;
  const right = view.origin.x_px + high[0] * view.px_per_m;
  return {
    rows: spread(rows, () => 0.5 * LETTER_BOX_PX + 1.5, Math.max(bottom, rows.length * (LETTER_BOX_PX + 3))),
    columns: spread(columns, (l) => 0.5 * l.width_px + 2, right + 40),
  };
}

/** Room that the letters need at the left of the plan, px. */
export function lettersWidth(groups: readonly Group[]): number {
  const longest = groups.map(letterOf).reduce((w, text) => Math.max(w, widthOf(text)), 22);
  return Math.min(150, longest + (groups.length > 1 ? 14 : 0));
}
