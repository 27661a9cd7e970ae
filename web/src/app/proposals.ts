// Proposals for a room and for the building: what is asked of the service.
import type { BuildingProposals, BuildingSearch, ControlPart, Proposals } from "../api/contract";
import { type Search, useSearch } from "./search";

/** What was found last, by project and room. */
const foundForRooms = new Map<string, Proposals>();
/** What was found last, by project. */
const foundForBuildings = new Map<string, BuildingProposals>();

/** `keep` of a question: the parts with commas between them, or none. */
export const keepText = (kept: readonly ControlPart[]): string => (kept.length === 0 ? "none" : kept.join(","));

const part = encodeURIComponent;

export function useProposals(project: string, room: string): Search<Proposals, { stage: string; done: number; total: number }> {
  return useSearch(foundForRooms, `${project}/${room}`);
}
export const roomQuestion = (project: string, room: string, revision: number, kept: readonly ControlPart[]): string =>
  `projects/${part(project)}/rooms/${part(room)}/proposals?revision=${revision}&keep=${keepText(kept)}`;

export function useBuildingProposals(project: string): Search<BuildingProposals, BuildingSearch> {
  return useSearch(foundForBuildings, project);
}
/** `kept` null: what each room has decided stays. */
export const buildingQuestion = (project: string, revision: number, kept: readonly ControlPart[] | null): string =>
  `projects/${part(project)}/proposals?revision=${revision}${kept === null ? "" : `&keep=${keepText(kept)}`}`;
