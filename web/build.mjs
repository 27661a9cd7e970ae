// Bundles the pages into dist/: hashed names, so that a browser may keep what it has. Fails when the script that a
// first page needs outgrows its budget.
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

const { outputs } = metafile;
const outputOf = (source) => Object.entries(outputs).find(([, output]) => output.entryPoint === source);
/** An output and all that it imports at once; what loads when asked is not among them. */
const withImports = (path, known = new Set()) => {
  if (known.has(path)) return known;
  known.add(path);
  for (const one of outputs[path].imports) if (one.kind === "import-statement") withImports(one.path, known);
  return known;
};
const [early] = outputOf("src/early.ts");
const [script, { cssBundle }] = outputOf("src/main.tsx");
const always = withImports(script, withImports(early));
const pages = Object.entries(outputs).filter(([, output]) => output.entryPoint?.startsWith("src/pages/"));
const size = (paths) => [...paths].reduce((sum, path) => sum + gzipSync(readFileSync(join(root, path))).length, 0);
/** What the largest page takes. */
const compressed = Math.max(...pages.map(([path]) => size(withImports(path, new Set(always)))));
console.log(`first load: ${(compressed / 1000).toFixed(1)} kB of compressed script`);
if (compressed > LARGEST_FIRST_LOAD) {
  console.error(`over the budget of ${LARGEST_FIRST_LOAD / 1000} kB`);
  process.exit(1);
}

const preloaded = (path) => `<link rel="modulepreload" href="/assets/${basename(path)}" />`;
const loaded = (path) => `<script type="module" src="/assets/${basename(path)}"></script>`;
const html = readFileSync(join(root, "src/index.html"), "utf8")
  .replace("{{scripts}}", [...[...always].filter((path) => path !== early && path !== script).map(preloaded), loaded(early), loaded(script)].join("\n    "))
  .replace("{{style}}", `/assets/${basename(cssBundle)}`);
writeFileSync(join(dist, "index.html"), html);
