import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { type Colour, luminance } from "../../src/look/scale";

declare const REPOSITORY: string;
const css = readFileSync(`${REPOSITORY}/web/src/look/tokens.css`, "utf8");

function colourOf(hex: string): Colour {
  const long = hex.length === 4 ? [...hex.slice(1)].map((c) => c + c).join("") : hex.slice(1);
  return [0, 2, 4].map((at) => Number.parseInt(long.slice(at, at + 2), 16)) as unknown as Colour;
}

/** Token by theme, as the style sheet has it. */
function token(name: string, theme: "light" | "dark"): Colour {
  const found = new RegExp(`--${name}: light-dark\\((#[0-9a-f]+), (#[0-9a-f]+)\\)`).exec(css);
  assert.ok(found, `no token ${name}`);
  return colourOf(theme === "light" ? found[1]! : found[2]!);
}

/** Contrast ratio of WCAG 2.2, 1 to 21. */
function contrast(a: Colour, b: Colour): number {
  const [high, low] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

for (const theme of ["light", "dark"] as const) {
  test(`text keeps the contrast of level AA on every ground it stands on, ${theme}`, () => {
    const pairs: [string, string][] = [
      ...["ink", "soft", "dusk", "good", "bad"].flatMap((text): [string, string][] => [
        [text, "paper"],
        [text, "tint"],
      ]),
      ["ink", "glow"],
      ["ink", "bar"],
      ["ink", "line"],
      ["paper", "dusk"],
    ];
    for (const [text, ground] of pairs) {
      const ratio = contrast(token(text, theme), token(ground, theme));
      assert.ok(ratio >= 4.5, `${text} on ${ground}: ${ratio.toFixed(2)}`);
    }
  });

  test(`the tick on a rail stands out from the page, ${theme}`, () => {
    for (const ground of ["paper", "tint"]) {
      const ratio = contrast(token("lamp", theme), token(ground, theme));
      assert.ok(ratio >= 3, `lamp on ${ground}: ${ratio.toFixed(2)}`);
    }
  });
}
