// Colours of stretch and fullness, told apart by colour-blind eyes too: oranges and purples that
// part from near-white. Anchors: ColorBrewer PuOr (C. Brewer, 2003, Apache 2.0).

export type Rgb = [number, number, number];

const STRETCH = ["#f7f7f7", "#fee0b6", "#fdb863", "#e08214", "#b35806", "#7f3b08"].map(rgb);
const FULLNESS = ["#f7f7f7", "#d8daeb", "#b2abd2", "#8073ac", "#542788", "#2d004b"].map(rgb);

/** Percent at which the colours end, where the material has no limits of its own. */
const WITHOUT_LIMITS = 10;
/** The colours go on past the limit by half, so that beyond still differs from at the limit. */
const BEYOND = 1.5;

export interface Limits {
  stretch: number;
  compress: number;
}

/** Percent at which the colours end, on both sides alike: sides must compare. */
export function spanOf(limits: Limits | null): number {
  return limits ? BEYOND * Math.max(limits.stretch, limits.compress) : WITHOUT_LIMITS;
}

/** The colour of a strain in percent, 0 to 255 a channel. */
export function strainColour(percent: number, span: number): Rgb {
  const ramp = percent >= 0 ? STRETCH : FULLNESS;
  const t = Math.min(Math.abs(percent) / span, 1) * (ramp.length - 1);
  const low = Math.min(Math.floor(t), ramp.length - 2);
  const part = t - low;
  const mix = (k: number) => ramp[low][k] + (ramp[low + 1][k] - ramp[low][k]) * part;
  return [mix(0), mix(1), mix(2)];
}

export const css = ([r, g, b]: Rgb): string =>
  `rgb(${Math.round(r)} ${Math.round(g)} ${Math.round(b)})`;

function rgb(hex: string): Rgb {
  const at = (k: number) => parseInt(hex.slice(k, k + 2), 16);
  return [at(1), at(3), at(5)];
}
