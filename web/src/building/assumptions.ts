// Assumptions of a study beside what the document says of who confirmed them.
import type { Building, Edit, Pointer } from "../api/contract";
import { type Json, tokensOf, valueAt } from "../app/pointer";
import { hrefOf } from "../app/router";
import type { Assumption } from "../app/study";
import { MONTHS } from "../year/civil";
import { isRecord } from "./difference";
import { roomOfPlace } from "./words";

/** As `/confirmations` of a document holds them. */
export interface Confirmation {
  pointer: Pointer;
  by: string;
  on: string;
  how: string;
}

export interface Known extends Assumption {
  confirmation: Confirmation | null;
}

function confirmationsOf(document: Json): (Confirmation | null)[] {
  const list = valueAt(document, "/confirmations");
  return Array.isArray(list) ? list.map((item) => (isRecord(item) ? (item as unknown as Confirmation) : null)) : [];
}

/** Who stands behind a place, by the document; the study may be of a revision before. */
export const confirmationOf = (document: Json, path: Pointer): Confirmation | null =>
  confirmationsOf(document).find((item) => item?.pointer === path) ?? null;

/** Largest effect first; of equal effect those that nobody stands behind yet. */
export function knownAssumptions(document: Json, assumptions: readonly Assumption[]): Known[] {
  return assumptions
    .map((one) => ({ ...one, confirmation: confirmationOf(document, one.path) }))
    .sort((a, b) => b.effect - a.effect || Number(a.confirmation !== null) - Number(b.confirmation !== null));
}

/** In the order of the largest effect within each; what belongs to no typical goes last. */
export function groupedByTypical<T extends { typical: string }>(items: readonly T[]): { typical: string; items: T[] }[] {
  const groups = new Map<string, T[]>();
  for (const item of items) groups.set(item.typical, [...(groups.get(item.typical) ?? []), item]);
  return [...groups]
    .map(([typical, of]) => ({ typical, items: of }))
    .sort((a, b) => Number(a.typical === "") - Number(b.typical === ""));
}

export function editsToConfirm(document: Json, { pointer, by, on, how }: Confirmation): Edit[] {
  const value = { pointer, by, on, how };
  return Array.isArray(valueAt(document, "/confirmations"))
    ? [{ op: "add", path: "/confirmations/-", value }]
    : [{ op: "add", path: "/confirmations", value: [value] }];
}

export function editsToWithdraw(document: Json, path: Pointer): Edit[] {
  return confirmationsOf(document)
    .map((item, i) => ({ item, i }))
    .filter(({ item }) => item?.pointer === path)
    .reverse()
    .map(({ i }) => ({ op: "remove", path: `/confirmations/${i}` }));
}

/** "28 November 2026", by the reader's calendar. */
export const todayInWords = (now: Date): string => `${now.getDate()} ${MONTHS[now.getMonth()]} ${now.getFullYear()}`;

/** The page on which a place can be seen: of its room, or of the building for what typicals state; null for none. */
export function hrefOfPlace(building: Building, document: Json, path: Pointer, revision: number | null): string | null {
  const project = building.project;
  const room = roomOfPlace(document, path);
  if (room !== null && building.rooms.some((row) => row.id === room)) return hrefOf({ page: "room", project, space: room, revision });
  const at = tokensOf(path).indexOf("typicals");
  if (at < 0) return null;
  return `${hrefOf({ page: "building", project, revision })}#typicals`;
}
