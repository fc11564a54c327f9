// How large a millimetre is on this screen: taught once, kept in the browser.

const KEPT = "featherline.pixels-per-mm";

/** A bank card, ISO/IEC 7810 ID-1, mm. */
export const CARD = { width: 85.6, height: 53.98 };
/** What style sheets take an inch for; the guess until the screen is taught. */
const CSS_PX_PER_MM = 96 / 25.4;

/** CSS px a mm, or null where this screen was not taught. */
export function taught(): number | null {
  const kept = Number(localStorage.getItem(KEPT));
  return kept > 0 ? kept / devicePixelRatio : null;
}

export const guess = (): number => taught() ?? CSS_PX_PER_MM;

/** Keeps device pixels, so that zooming the browser changes nothing. */
export function teach(cssPxPerMm: number): void {
  localStorage.setItem(KEPT, String(cssPxPerMm * devicePixelRatio));
}
