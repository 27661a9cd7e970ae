// Every editing action of the workbench, in a real browser against the real program (HALFLIGHT_PROGRAM): it saves one
// revision, undo gives back the bytes of the document before it, redo those after it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { join } from "node:path";
import { PATIENCE_MS, launch } from "../support/browser.mjs";
import { cells } from "../support/cells.mjs";
import { startProgram } from "../support/program.mjs";

const root = join(import.meta.dirname ?? new URL(".", import.meta.url).pathname, "../../..");
const demo = readFileSync(join(root, "projects/fenwick_hollow.halflight.json"), "utf8");
const skip = process.env.HALFLIGHT_PROGRAM ? false : "HALFLIGHT_PROGRAM names no program";

let browser;
let program;
let page;
let project;
let complaints;

before(async () => {
  if (skip) return;
  browser = await launch();
});
after(() => browser?.close());
beforeEach(async () => {
  if (skip) return;
  program = await startProgram();
  page = await browser.newPage({ viewport: { width: 1480, height: 960 } });
  page.setDefaultTimeout(PATIENCE_MS);
  complaints = [];
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
});
afterEach(async () => {
  await page?.close();
  await program?.close();
});

const open = (path = "") => page.goto(`${program.url}/projects/${project}${path}`);
const revisionIs = (number) => page.getByRole("status").filter({ hasText: `revision ${number}, saved` }).waitFor();
const head = async () => Math.max(...(await program.revisions(project)).map((r) => r.number));
const button = (name) => page.getByRole("button", { name, exact: true });

/**
 * Does `act`, then undoes and redoes it by the words in the head of the page. It must save one revision; afterwards it is
 * undone again, so that the next action meets the document as it was.
 */
async function undoneAndRedone(what, act) {
  let now = await head();
  const before = await program.text(project, now);
  const press = async (word) => {
    await button(word).click();
    await revisionIs((now += 1));
    return program.text(project, now);
  };
  await act();
  await revisionIs((now += 1));
  const after = await program.text(project, now);
  assert.notEqual(after, before, `${what} changes the document`);
  assert.equal(await press("undo"), before, `${what}, undone`);
  assert.equal(await press("redo"), after, `${what}, redone`);
  assert.equal(await press("undo"), before, `${what}, undone again`);
}

/** Saving waits for nothing that is computed; without it the machine's time goes to what is tested. */
const withoutStudies = () => page.route(/\/studies$/, () => {});
const withoutYears = async () => {
  await withoutStudies();
  await page.route(/\/(year|why)\?/, () => {});
};
const withoutLight = async () => {
  await withoutYears();
  await page.route(/\/light$/, () => {});
};

/** The console repeats what is refused: the light of a document that is at odds with itself, a room that was undone. */
const unexpected = () => complaints.filter((text) => !/status of 40[04]/.test(text));

/** Another option of a select than the one that stands; of two that could, the first. */
async function chooseAnother(select) {
  const value = await select.evaluate((e) => [...e.options].find((o) => !o.selected && !o.disabled && o.value !== "").value);
  await select.selectOption(value);
}

/** Changes a phrase that has been opened, whichever editor it has. */
async function changeOpenPhrase() {
  const editing = page.locator(".editing");
  if ((await editing.locator("[role=listbox]").count()) > 0) {
    const options = await editing.getByRole("option").evaluateAll((all) => all.map((o) => o.getAttribute("aria-selected") === "true"));
    const stands = options.indexOf(true);
    await page.keyboard.press(stands === options.length - 1 ? "ArrowUp" : "ArrowDown");
    await page.keyboard.press("Enter");
  } else if ((await editing.locator(".checks").count()) > 0) {
    await page.keyboard.press("Space");
    await page.keyboard.press("Enter");
  } else if ((await editing.locator(".record").count()) > 0) {
    const first = editing.locator(".field").first();
    if ((await first.evaluate((e) => e.tagName)) === "SELECT") await chooseAnother(first);
    else await first.fill("90 %");
    await page.keyboard.press("Enter");
  } else {
    const input = editing.locator("input");
    const stood = await input.inputValue();
    for (const key of ["ArrowDown", "ArrowUp"]) if ((await input.inputValue()) === stood) await page.keyboard.press(key);
    // Fractions of people do not change by steps, nor words such as those of a trim that is computed.
    if ((await input.inputValue()) === stood)
      for (const other of /^[0-9.]+$/.test(stood) ? [String(Number(stood) + 1)] : ["90 %", "45 min"]) {
        await input.fill(other);
        await page.keyboard.press("Enter");
        if ((await editing.getByRole("alert").allTextContents()).join("") === "") return;
      }
    else await page.keyboard.press("Enter");
  }
}

