// A canvas that only writes down what is drawn on it. A drawing that differs from what was expected is laid beside it
// on a page in the folder of temporary files.
import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const PROPERTIES = new Set(["imageSmoothingEnabled", "imageSmoothingQuality", "strokeStyle", "fillStyle", "lineWidth", "globalAlpha", "font", "textAlign"]);

const word = (v: unknown): string => (typeof v === "number" ? String(Math.round(v * 100) / 100) : Array.isArray(v) ? `[${v.map(word).join(" ")}]` : typeof v === "object" ? "picture" : String(v));

/** A context and the lines of what it was told. */
export function recorder<Context>(): { context: Context; commands: string[] } {
  const commands: string[] = [];
  const context = new Proxy(
    {},
    {
      get: (_, name: string) => (...values: unknown[]) => void commands.push([name, ...values.map(word)].join(" ")),
      set: (_, name: string, value: unknown) => {
        assert.ok(PROPERTIES.has(name), `a canvas has no ${name}`);
        commands.push(`${name} = ${word(value)}`);
        return true;
      },
    },
  ) as Context;
  return { context, commands };
}

const page = (name: string, expected: readonly string[], actual: readonly string[]) => `<!doctype html><meta charset="utf-8"><title>${name}</title>
<style>body{font:12px monospace;display:flex;gap:20px}canvas{border:1px solid #999}pre{font-size:10px}</style>
${[expected, actual].map((_, i) => `<div><h2>${i === 0 ? "expected" : "actual"}</h2><canvas width="600" height="400"></canvas><pre></pre></div>`).join("")}
<script>
const all=${JSON.stringify([expected, actual]).replaceAll("<", "\\u003c")};
document.querySelectorAll("div").forEach((d,i)=>{const c=d.querySelector("canvas").getContext("2d");d.querySelector("pre").textContent=all[i].join("\\n");
const grey=document.createElement("canvas");grey.width=grey.height=1;grey.getContext("2d").fillRect(0,0,1,1);
for(const line of all[i]){const set=/^(\\w+) = (.*)$/.exec(line);if(set){c[set[1]]=isNaN(set[2])?set[2]:Number(set[2]);continue}
const [name,...values]=line.split(" ");if(name==="setLineDash"){c.setLineDash(values.join(" ").replace(/[\\[\\]]/g,"").split(" ").filter(Boolean).map(Number));continue}
c[name](...values.map(v=>v==="picture"?grey:isNaN(v)?v:Number(v)))}});
</script>`;

export function assertDrawn(name: string, actual: readonly string[], expected: readonly string[]): void {
  try {
    assert.deepEqual(actual, expected);
  } catch (error) {
    const file = join(tmpdir(), `halflight-drawing-${name}.html`);
    writeFileSync(file, page(name, expected, actual));
    throw new Error(`the drawing is not as expected; see ${file}`, { cause: error });
  }
}
