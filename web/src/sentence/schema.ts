// What the published schema (schema/project.schema.json) says of a place in the document: which values it takes
// and in which words it describes them. Editors and the help beside them are driven by it.
import type { Pointer } from "../api/contract";
import { type Json, tokensOf } from "../app/pointer";

export interface SchemaNode {
  $ref?: string;
  title?: string;
  description?: string;
  type?: string;
  enum?: string[];
  const?: Json;
  pattern?: string;
  default?: Json;
  minimum?: number;
  maximum?: number;
  maxLength?: number;
  anyOf?: SchemaNode[];
  properties?: Record<string, SchemaNode>;
  required?: string[];
  items?: SchemaNode;
  prefixItems?: SchemaNode[];
}

export interface SchemaDocument extends SchemaNode {
  $defs: Record<string, SchemaNode>;
}

/** The kinds of value that an editor knows. */
export type Kind =
  | { kind: "quantity"; units: string[] }
  | { kind: "share"; low: number; high: number }
  | { kind: "choice"; values: string[] }
  | { kind: "truth" }
  | { kind: "number"; whole: boolean; low: number; high: number }
  | { kind: "clock" }
  | { kind: "text"; longest: number }
  | { kind: "list"; of: Place }
  | { kind: "record"; fields: { name: string; place: Place }[] }
  | { kind: "other" };

export interface Place {
  kind: Kind;
  /** In the words of the schema. */
  help: string;
  /** What stands where the document says nothing; undefined where nothing does. */
  standard: Json | undefined;
  /** Whether the document may leave it out. */
  optional: boolean;
}

/** What the schema says of the place; null where the document can have nothing. */
export function placeAt(schema: SchemaDocument, pointer: Pointer): Place | null {
  let node: SchemaNode | undefined = schema;
  let described: SchemaNode = schema;
  let optional = false;
  for (const token of tokensOf(pointer)) {
    const at: SchemaNode = followed(schema, node);
    if (at.properties !== undefined) {
      node = Object.hasOwn(at.properties, token) ? at.properties[token] : undefined;
      optional = !(at.required ?? []).includes(token);
    } else {
      node = at.prefixItems?.[Number(token)] ?? at.items;
      optional = false;
    }
    if (node === undefined) return null;
    described = node;
  }
  return placeOf(schema, described, optional);
}

function followed(schema: SchemaDocument, node: SchemaNode): SchemaNode {
  let at = node;
  while (at.$ref !== undefined) {
    const target = schema.$defs[at.$ref.replace("#/$defs/", "")];
    if (target === undefined) return {};
    at = target;
  }
  return at;
}

function placeOf(schema: SchemaDocument, node: SchemaNode, optional: boolean): Place {
  const at = followed(schema, node);
  return {
    kind: kindOf(schema, at),
    help: node.description ?? at.description ?? "",
    standard: node.default ?? at.default,
    optional,
  };
}

function kindOf(schema: SchemaDocument, node: SchemaNode): Kind {
  if (node.anyOf !== undefined) {
    const number = node.anyOf.find((option) => option.type === "number");
    const share = node.anyOf.some((option) => option.pattern?.endsWith("%$"));
    if (share && number !== undefined)
      return { kind: "share", low: number.minimum ?? 0, high: number.maximum ?? Infinity };
    return { kind: "other" };
  }
  if (node.enum !== undefined) return { kind: "choice", values: node.enum };
  if (node.type === "boolean") return { kind: "truth" };
  if (node.type === "number" || node.type === "integer")
    return {
      kind: "number",
      whole: node.type === "integer",
      low: node.minimum ?? -Infinity,
      high: node.maximum ?? Infinity,
    };
  if (node.type === "string") {
    if (node.pattern === undefined) return { kind: "text", longest: node.maxLength ?? Infinity };
    if (node.pattern.includes("[0-5][0-9]")) return { kind: "clock" };
    const units = /\? \?\(([^()]+)\)\(/.exec(node.pattern)?.[1] ?? /\)\? \?\(([^()]+)\)/.exec(node.pattern)?.[1];
    if (units !== undefined) return { kind: "quantity", units: units.split("|") };
    return { kind: "text", longest: node.maxLength ?? Infinity };
  }
  if (node.type === "array" && node.items !== undefined)
    return { kind: "list", of: placeOf(schema, node.items, false) };
  if (node.properties !== undefined)
    return {
      kind: "record",
      fields: Object.entries(node.properties).map(([name, child]) => ({
        name,
        place: placeOf(schema, child, !(node.required ?? []).includes(name)),
      })),
    };
  return { kind: "other" };
}

/** "closed_loop_proportional" as words. */
export function inWords(name: string): string {
  return name.replaceAll("_", " ");
}
