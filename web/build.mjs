// Bundles the pages into dist/: hashed names, so that a browser may keep what it has. Fails when the script and
// style that the first page needs outgrow their budget.
import { build } from "esbuild";
import { gzipSync } from "node:zlib";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";

const root = import.meta.dirname ?? new URL(".", import.meta.url).pathname;
const dist = join(root, "dist");
/** Compressed script of the first page, bytes. */
const LARGEST_FIRST_LOAD = 200_000;

rmSync(dist, { recursive: true, force: true });
mkdirSync(dist, { recursive: true });

const { metafile } = await build({
  entryPoints: [join(root, "src/main.tsx")],
  outdir: join(dist, "assets"),
  entryNames: "[name]-[hash]",
  chunkNames: "[name]-[hash]",
  assetNames: "[name]-[hash]",
  bundle: true,
  splitting: true,
  format: "esm",
  target: "es2022",
  minify: true,
  sourcemap: false,
  metafile: true,
  jsx: "automatic",
  jsxImportSource: "preact",
  loader: { ".woff2": "file" },
  absWorkingDir: root,
  logLevel: "warning",
});

const outputs = Object.entries(metafile.outputs);
const entry = outputs.find(([, output]) => output.entryPoint === "src/main.tsx");
const [script, { cssBundle, imports }] = entry;
/** The entry and what it imports at once; pages and views that load when asked are not among them. */
const first = [script, ...imports.filter((i) => i.kind === "import-statement").map((i) => i.path)];
const compressed = first.reduce((sum, path) => sum + gzipSync(readFileSync(join(root, path))).length, 0);
console.log(`first load: ${(compressed / 1000).toFixed(1)} kB of compressed script`);
if (compressed > LARGEST_FIRST_LOAD) {
  console.error(`over the budget of ${LARGEST_FIRST_LOAD / 1000} kB`);
  process.exit(1);
}

const html = readFileSync(join(root, "src/index.html"), "utf8")
  .replace("{{script}}", `/assets/${basename(script)}`)
  .replace("{{style}}", `/assets/${basename(cssBundle)}`);
writeFileSync(join(dist, "index.html"), html);
