// The program itself as the service of page tests, with a store of its own that goes when it ends.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/**
 * Starts `program` on a free port; the same calls as the stand-in's, each with a promise. Null where neither an argument nor
 * HALFLIGHT_PROGRAM says which program.
 */
export async function startProgram(program = process.env.HALFLIGHT_PROGRAM) {
  if (!program) return null;
  const folder = mkdtempSync(join(tmpdir(), "halflight-pages-"));
  const child = spawn(program, ["serve", "--port", "0", "--store", join(folder, "projects.sqlite")], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  const url = await new Promise((resolve, reject) => {
    let said = "";
    child.stdout.on("data", (data) => {
      said += data;
      const found = /http:\/\/127\.0\.0\.1:[0-9]+/.exec(said);
      if (found !== null) resolve(found[0]);
    });
    child.on("exit", (code) => reject(new Error(`${program} ended with ${code}: ${said}`)));
  });
  const get = async (path) => (await fetch(`${url}/api/${path}`)).text();
  return {
    url,
    async add(name, document) {
      const answer = await fetch(`${url}/api/projects`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ name, document }) });
      return (await answer.json()).id;
    },
    revisions: async (id) => JSON.parse(await get(`projects/${id}/revisions`)),
    text: (id, revision) => get(`projects/${id}/document?revision=${revision}`),
    document: async (id) => JSON.parse(await get(`projects/${id}/document`)),
    close: () =>
      new Promise((resolve) => {
        child.removeAllListeners("exit");
        child.on("exit", () => {
          rmSync(folder, { recursive: true, force: true });
          resolve();
        });
        child.kill("SIGINT");
      }),
  };
}
