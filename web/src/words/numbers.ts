// A number as people type it: with a comma or a point, with spaces, with or without `mm`.

/** The number, or null where the text is none. */
export function numberTyped(text: string): number | null {
  const bare = text.trim().replace(/\s*mm$/i, "").replace("−", "-").replace(",", ".").trim();
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(bare)) return null;
  return Number(bare);
}
