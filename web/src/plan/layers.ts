// What can be laid over the plan, with the words of its switch.
export type Layer = "light" | "points" | "zones" | "movement" | "seats" | "daylight" | "circuits" | "egress" | "radio" | "photosensor_places";

export const LAYERS: readonly { id: Layer; word: string; says: string }[] = [
  { id: "light", word: "light", says: "illuminance with contours" },
  { id: "points", word: "point values", says: "illuminance at the points of calculation" },
  { id: "zones", word: "zones", says: "luminaires that act together" },
  { id: "movement", word: "movement", says: "what occupancy sensors see: line for walking, dots for small movements, hatched what is hidden from them" },
  { id: "seats", word: "lost light", says: "how often an hour whoever sits still alone loses the light, seat by seat" },
  { id: "daylight", word: "daylight zones", says: "floor that daylight reaches" },
  { id: "circuits", word: "circuits", says: "panel, breaker and switch leg" },
  { id: "egress", word: "ways out", says: "ways out and what lights them" },
  { id: "radio", word: "radio", says: "margin of radio links to their gateway; lines at 0, 10 and 20 dB" },
  { id: "photosensor_places", word: "photosensor places", says: "what the photosensor makes of its task's light in a year, and how well it would hold it place by place" },
];

export const FIRST_LAYERS: ReadonlySet<Layer> = new Set<Layer>(["light", "movement", "daylight"]);
