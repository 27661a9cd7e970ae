// Places of a document and what stands there, told to a person.
import type { Pointer } from "../api/contract";
import { type Json, pointerOf, tokensOf, valueAt } from "../app/pointer";
import { choicesAt, nameOfPlace } from "../sentence/choices";
import type { Editing } from "../sentence/context";
import { placeAt } from "../sentence/schema";
import { textOf } from "../sentence/values";
import { UNIT_SPACE } from "../units/figures";
import { isRecord } from "./difference";

const textAt = (value: Json | undefined, key: string): string => {
  const text = isRecord(value) ? value[key] : undefined;
  return typeof text === "string" ? text : "";
};

/** Id of the room that a place belongs to, or null: a place of the room, or of something of a design in it. */
export function roomOfPlace(document: Json, pointer: Pointer): string | null {
  const tokens = tokensOf(pointer);
  if (tokens[0] === "spaces" && tokens[1] !== undefined)
    return textAt(valueAt(document, `/spaces/${tokens[1]}`), "id") || null;
  if (tokens[0] !== "designs" || tokens[2] === "typicals") return null;
  return textAt(valueAt(document, pointerOf(tokens.slice(0, 4))), "space") || null;
}

/** "1.04 vacancy delay", "typical Private office: height", "site latitude". */
export function placeInWords(document: Json, pointer: Pointer): string {
  const tokens = tokensOf(pointer);
  const star = tokens.indexOf("*");
  if (star > 0) {
    const what = tokens.slice(star + 1).join(" ").replaceAll("_", " ");
    const of = `${what} of all ${(tokens[star - 1] ?? "").replaceAll("_", " ")}`;
    return tokens[0] === "designs" ? `${of}, ${(tokens[1] ?? "").replaceAll("_", " ")}` : of;
  }
  const name = nameOfPlace(document, pointer);
  if (tokens[0] === "spaces") {
    const space = valueAt(document, pointerOf(tokens.slice(0, 2)));
    const number = textAt(space, "number") || textAt(space, "id") || "all rooms";
    if (tokens.length === 2) return number;
    return `${number} ${withoutOwner(tokens, name)}`;
  }
  const room = roomOfPlace(document, pointer);
  if (room !== null) {
    const spaces = valueAt(document, "/spaces");
    const space = Array.isArray(spaces) ? spaces.find((item) => textAt(item, "id") === room) : undefined;
    return `${textAt(space, "number") || room} ${name}`;
  }
  const at = tokens.indexOf("typicals");
  if (at >= 0 && tokens.length > at + 2) {
    const entry = valueAt(document, pointerOf(tokens.slice(0, at + 2)));
    const id = textAt(entry, "typical") || textAt(entry, "id");
    return `typical ${id}: ${withoutOwner(tokens, name)}`;
  }
  return tokens.length > 2 || /^[0-9]+$/.test(tokens.at(-1) ?? "") ? name : tokens.map((token) => token.replaceAll("_", " ")).join(" ");
}

/** A room's own keys, without the room's name, which stands in front. */
function withoutOwner(tokens: readonly string[], name: string): string {
  const below = tokens.slice(tokens[0] === "spaces" ? 2 : tokens.indexOf("typicals") + 3);
  if (below.length === 0 || below.some((token) => /^[0-9]+$/.test(token))) return name;
  return below.map((token) => token.replaceAll("_", " ")).join(" ");
}

/** What stands at a place, in a few words. */
export function valueInWords(value: Json | undefined): string {
  if (value === undefined) return "left out";
  if (value === null) return "nothing";
  if (value === true) return "yes";
  if (value === false) return "no";
  if (typeof value === "string") return value.replaceAll("_", " ").replace(/([0-9]) ([^0-9 ]+)$/, `$1${UNIT_SPACE}$2`);
  if (typeof value === "number") return String(value);
  if (Array.isArray(value)) {
    if (value.length === 0) return "none";
    if (value.every((item) => typeof item === "string" || typeof item === "number") && value.length <= 4) return value.join(", ");
    const many = value.length > 1;
    return `${value.length} ${value.every(isRecord) ? (many ? "things" : "thing") : many ? "entries" : "entry"}`;
  }
  return textAt(value, "name") || textAt(value, "tag") || textAt(value, "id") || "stated";
}

/** The same where the place tells more: the name of what it points at, and a share as a percentage. */
export function valueOfPlaceInWords({ document, schema, kinds }: Pick<Editing, "document" | "schema" | "kinds">, at: Pointer, value: Json | undefined): string {
  const named = choicesAt(document, at, kinds)?.find((choice) => choice.value === value);
  if (named !== undefined) return named.name;
  const kind = schema === null ? undefined : placeAt(schema, at)?.kind;
  return kind?.kind === "share" && typeof value === "number" ? textOf(kind, value) : valueInWords(value);
}

/** A share of the saving, as people call what it belongs to. */
export function strategyInWords(strategy: string): string {
  return strategy === "lamp_replacement" ? "new luminaires" : strategy.replaceAll("_", " ");
}
