// Bundles the unit tests and hands them to node's own test runner. Arguments: names of test files, all without.
import { build } from "esbuild";
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const root = join(import.meta.dirname ?? new URL(".", import.meta.url).pathname, "..");
const unit = join(root, "tests/unit");
const wanted = process.argv.slice(2);
const files = readdirSync(unit)
  .filter((name) => name.endsWith(".test.ts") || name.endsWith(".test.tsx"))
  .filter((name) => wanted.length === 0 || wanted.some((w) => name.includes(w)))
  .map((name) => join(unit, name));
if (files.length === 0) {
  console.error(`no test file in tests/unit is called ${wanted.join(", ")}`);
  process.exit(1);
}

const out = mkdtempSync(join(tmpdir(), "halflight-web-tests-"));
try {
  const { outputFiles } = await build({
    entryPoints: files,
    outdir: out,
    outExtension: { ".js": ".mjs" },
    bundle: true,
    platform: "node",
    format: "esm",
    target: "node18",
    sourcemap: "inline",
    jsx: "automatic",
    jsxImportSource: "preact",
    // Tests read files of the tree (the demo document, the schema) by this path.
    define: { REPOSITORY: JSON.stringify(join(root, "..")) },
    logLevel: "warning",
    metafile: true,
  }).then((result) => ({ outputFiles: Object.keys(result.metafile.outputs) }));
  const bundles = outputFiles.filter((name) => name.endsWith(".mjs")).map((name) => join(process.cwd(), name));
  const run = spawnSync(process.execPath, ["--enable-source-maps", "--test", ...bundles], { stdio: "inherit" });
  process.exitCode = run.status ?? 1;
} finally {
  rmSync(out, { recursive: true, force: true });
}
