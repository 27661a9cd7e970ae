import assert from "node:assert/strict";
import { test } from "node:test";
import { LIGHT_PALETTE, LIGHT_PALETTE_RGBA, heldColour, lightColour, lightPosition, lightness } from "../../src/look/scale";

test("lightness agrees with CIE 1976 at black, white and mid grey", () => {
  assert.equal(lightness([0, 0, 0]), 0);
  assert.ok(Math.abs(lightness([255, 255, 255]) - 100) < 1e-9);
  assert.ok(Math.abs(lightness([119, 119, 119]) - 50.03) < 0.05);
});

test("lightness rises in a straight line over the whole scale", () => {
  const first = lightness(lightColour(0));
  const last = lightness(lightColour(1));
  // Half a unit of L*: what rounding of the channels to whole bytes can take.
  for (let i = 0; i <= 64; i += 1)
    assert.ok(Math.abs(lightness(lightColour(i / 64)) - (first + (i / 64) * (last - first))) < 0.5, `at ${i}/64`);
});

test("the scale ends in night and lamp light and holds beyond them", () => {
  assert.deepEqual(lightColour(0), [0x15, 0x16, 0x3a]);
  assert.deepEqual(lightColour(1), [0xf9, 0xed, 0xc8]);
  assert.deepEqual(lightColour(-2), lightColour(0));
  assert.deepEqual(lightColour(3), lightColour(1));
});

test("the palette is the scale in 256 steps", () => {
  assert.equal(LIGHT_PALETTE.length, 256);
  assert.deepEqual(LIGHT_PALETTE[128], lightColour(128 / 255));
  assert.deepEqual([...LIGHT_PALETTE_RGBA.slice(4 * 255)], [...lightColour(1), 255]);
});

test("places on the scale are logarithmic in lux", () => {
  assert.ok(Math.abs(lightPosition(100, 10, 1000) - 0.5) < 1e-12);
  assert.equal(lightPosition(0, 10, 1000), 0);
  assert.equal(lightPosition(5000, 10, 1000), 1);
});

test("how well light is held has a scale of its own, as straight in lightness and never a colour of light", () => {
  const first = lightness(heldColour(0));
  const last = lightness(heldColour(1));
  assert.ok(last - first > 70);
  for (let i = 0; i <= 64; i += 1) {
    const colour = heldColour(i / 64);
    assert.ok(Math.abs(lightness(colour) - (first + (i / 64) * (last - first))) < 0.5, `at ${i}/64`);
    // Green leads over red all along it; on the scale of light it never does.
    assert.ok(colour[1] > colour[0], `green over red at ${i}/64`);
    const light = lightColour(i / 64);
    assert.ok(light[0] + 2 >= light[1], `red over green at ${i}/64 of light`);
  }
});
