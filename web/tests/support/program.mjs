// The real program: started on a free port with an empty store, ended after the tests.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** Null where HALFLIGHT_PROGRAM does not say which program. */
export async function startProgram() {
  const program = process.env.HALFLIGHT_PROGRAM;
  if (!program) return null;
  const folder = mkdtempSync(join(tmpdir(), "halflight-pages-"));
  const child = spawn(program, ["serve", "--port", "0", "--store", join(folder, "projects.sqlite")], { stdio: ["ignore", "pipe", "pipe"] });
  let said = "";
  const url = await new Promise((found, fail) => {
    const hear = (bytes) => {
      said += bytes;
      const at = /http:\/\/127\.0\.0\.1:\d+/.exec(said);
      if (at !== null) found(at[0]);
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.on("exit", (code) => fail(new Error(`the program ended with ${code}: ${said}`)));
  });
  return {
    url,
    async close() {
      child.removeAllListeners("exit");
      const ended = new Promise((done) => child.on("exit", done));
      child.kill("SIGTERM");
      await ended;
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
