// The pages, each of which the browser reads when its address is first shown.
import type { ComponentType } from "preact";
import type { Route } from "../app/router";

type Name = Route["page"];
/** Props are those of the route but for its name; a page takes what it needs of them. */
type PageOf<N extends Name> = ComponentType<Omit<Extract<Route, { page: N }>, "page">>;
type Page = ComponentType<Record<string, unknown>>;

const sources: { [N in Name]: () => Promise<PageOf<N>> } = {
  start: () => import("./start").then((m) => m.StartPage),
  building: () => import("./building").then((m) => m.BuildingPage),
  room: () => import("./room/room").then((m) => m.RoomPage),
  proposals: () => import("./proposals").then((m) => m.ProposalsPage),
  building_proposals: () => import("./building_proposals").then((m) => m.BuildingProposalsPage),
  revisions: () => import("./revisions").then((m) => m.RevisionsPage),
  assumptions: () => import("./assumptions").then((m) => m.AssumptionsPage),
  compare: () => import("./compare").then((m) => m.ComparePage),
  place: () => import("./start_place").then((m) => m.PlacePage),
  add_room: () => import("./start_room").then((m) => m.AddRoomPage),
  paste: () => import("./start_paste").then((m) => m.PastePage),
  not_found: () => import("./placeholder").then((m) => m.NotFoundPage),
};

const loaded = new Map<Name, Page>();

/** The page of a route; null until it has been loaded. */
export const pageOf = (name: Name): Page | null => loaded.get(name) ?? null;

/** Loads a page once; throws where the service no longer has it. */
export async function loadPage(name: Name): Promise<void> {
  if (!loaded.has(name)) loaded.set(name, (await sources[name]()) as Page);
}