/** `but`: what has been changed already. Gives the places of those changed. */
async function changeEveryPhrase(area, but = []) {
  const phrases = page.locator(`${area} .phrase[data-pointer]`);
  await phrases.first().waitFor();
  const pointers = await phrases.evaluateAll((all) => [...new Set(all.map((e) => e.getAttribute("data-pointer")))]);
  for (const pointer of pointers.filter((one) => !but.includes(one))) {
    const edit = async () => {
      await page.locator(`${area} .phrase[data-pointer="${pointer}"]`).first().focus();
      await page.keyboard.press("Enter");
      await page.locator(".editing").waitFor();
    };
    await edit();
    const hasNoOther = (await page.locator(".editing [role=option]").count()) === 1;
    await page.keyboard.press("Escape");
    await page.locator(".editing").waitFor({ state: "detached" });
    if (hasNoOther) continue;
    await undoneAndRedone(`${area} ${pointer}`, async () => {
      await edit();
      await changeOpenPhrase();
    });
  }
  return pointers;
}

test("every phrase of the sentence, every cell of the matrix and every level of the scenes", { skip }, async () => {
  project = await program.add("Fenwick Hollow Library", demo);
  await withoutLight();
  await open("/rooms/106");
  const said = await changeEveryPhrase(".say");
  assert.ok(said.length > 20);
  await page.locator(".sequence").getByRole("button", { name: /^events by groups/ }).click();
  await changeEveryPhrase(".matrix", said);
  const levels = page.locator(".scenes").getByRole("slider");
  for (const name of await levels.evaluateAll((all) => all.slice(0, 3).map((e) => e.getAttribute("aria-label"))))
    await undoneAndRedone(`level ${name}`, async () => {
      await page.getByRole("slider", { name, exact: true }).focus();
      await page.keyboard.press("ArrowLeft");
    });
  assert.deepEqual(unexpected(), []);
});

