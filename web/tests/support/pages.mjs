// Every page of the workbench, ready to be walked through or audited: against the program with its two projects.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { STUDY_PATIENCE_MS } from "./browser.mjs";
import { cells, kindsOfCells } from "./cells.mjs";

const root = join(import.meta.dirname ?? new URL(".", import.meta.url).pathname, "../../..");

/** A project with a room full of everything, one of four rooms and two revisions that is studied at once, and one whose rooms get different designs. */
export async function twoProjects(program) {
  const library = await program.add("Fenwick Hollow Library", readFileSync(join(root, "projects/fenwick_hollow.halflight.json"), "utf8"));
  const cellsId = await program.add("A corridor of cells", JSON.stringify(cells(4)));
  const answer = await fetch(`${program.url}/api/projects/${cellsId}/edits`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ base: 1, label: "wait longer", edits: [{ op: "replace", path: "/designs/1/typicals/0/sequences/0/vacancy/delay", value: "20 min" }] }),
  });
  if (!answer.ok) throw new Error(await answer.text());
  const kinds = await program.add("Kinds of cells", JSON.stringify(kindsOfCells()));
  return { library, cells: cellsId, kinds };
}

const TABLE = "Number\tName\tUse\tArea (m2)\n1\tOne\tOffice\t14\n2\tTwo\tOffice\t16\n3\tThree\tGlory hole\t9";

const room = async (page) => {
  await page.locator(".why li").first().waitFor({ timeout: STUDY_PATIENCE_MS });
  await page.locator(".claim").first().waitFor({ timeout: STUDY_PATIENCE_MS });
  await page.locator(".plan .iso").first().waitFor({ state: "attached" });
};
const studied = (page) => page.getByRole("heading", { name: "What the saving is made of" }).waitFor({ timeout: STUDY_PATIENCE_MS });

/** Name, path and what makes it whole; `of` are the ids of twoProjects. */
export const PAGES = [
  { name: "start", path: () => "/", ready: (page) => page.getByRole("button", { name: "begin" }).waitFor() },
  { name: "cautions in full", path: (of) => `/projects/${of.cells}/revisions`, ready: async (page) => {
    await page.getByRole("button", { name: /in full/ }).click();
    await page.locator(".foot li").first().waitFor();
  } },
  { name: "building", path: (of) => `/projects/${of.cells}`, ready: async (page) => {
    await studied(page);
    await page.getByRole("checkbox", { name: "choose 101 Cell 1" }).click();
  } },
  { name: "issue dialog", path: (of) => `/projects/${of.cells}`, dialog: true, ready: async (page) => {
    await studied(page);
    await page.getByRole("button", { name: /^issue revision/ }).click();
    await page.getByRole("dialog").waitFor();
  } },
  { name: "room", path: (of) => `/projects/${of.library}/rooms/G02`, ready: room },
  { name: "room with its matrix", path: (of) => `/projects/${of.library}/rooms/G02`, ready: async (page) => {
    await room(page);
    await page.keyboard.press("m");
    await page.locator(".matrix").waitFor();
  } },
  { name: "room with a tool in hand", path: (of) => `/projects/${of.library}/rooms/G02`, ready: async (page) => {
    await room(page);
    await page.getByRole("button", { name: "walls", exact: true }).click();
    await page.locator(".plan .handle").first().waitFor();
  } },
  { name: "room in section", path: (of) => `/projects/${of.library}/rooms/G02`, ready: async (page) => {
    await room(page);
    await page.getByRole("button", { name: "section", exact: true }).click();
    await page.locator(".section .wall").first().waitFor();
  } },
  { name: "room in 3D", path: (of) => `/projects/${of.library}/rooms/G02`, ready: async (page) => {
    await room(page);
    await page.getByRole("button", { name: "3D", exact: true }).click();
    await page.locator(".view3d canvas, .view3d [role=alert], .view3d p").first().waitFor();
  } },
  { name: "proposals", path: (of) => `/projects/${of.library}/rooms/104/proposals`, ready: async (page) => {
    for (const words of ["occupancy sensors", "daylight control", "wall stations"]) await page.locator(".keeps").getByRole("button", { name: words, pressed: true }).click();
    await page.getByRole("button", { name: "find designs" }).click();
    await page.getByRole("region", { name: "Designs side by side" }).waitFor({ timeout: STUDY_PATIENCE_MS });
  } },
  { name: "proposals for the building", path: (of) => `/projects/${of.kinds}/proposals`, ready: async (page) => {
    await page.getByRole("button", { name: "what each room has" }).click();
    await page.getByRole("button", { name: "find designs" }).click();
    await page.getByRole("slider", { name: "steps taken along the line" }).waitFor({ timeout: STUDY_PATIENCE_MS });
  } },
  { name: "older revision", path: (of) => `/projects/${of.cells}/rooms/101?revision=1`, ready: async (page) => {
    await page.getByRole("button", { name: "restore it" }).waitFor();
    await page.locator(".plan .iso").first().waitFor({ state: "attached" });
  } },
  { name: "compare", path: (of) => `/projects/${of.cells}/compare?first=1&second=2`, ready: (page) => page.getByRole("heading", { name: "What was found" }).waitFor({ timeout: STUDY_PATIENCE_MS }) },
  { name: "assumptions", path: (of) => `/projects/${of.cells}/assumptions`, ready: async (page) => {
    await page.getByRole("button", { name: /^confirm / }).first().click({ timeout: STUDY_PATIENCE_MS });
    await page.getByRole("form", { name: /^Confirm / }).waitFor();
  } },
  { name: "revisions", path: (of) => `/projects/${of.cells}/revisions`, ready: (page) => page.getByRole("button", { name: "restore revision 1" }).waitFor() },
  { name: "place", path: (of) => `/projects/${of.library}/place`, ready: (page) => page.getByLabel("shut on").first().waitFor() },
  { name: "add a room", path: (of) => `/projects/${of.cells}/add-room`, ready: async (page) => {
    await page.getByRole("button", { name: "add a window" }).click();
    await page.getByRole("button", { name: "add a door" }).click();
    await page.getByRole("button", { name: "add the room and study it", disabled: false }).waitFor();
  } },
  { name: "paste a list", path: (of) => `/projects/${of.library}/paste`, ready: async (page) => {
    await page.getByRole("textbox", { name: "table" }).fill(TABLE);
    await page.locator(".paste-rows tbody tr").nth(2).waitFor();
    await page.locator(".paste-words select").waitFor();
  } },
  { name: "help", path: () => "/", dialog: true, ready: async (page) => {
    await page.getByRole("button", { name: "begin" }).waitFor();
    await page.keyboard.press("?");
    await page.getByRole("dialog").waitFor();
  } },
  { name: "no such page", path: () => "/nowhere", ready: (page) => page.locator("main h1").waitFor() },
];
