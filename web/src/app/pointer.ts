// Places in a document by JSON pointer (RFC 6901), and the edits (RFC 6902) that change them.
import type { Edit, Pointer } from "../api/contract";

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };

export function tokensOf(pointer: Pointer): string[] {
  if (pointer === "") return [];
  return pointer
    .split("/")
    .slice(1)
    .map((token) => token.replaceAll("~1", "/").replaceAll("~0", "~"));
}

export function pointerOf(tokens: readonly string[]): Pointer {
  return tokens.map((token) => `/${token.replaceAll("~", "~0").replaceAll("/", "~1")}`).join("");
}

/** The value at a place; undefined where there is none. */
export function valueAt(document: unknown, pointer: Pointer): Json | undefined {
  let at: unknown = document;
  for (const token of tokensOf(pointer)) {
    if (Array.isArray(at)) at = /^(0|[1-9][0-9]*)$/.test(token) ? (at[Number(token)] as unknown) : undefined;
    else if (typeof at === "object" && at !== null && Object.hasOwn(at, token))
      at = (at as Record<string, unknown>)[token];
    else return undefined;
  }
  return at as Json | undefined;
}

export function sameJson(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  if (Array.isArray(a) !== Array.isArray(b)) return false;
  const keys = Object.keys(a);
  if (keys.length !== Object.keys(b).length) return false;
  return keys.every(
    (key) => Object.hasOwn(b, key) && sameJson((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key]),
  );
}

/**
 * Edits that put `value` at a place, or take away what stands there when `value` is undefined. Objects on the way
 * that the document leaves out are added with it; a place that already holds the value needs no edit.
 */
export function editsToSet(document: unknown, pointer: Pointer, value: Json | undefined): Edit[] {
  const present = valueAt(document, pointer);
  if (value === undefined) return present === undefined ? [] : [{ op: "remove", path: pointer }];
  if (present !== undefined) return sameJson(present, value) ? [] : [{ op: "replace", path: pointer, value }];
  const tokens = tokensOf(pointer);
  let known = tokens.length - 1;
  while (known > 0 && valueAt(document, pointerOf(tokens.slice(0, known))) === undefined) known -= 1;
  let whole: Json = value;
  for (let i = tokens.length - 1; i > known; i -= 1) whole = { [tokens[i]!]: whole };
  return [{ op: "add", path: pointerOf(tokens.slice(0, known + 1)), value: whole }];
}

/** Edits without those that leave a value as it is: what is dragged back to where it began changes nothing. */
export function withoutIdle(document: unknown, edits: readonly Edit[]): Edit[] {
  return edits.filter((edit) => {
    if (edit.op === "remove") return true;
    const present = valueAt(document, edit.path);
    // "add" into a list inserts, even beside an equal value.
    if (edit.op === "add" && Array.isArray(valueAt(document, parentOf(edit.path)))) return true;
    return present === undefined || !sameJson(present, edit.value);
  });
}

function parentOf(pointer: Pointer): Pointer {
  return pointerOf(tokensOf(pointer).slice(0, -1));
}

/** Nearest enclosing object with an id, as the path of ids down to it: what a place belongs to, told by name. */
function ownerOf(document: unknown, pointer: Pointer): string {
  const tokens = tokensOf(pointer);
  const ids: string[] = [];
  for (let i = 1; i <= tokens.length; i += 1) {
    const at = valueAt(document, pointerOf(tokens.slice(0, i)));
    if (typeof at !== "object" || at === null || Array.isArray(at)) continue;
    const name = at["id"] ?? at["space"] ?? at["typical"] ?? at["group"];
    if (typeof name === "string") ids.push(name);
  }
  return ids.join("/");
}

/** Whether every edit means the same thing in another revision: lists may have grown or shrunk between them. */
export function meanTheSame(edits: readonly Edit[], before: unknown, after: unknown): boolean {
  return edits.every((edit) => ownerOf(before, edit.path) === ownerOf(after, edit.path));
}