test("everything that the plan's tools and keys do", { skip }, async () => {
  project = await program.add("Fenwick Hollow Library", demo);
  await withoutYears();
  await open("/rooms/G02");
  const option = (name) => page.locator(".plan-drawing").getByRole("option", { name });
  await option("luminaire G02-U01").waitFor();
  const middle = async (locator) => {
    const { x, y, width, height } = await locator.boundingBox();
    return [x + 0.5 * width, y + 0.5 * height];
  };
  // A place on the plan, m, from two luminaires whose places the document says: 1.5, 9.6 and 5.5, 1.7. The plan gives
  // way to the line of what is selected, so that it is asked for each time.
  const at = async (x, y) => {
    const [left, top] = await middle(option("luminaire G02-U19"));
    const [right, bottom] = await middle(option("luminaire G02-U03"));
    return [left + ((x - 1.5) * (right - left)) / 4, top + ((9.6 - y) * (bottom - top)) / 7.9];
  };
  const line = page.getByRole("group", { name: "What is selected" });
  const select = async (...names) => {
    await page.keyboard.press("Escape");
    for (const [i, name] of names.entries()) {
      await option(name).focus();
      await page.keyboard.press(i === 0 ? "Enter" : "Shift+Enter");
    }
    await line.waitFor();
  };
  const drag = async (from, to) => {
    await page.mouse.move(...from);
    await page.mouse.down();
    await page.mouse.move(0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1]), { steps: 4 });
    await page.mouse.move(...to, { steps: 4 });
    await page.mouse.up();
  };
  const tool = async (name) => {
    await page.getByRole("toolbar", { name: "Tools of the plan" }).getByRole("button", { name, exact: true }).click();
  };
  const figure = async (label, text) => {
    const field = line.getByLabel(label, { exact: true });
    await field.fill(text);
    await field.press("Enter");
  };
  const actions = {
    "a luminaire dragged": async () => drag(await middle(option("luminaire G02-U09")), await at(5.9, 5.2)),
    "luminaires moved by key": async () => {
      await select("luminaire G02-U07", "luminaire G02-U08");
      await page.keyboard.press("ArrowRight");
    },
    "luminaires turned by key": async () => {
      await select("luminaire G02-U07", "luminaire G02-U08");
      await page.keyboard.press("r");
    },
    "luminaires duplicated": async () => {
      await select("luminaire G02-U07", "occupancy sensor OS1");
      await page.keyboard.press("Control+d");
    },
    "luminaires copied and pasted": async () => {
      await select("luminaire G02-U07", "table table-c2");
      await page.keyboard.press("Control+c");
      await page.keyboard.press("Control+v");
    },
    "a place typed": async () => {
      await select("luminaire G02-U10");
      await figure("x", "7.8 m");
    },
    "a height typed for several": async () => {
      await select("luminaire G02-U10", "luminaire G02-U11");
      await figure("z", "2.9 m");
    },
    "a turn typed": async () => {
      await select("luminaire G02-U10");
      await figure("turned", "45");
    },
    "another type": async () => {
      await select("luminaire G02-U10");
      await chooseAnother(line.getByLabel("type"));
    },
    "another group": async () => {
      await select("luminaire G02-U10");
      await chooseAnother(line.getByLabel("daylight"));
    },
    "out of a group": async () => {
      await select("luminaire G02-U10");
      await line.getByLabel("daylight").selectOption({ label: "none" });
    },
    "a device by radio": async () => {
      await select("occupancy sensor OS2");
      await line.getByLabel("talks by").selectOption("radio");
    },
    "a sensor dragged": async () => drag(await middle(option("occupancy sensor OS5")), await at(6.4, 5.0)),
    "a table dragged": async () => {
      const [x, y] = await middle(option("table table-c2"));
      await drag([x, y], [x + 12, y + 12]);
    },
    "a table turned": async () => {
      await select("table table-c2");
      await page.keyboard.press("r");
    },
    "a table's width typed": async () => {
      await select("table table-c2");
      await figure("wide", "2.0 m");
    },
    "a window moved": async () => {
      await select("window W2");
      await figure("along the wall", "2.7 m");
    },
    "a window's width typed": async () => {
      await select("window W2");
      await figure("wide", "1.5 m");
    },
    "a door moved": async () => {
      await select("door DG02b");
      await page.keyboard.press("ArrowLeft");
    },
    "a task area's depth typed": async () => {
      await select("task area Second row of tables");
      await figure("deep", "2.0 m");
    },
    "a luminaire removed": async () => {
      await select("luminaire G02-U10");
      await page.keyboard.press("Delete");
    },
    "objects of several kinds removed": async () => {
      await select("luminaire G02-U10", "occupancy sensor OS2", "table table-a4", "window W3", "task area Second row of tables", "wall station KS1");
      await page.keyboard.press("Delete");
    },
    "a luminaire hung": async () => {
      await page.getByLabel("Add luminaires of a type").selectOption({ index: 1 });
      await page.mouse.click(...(await at(10.5, 5.6)));
    },
    "an array of luminaires hung": async () => {
      await page.getByLabel("Add luminaires of a type").selectOption({ index: 1 });
      await drag(await at(2.2, 5.4), await at(10.4, 8.6));
    },
    "an occupancy sensor hung": async () => {
      await tool("occupancy sensor");
      await page.mouse.click(...(await at(8.2, 5.5)));
    },
    "a photosensor hung": async () => {
      await tool("photosensor");
      await page.mouse.click(...(await at(8.2, 5.5)));
    },
    "a wall station set": async () => {
      await tool("wall station");
      await page.mouse.click(...(await at(13.7, 4.4)));
    },
    "a task area drawn": async () => {
      await tool("task area");
      await drag(await at(11.6, 4.9), await at(12.8, 6.1));
    },
    "a table drawn": async () => {
      await tool("table");
      await drag(await at(11.6, 4.9), await at(12.8, 6.1));
    },
    "a window drawn": async () => {
      await tool("window");
      await drag(await at(0, 6.2), await at(0, 7.6));
    },
    "a door set": async () => {
      await tool("door");
      await drag(await at(0, 3.2), await at(0, 4.2));
    },
    "a wall moved": async () => {
      await tool("walls");
      await drag(await at(7, 11), await at(7, 11.4));
    },
  };
  const layToolDown = async () => {
    await tool("select");
    await page.locator(".plan-drawing").focus();
    await page.keyboard.press("Escape");
  };
  for (const [what, act] of Object.entries(actions)) {
    await undoneAndRedone(what, act);
    await layToolDown();
  }
  assert.deepEqual(unexpected(), []);
});

