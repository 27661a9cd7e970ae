// A building of rooms that are alike: each follows one typical, and one keeps a vacancy delay of its own.
const NUMBERS = (count) => Array.from({ length: count }, (_, i) => String(101 + i));

const square = [[0, 0], [3, 0], [3, 4], [0, 4]];

/** A document of `count` cells, 101 onwards; 104 waits `own` instead of `delay`. */
export function cells(count, { delay = "15 min", own = "10 min" } = {}) {
  const on = { by: "occupancy" };
  const numbers = NUMBERS(count);
  return {
    format: "halflight-project/1",
    id: "cells",
    name: "A corridor of cells",
    site: { latitude: "51.5 deg", longitude: "0 deg", utc_offset: "0 h", climate: { library: "temperate_maritime" } },
    storeys: [{ id: "first", name: "First floor", elevation: "0 m" }],
    calendars: [{ id: "office", hours: [{ weekdays: ["mon", "tue", "wed", "thu", "fri"], open: "08:00", close: "18:00" }] }],
    luminaire_types: [
      {
        id: "panel",
        name: "Panel",
        tag: "P",
        length: "0.6 m",
        width: "0.6 m",
        channels: [{ id: "all", driver: "led_digital", input: "28 W", lumens: "3600 lm", photometry: { formula: "two_plane_cosine", parameters: { along_exponent: 1.2, across_exponent: 1.5 } } }],
      },
    ],
    typicals: [
      {
        id: "cell",
        name: "Cell",
        space: {
          kind: "office_enclosed",
          height: "2.7 m",
          floor: square,
          reflectances: { ceiling: 0.7, walls: 0.5, floor: 0.2, furniture: 0.4 },
          task_areas: [{ id: "desk", name: "Desk", plan: [[0.5, 0.5], [2.5, 0.5], [2.5, 2], [0.5, 2]], target: "500 lx" }],
          occupancy: { pattern: "desks", people: 1 },
        },
      },
    ],
    spaces: numbers.map((number, i) => ({
      id: number,
      typical: "cell",
      number,
      name: `Cell ${i + 1}`,
      storey: "first",
      origin: [4 * (i % 12), 6 * Math.floor(i / 12)],
    })),
    designs: [
      {
        id: "as-found",
        name: "As found",
        role: "as_found",
        typicals: [
          {
            typical: "cell",
            luminaires: [{ id: "X", type: "panel", at: [1.5, 2, 2.7], status: "remove" }],
            sequences: [{ on: { by: "hand" }, hours_source: "assumed" }],
          },
        ],
      },
      {
        id: "proposal",
        name: "Proposal",
        role: "proposal",
        circuits: [{ id: "L1", panel: "L", breaker: "1", voltage: "230 V" }],
        sequences: [{ space: "104", on, vacancy: { delay: own, warning: "30 s", groups: ["104.occ"] } }],
        typicals: [
          {
            typical: "cell",
            luminaires: [{ id: "A", type: "panel", at: [1.5, 2, 2.7], circuit: "L1" }],
            groups: [
              { id: "all", strategy: "scene", name: "a", channels: ["A"] },
              { id: "occ", strategy: "occupancy", name: "whole room", channels: ["A"] },
            ],
            occupancy_sensors: [{ id: "O", at: [1.5, 2, 2.7], technology: "infrared", coverage: "circle", major_radius: "3 m", minor_radius: "2 m", groups: ["occ"] }],
            sequences: [{ on, vacancy: { delay, warning: "30 s", groups: ["occ"] } }],
          },
        ],
      },
    ],
  };
}

/** Two cells of one typical (101, 102), a wider one of another (103), and a store without luminaires (104). */
export function kindsOfCells() {
  const document = cells(4);
  const [cell] = document.typicals;
  const wide = [[0, 0], [5, 0], [5, 4], [0, 4]];
  document.id = "kinds";
  document.name = "Kinds of cells";
  document.typicals.push({ ...cell, id: "wide", name: "Wide cell", space: { ...cell.space, floor: wide } });
  for (const design of document.designs) design.typicals.push({ ...design.typicals[0], typical: "wide" });
  document.designs[1].sequences = [];
  document.spaces[2] = { ...document.spaces[2], typical: "wide", name: "Wide cell" };
  document.spaces[3] = { id: "104", number: "104", name: "Store", storey: "first", kind: "storage", height: "2.7 m", floor: square.map(([x, y]) => [14 + x, y]), reflectances: cell.space.reflectances };
  return document;
}
