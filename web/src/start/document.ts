// What the pages of the way in read of a document that may hold anything.
import type { Json } from "../app/pointer";

type Table = { [key: string]: Json };
const tableOf = (value: Json | undefined): Table | null =>
  typeof value === "object" && value !== null && !Array.isArray(value) ? value : null;

/** The list at a key; empty where there is none. */
export function listIn(document: Json, key: string): Json[] {
  const list = tableOf(document)?.[key];
  return Array.isArray(list) ? list : [];
}

/** The text at a key; "" where there is none. */
export function textIn(object: Json, key: string): string {
  const value = tableOf(object)?.[key];
  return typeof value === "string" ? value : "";
}

export const siteOf = (document: Json): Table | null => tableOf(tableOf(document)?.["site"]);
