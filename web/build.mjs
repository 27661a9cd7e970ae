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
  entryPoints: [join(root, "src/early.ts"), join(root, "src/main.tsx")],
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
const outputOf = (source) => outputs.find(([, output]) => output.entryPoint === source);
const [early] = outputOf("src/early.ts");
const [script, { cssBundle, imports }] = outputOf("src/main.tsx");
const shared = imports.filter((i) => i.kind === "import-statement").map((i) => i.path);
/** The entries and what they import at once; pages and views that load when asked are not among them. */
const first = [...new Set([early, script, ...shared])];
const compressed = first.reduce((sum, path) => sum + gzipSync(readFileSync(join(root, path))).length, 0);
console.log(`first load: ${(compressed / 1000).toFixed(1)} kB of compressed script`);
if (compressed > LARGEST_FIRST_LOAD) {
  console.error(`over the budget of ${LARGEST_FIRST_LOAD / 1000} kB`);
  process.exit(1);
}

const preloaded = (path) => `<link rel="modulepreload" href="/assets/${basename(path)}" />`;
const loaded = (path) => `<script type="module" src="/assets/${basename(path)}"></script>`;
const html = readFileSync(join(root, "src/index.html"), "utf8")
  .replace("{{scripts}}", [...shared.filter((path) => path !== early).map(preloaded), loaded(early), loaded(script)].join("\n    "))
  .replace("{{style}}", `/assets/${basename(cssBundle)}`);
writeFileSync(join(dist, "index.html"), html);
