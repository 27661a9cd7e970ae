import assert from "node:assert/strict";
import { test } from "node:test";
import type { SceneLevelsAnswer, SceneTarget } from "../../src/api/contract";
import { foundLevelEdits, targetEdit, targetValue } from "../../src/pages/room/scene_targets";

const target: SceneTarget = { task_area: "table", name: "Table", least_lx: 161.5, most_lx: null, uniformity: 0.5, contrast: null, pointer: "/scenes/0/targets/0" };

test("a target keeps the unit in which it was typed", () => {
  assert.equal(targetValue("300 lx", "least", 412.4), "412 lx");
  // 1 fc is 10.764 lx (ft2 to m2).
  assert.equal(targetValue("15 fc", "most", 215.28), "20.0 fc");
  assert.equal(targetValue(0.6, "uniformity", 0.55), 0.55);
  assert.deepEqual(targetEdit({ scenes: [{ targets: [{ least: "15 fc" }] }] }, target, "least", 107.64), {
    op: "replace",
    path: "/scenes/0/targets/0/least",
    value: "10.0 fc",
  });
});

test("levels that were found are stored where they differ, and added where the scene had none", () => {
  const answer = (levels: NonNullable<SceneLevelsAnswer["levels"]>): SceneLevelsAnswer => ({ revision: 1, scene: "s", before_w: 100, levels, demands: [] });
  const scene = { id: "s", pointer: "/scenes/0", name: "S", levels: [{ group: "a", level: 0.8, pointer: "/scenes/0/levels/0/level" }], shades: "as_they_stand" as const, follows_daylight: true, in_demand_response: true, called_by: "", targets: [] };
  const document = { scenes: [{ levels: [{ group: "a", level: 0.8 }] }] };
  assert.deepEqual(foundLevelEdits(document, scene, answer([{ group: "a", level: 0.8, before: 0.8 }])), []);
  assert.deepEqual(foundLevelEdits(document, scene, answer([{ group: "a", level: 0.35, before: 0.8 }, { group: "b", level: 0, before: 1 }])), [
    { op: "replace", path: "/scenes/0/levels/0/level", value: 0.35 },
    { op: "add", path: "/scenes/0/levels/-", value: { group: "b", level: 0 } },
  ]);
  // The first level of a scene without any makes the list, the second goes into it.
  const bare = { ...scene, levels: [] };
  assert.deepEqual(foundLevelEdits({ scenes: [{}] }, bare, answer([{ group: "a", level: 0.5, before: 1 }, { group: "b", level: 0.2, before: 1 }])), [
    { op: "add", path: "/scenes/0/levels", value: [{ group: "a", level: 0.5 }] },
    { op: "add", path: "/scenes/0/levels/-", value: { group: "b", level: 0.2 } },
  ]);
});