test("what the pages of the building change", { skip }, async () => {
  project = await program.add("A corridor of cells", JSON.stringify(cells(24), null, 2));
  await withoutStudies();
  await open();
  await page.locator("#typicals .phrase[data-pointer]").first().waitFor();
  await changeEveryPhrase("#typicals");
  await undoneAndRedone("a room's own value dropped", () => page.getByRole("button", { name: "follow the typical: 104, vacancy delay" }).click());
  await undoneAndRedone("a room's value for all", () => page.getByRole("button", { name: "for all rooms of the typical: vacancy delay of 104" }).click());
  const bar = page.getByRole("form", { name: "Change the chosen rooms" });
  await page.getByRole("checkbox", { name: "choose 101 Cell 1" }).click();
  await page.getByRole("checkbox", { name: "choose 105 Cell 5" }).click({ modifiers: ["Shift"] });
  // All of them follow the only typical already.
  const fields = (await bar.getByLabel("set").locator("option").evaluateAll((all) => all.map((o) => o.value))).filter((field) => field !== "typical");
  const typed = { height: "2.9 m", target: "30 fc", people: "2", delay: "7 min" };
  for (const field of fields)
    await undoneAndRedone(`batch: ${field}`, async () => {
      await bar.getByLabel("set").selectOption(field);
      const to = bar.getByLabel("to");
      if ((await to.evaluate((e) => e.tagName)) === "SELECT")
        for (const value of await to.locator("option").evaluateAll((all) => all.map((o) => o.value))) {
          await to.selectOption(value);
          if (await bar.getByRole("button", { name: "change" }).isEnabled()) break;
        }
      else await to.fill(typed[field] ?? "41 %");
      await bar.getByRole("button", { name: "change" }).click();
    });
  assert.deepEqual(unexpected(), []);
});

test("what the pages of the start add", { skip }, async () => {
  project = await program.add("Fenwick Hollow Library", demo);
  await withoutStudies();
  const save = (name) => page.getByRole("button", { name, exact: true }).click();
  await undoneAndRedone("other hours, holidays and codes", async () => {
    await open("/place");
    await page.getByRole("checkbox", { name: "EN 1838 2013" }).check();
    await page.getByLabel("shut on").first().fill("1 Jan, 24 Dec to 31 Dec");
    await save("save");
  });
  await undoneAndRedone("a room of its own kind", async () => {
    await open("/add-room");
    await page.getByLabel("width").fill("20 ft");
    await save("add the room and study it");
    await page.waitForURL(/\/rooms\//);
  });
  await undoneAndRedone("rooms from a table", async () => {
    await open("/paste");
    await page.getByRole("textbox", { name: "table" }).fill("Room no.\tRoom name\tRoom type\tFloor\tArea (m2)\n3.01\tQuiet 1\tOffice\tGround floor\t14,0\n3.02\tQuiet 2\tOffice\tGround floor\t15,5");
    await page.getByText("all 2 rows can be read").waitFor();
    await save("make 2 rooms");
    await page.waitForURL((url) => url.pathname === `/projects/${project}`);
  });
  assert.deepEqual(unexpected(), []);
});
