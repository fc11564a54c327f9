// Fills triangles pixel by pixel. Paths of ten thousand triangles would take a canvas seconds.

/** A picture of `width` times `height` pixels, one number each: opaque, blue, green, red by bytes. */
export interface Raster {
  pixels: Uint32Array;
  width: number;
  height: number;
}

/** The number of a colour whose parts go from 0 to 255. */
export function pixelOf([red, green, blue]: readonly [number, number, number]): number {
  return ((255 << 24) | (Math.round(blue) << 16) | (Math.round(green) << 8) | Math.round(red)) >>> 0;
}

/**
 * Fills every pixel whose middle lies in a triangle. Triangles that share a side share no pixel and
 * leave none between them. `places` holds x and y of each corner in pixels, y down; `colours` one
 * number a triangle.
 */
export function fillTriangles(
  { pixels, width, height }: Raster,
  places: Float32Array,
  corners: Uint32Array,
  colours: Uint32Array,
): void {
  for (let t = 0; t < colours.length; t++) {
    const [a, b, c] = [2 * corners[3 * t], 2 * corners[3 * t + 1], 2 * corners[3 * t + 2]];
    const x = [places[a], places[b], places[c]];
    const y = [places[a + 1], places[b + 1], places[c + 1]];
    const top = Math.max(Math.ceil(Math.min(y[0], y[1], y[2]) - 0.5), 0);
    const bottom = Math.min(Math.ceil(Math.max(y[0], y[1], y[2]) - 0.5), height);
    for (let row = top; row < bottom; row++) {
      const middle = row + 0.5;
      let low = Infinity;
      let high = -Infinity;
      for (let i = 0; i < 3; i++) {
        // From the upper end, whichever triangle asks: both sides of an edge get the same number.
        const j = (i + 1) % 3;
        const [from, to] = y[i] <= y[j] ? [i, j] : [j, i];
        if (middle < y[from] || middle >= y[to]) continue;
        const cut = x[from] + ((middle - y[from]) / (y[to] - y[from])) * (x[to] - x[from]);
        low = Math.min(low, cut);
        high = Math.max(high, cut);
      }
      const first = Math.max(Math.ceil(low - 0.5), 0);
      const end = Math.min(Math.ceil(high - 0.5), width);
      if (first < end) pixels.fill(colours[t], row * width + first, row * width + end);
    }
  }
}
