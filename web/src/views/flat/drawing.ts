// The lines and texts of the piece, and the sheets over it, as SVG in mm.
import type { DrawnItem, Tiles, Vec2 } from "../../wire";

const SVG = "http://www.w3.org/2000/svg";

/** With `faint` it stands back behind others. */
export type Drawn = DrawnItem & { faint?: boolean };

/** Lines in a group whose y points up, texts in one whose y points down. */
export function draw(lines: SVGGElement, texts: SVGGElement, items: Drawn[]): void {
  lines.replaceChildren();
  texts.replaceChildren();
  for (const item of items) {
    if ("path" in item) {
      const path = make("path", { d: item.path, class: `line ${item.layer} ${item.stroke}${item.faint ? " faint" : ""}` });
      lines.append(path);
    } else {
      const [x, y] = item.at;
      const text = make("text", {
        transform: `translate(${x} ${-y}) rotate(${-item.angle})`,
        "font-size": String(item.height),
        "text-anchor": item.anchor,
        class: item.faint ? "written faint" : "written",
      });
      text.textContent = item.text;
      texts.append(text);
    }
  }
}

/** The sheets of one paper, with their names. */
export function drawSheets(lines: SVGGElement, texts: SVGGElement, tiles: Tiles | null): void {
  lines.replaceChildren();
  texts.replaceChildren();
  for (const { name, low, high } of tiles?.sheets ?? []) {
    const [width, height]: Vec2 = [high[0] - low[0], high[1] - low[1]];
    lines.append(
      make("rect", { x: `${low[0]}`, y: `${low[1]}`, width: `${width}`, height: `${height}`, class: "sheet" }),
    );
    const text = make("text", { x: `${low[0] + 4}`, y: `${-high[1] + 4}`, "dominant-baseline": "hanging", class: "sheet-name" });
    text.textContent = name;
    texts.append(text);
  }
}

/** Letters smaller than this only dirty the picture, px. */
const LEGIBLE = 6.5;

/** Height of the names of sheets, px, whatever the scale. */
const SHEET_NAME = 15;

export function scaleSheetNames(texts: SVGGElement, scale: number): void {
  for (const text of texts.children) text.setAttribute("font-size", String(SHEET_NAME / scale));
}

/** Shows the texts that can be read at `scale` px a mm. */
export function showLegible(texts: SVGGElement, scale: number): void {
  for (const text of texts.children) {
    const height = Number(text.getAttribute("font-size")) * scale;
    text.classList.toggle("tiny", height < LEGIBLE);
  }
}

function make(tag: string, given: Record<string, string>): SVGElement {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(given)) element.setAttribute(name, value);
  return element;
}
