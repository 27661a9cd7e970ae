// Places that name something else of the project by its id ("normal_scene", "photosensor"): what they may name,
// in the words that a person knows it by.
import type { Pointer } from "../api/contract";
import { type Json, pointerOf, tokensOf, valueAt } from "../app/pointer";

export interface Choice {
  value: string;
  name: string;
}

interface Item {
  id: string;
  space?: string;
  name?: string;
  tag?: string;
  strategy?: string;
  kind?: string;
}

function itemsOf(owner: Json | undefined, list: string): Item[] {
  const items = valueAt(owner, `/${list}`);
  return Array.isArray(items) ? (items.filter((item) => typeof valueAt(item, "/id") === "string") as unknown as Item[]) : [];
}

const named = (item: Item): Choice => ({ value: item.id, name: item.name || item.tag || item.id });

/** The design, or the block of a typical in a design, that a place belongs to. */
function blockOf(document: Json, tokens: readonly string[]): Json | undefined {
  const depth = tokens[2] === "typicals" ? 4 : 2;
  return tokens[0] === "designs" ? valueAt(document, pointerOf(tokens.slice(0, depth))) : undefined;
}

/** The space whose floor a sequence, scene or device of a design belongs to, or the typical's. */
function spaceOf(document: Json, tokens: readonly string[], own: string | null): Json | undefined {
  if (tokens[0] === "designs" && tokens[2] === "typicals") {
    const name = valueAt(document, pointerOf([...tokens.slice(0, 4), "typical"]));
    const typicals = valueAt(document, "/typicals");
    const found = Array.isArray(typicals) ? typicals.find((typical) => valueAt(typical, "/id") === name) : undefined;
    return valueAt(found, "/space");
  }
  const spaces = valueAt(document, "/spaces");
  return Array.isArray(spaces) ? spaces.find((space) => valueAt(space, "/id") === own) : undefined;
}

/** Id of the space that the object around a place says it belongs to. */
function ownSpace(document: Json, tokens: readonly string[]): string | null {
  for (let i = tokens.length; i > 0; i -= 1) {
    const space = valueAt(document, pointerOf([...tokens.slice(0, i), "space"]));
    if (typeof space === "string") return space;
  }
  return null;
}

/** What the place may name; null where it names nothing else. `kinds`: the kinds of space that the library has. */
export function choicesAt(document: Json, pointer: Pointer, kinds: readonly Choice[]): Choice[] | null {
  const tokens = tokensOf(pointer);
  const last = tokens.at(-1) ?? "";
  const name = /^[0-9]+$/.test(last) ? (tokens.at(-2) ?? "") : last;
  const within = tokens.includes("sequences") ? tokens[tokens.indexOf("sequences") + 2] : undefined;
  const block = blockOf(document, tokens);
  const space = ownSpace(document, tokens);
  const here = (item: Item) => space === null || item.space === undefined || item.space === space;
  const of = (list: string) => itemsOf(block, list).filter(here).map(named);
  const groups = (strategy: string) =>
    itemsOf(block, "groups")
      .filter((group) => here(group) && group.strategy === strategy)
      .map(named);

  switch (name) {
    case "normal_scene":
      return of("scenes");
    case "kind":
      return kinds.length > 0 && ((tokens[0] === "spaces" && tokens.length === 3) || tokens.at(-2) === "space") ? [...kinds] : null;
    case "calendar":
      return itemsOf(document, "calendars").map(named);
    case "photosensor":
      return of("photosensors");
    case "stations":
      return within === "manual" ? of("stations") : null;
    case "interface":
      return itemsOf(block, "interfaces")
        .filter((item) => within !== "load_shed" || item.kind === "load_shed")
        .map(named);
    case "task_area":
      return itemsOf(spaceOf(document, tokens, space), "task_areas").map(named);
    case "group":
      return within === "daylight" ? groups("daylight") : tokens.includes("scenes") || within === "loss" ? groups("scene") : null;
    case "groups":
      if (within === "vacancy") return groups("occupancy");
      if (within === "schedule") return groups("schedule");
      if (within === "load_shed") return [...groups("scene"), ...groups("demand_response")];
      return null;
    case "held_by":
      return itemsOf(document, "spaces").filter((other) => other.id !== space).map(named);
    case "switch_legs":
      return groups("scene");
    case "buttons":
      return [
        ...of("scenes"),
        ...["on", "off", "raise", "lower"].map((word) => ({ value: word, name: word })),
      ];
    default:
      return null;
  }
}

/** The typical that states a value for all rooms that follow it; null where the value is one room's own. */
export function typicalOf(document: Json, pointer: Pointer): string | null {
  const tokens = tokensOf(pointer);
  const at = tokens.indexOf("typicals");
  if (at < 0) return null;
  const entry = valueAt(document, pointerOf(tokens.slice(0, at + 2)));
  const id = valueAt(entry, "/typical") ?? valueAt(entry, "/id");
  return typeof id === "string" ? id : null;
}

/** What a place is called in a label: "vacancy delay", "target of Tables by the windows". */
export function nameOfPlace(document: Json, pointer: Pointer): string {
  const tokens = tokensOf(pointer);
  const leaf = (tokens.at(-1) ?? "").replaceAll("_", " ");
  for (let i = tokens.length - 1; i > 0; i -= 1) {
    const owner = valueAt(document, pointerOf(tokens.slice(0, i)));
    const name = valueAt(owner, "/name") ?? valueAt(owner, "/tag") ?? valueAt(owner, "/id");
    // The design's name is on every label; it says nothing.
    if (typeof name === "string" && i > 2) return /^[0-9]+$/.test(leaf) ? name : `${leaf} of ${name}`;
    const group = valueAt(owner, "/group");
    if (typeof group === "string" && leaf !== "group") {
      const found = itemsOf(blockOf(document, tokens), "groups").find((item) => item.id === group);
      return `${leaf} of ${found === undefined ? group : named(found).name}`;
    }
  }
  const rule = (tokens.at(-2) ?? "").replaceAll("_", " ");
  return /^[0-9]*$/.test(rule) || rule === "" ? leaf : `${rule} ${leaf}`;
}
