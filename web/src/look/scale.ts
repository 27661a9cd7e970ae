// The scale of light, from night to lamp light (core/report/colour.cpp does the same for reports), and that of how
// well light is held, from deep water to leaf, which no light has. Each of their colours stands where its lightness
// puts it, so that lightness rises in a straight line and the order can be read without colour.

export type Colour = readonly [red: number, green: number, blue: number];

const LIGHT: readonly Colour[] = [
  [0x15, 0x16, 0x3a],
  [0x2f, 0x2f, 0x66],
  [0x5b, 0x4a, 0x80],
  [0x95, 0x66, 0x8a],
  [0xcc, 0x8a, 0x78],
  [0xe9, 0xb8, 0x7a],
  [0xf9, 0xed, 0xc8],
];

const HELD: readonly Colour[] = [
  [0x12, 0x22, 0x2b],
  [0x14, 0x47, 0x50],
  [0x1f, 0x6e, 0x6e],
  [0x4c, 0x97, 0x84],
  [0x8c, 0xbd, 0x9a],
  [0xd3, 0xe6, 0xc3],
];

function linear(channel: number): number {
  const c = channel / 255;
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
}

/** Relative luminance of an sRGB colour, 0 to 1 (IEC 61966-2-1). */
export function luminance([red, green, blue]: Colour): number {
  return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue);
}

/** CIE 1976 lightness L*, 0 to 100. */
export function lightness(colour: Colour): number {
  const y = luminance(colour);
  return y > 216 / 24389 ? 116 * Math.cbrt(y) - 16 : (y * 24389) / 27;
}

function mix(a: Colour, b: Colour, share: number): Colour {
  const channel = (x: number, y: number) => Math.round(x + share * (y - x));
  return [channel(a[0], b[0]), channel(a[1], b[1]), channel(a[2], b[2])];
}

function colourOn(stops: readonly Colour[], t: number): Colour {
  const first = stops[0]!;
  const last = stops[stops.length - 1]!;
  const share = Math.min(1, Math.max(0, t));
  const wanted = lightness(first) + share * (lightness(last) - lightness(first));
  let i = 0;
  while (i + 2 < stops.length && lightness(stops[i + 1]!) < wanted) i += 1;
  // Within a span lightness is not linear in sRGB either; find the share that gives it.
  let below = 0;
  let above = 1;
  for (let step = 0; step < 20; step += 1) {
    const middle = 0.5 * (below + above);
    if (lightness(mix(stops[i]!, stops[i + 1]!, middle)) < wanted) below = middle;
    else above = middle;
  }
  return mix(stops[i]!, stops[i + 1]!, above);
}

/** Colour of the scale of light at `t`, 0 (night) to 1 (lamp light); outside it is held. */
export const lightColour = (t: number): Colour => colourOn(LIGHT, t);

/** Colour of how well light is held, from 0 (not at all) to 1 (exactly); outside it is held. */
export const heldColour = (t: number): Colour => colourOn(HELD, t);

/** The scale of light in 256 steps. */
export const LIGHT_PALETTE: readonly Colour[] = Array.from({ length: 256 }, (_, i) => lightColour(i / 255));

/** The same as RGBA bytes, four to a step, for pictures drawn pixel by pixel. */
export const LIGHT_PALETTE_RGBA = Uint8ClampedArray.from(LIGHT_PALETTE.flatMap((c) => [...c, 255]));

export function cssColour([red, green, blue]: Colour): string {
  return `rgb(${red} ${green} ${blue})`;
}

/** Place of an illuminance on a scale that is logarithmic from `low_lx` to `high_lx`, 0 to 1. */
export function lightPosition(lx: number, low_lx: number, high_lx: number): number {
  if (!(lx > low_lx)) return 0;
  return Math.min(1, Math.log(lx / low_lx) / Math.log(high_lx / low_lx));
}
