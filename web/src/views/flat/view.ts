// The view of the flat piece in mm: shows what it is given, tells what the hand does. Knows no
// framework.
import type { Piece } from "../../talk/piece_bytes";
import { Twins } from "../../space/twins";
import { add2 } from "../../space/vec";
import type { Tiles, Vec2, Vec3 } from "../../wire";
import { Overlay, type Note } from "../overlay";
import { BIG_STEP, Pins, STEP, type Pin } from "../pins";
import { draw, drawSheets, scaleSheetNames, showLegible } from "./drawing";
import { listen } from "./gestures";
import { paint } from "./paint";
import { ENDS, isEnd, Ruler } from "./ruler";
import { FlatWindow } from "./window";

export interface FlatPin extends Pin {
  at: Vec2;
  grows: Vec2;
}

export interface FlatNote extends Note {
  at: Vec2;
}

export interface FlatHears {
  choose(id: string): void;
  take(id: string): boolean;
  /** A handle is dragged by so many mm since it was taken. */
  dragHandle(id: string, by: number): void;
  nudgeHandle(id: string, by: number): void;
  drop(id: string): void;
  leave(id: string): void;
  hover(at: Vec3 | null, flat: Vec2 | null): void;
  /** CSS px a mm, whenever it changes. */
  scaled(scale: number): void;
}

/** Words that the view itself writes. */
export interface FlatWords {
  ends: [string, string];
  length(mm: number): string;
}

export class FlatView {
  #seen = new FlatWindow();
  #canvas = document.createElement("canvas");
  #svg: SVGSVGElement;
  #layers: Record<"sheets" | "lines" | "sheetTexts" | "texts" | "ruler", SVGGElement>;
  #pins: Pins;
  #overlay: Overlay;
  #piece: Piece | null = null;
  #twins: Twins | null = null;
  #strain = true;
  #handles = new Map<string, FlatPin>();
  #notes: FlatNote[] = [];
  #ruler: Ruler | null = null;
  #taken: { pin: FlatPin; x: number; y: number } | null = null;
  #frame = 0;
  #ends = new AbortController();
  #resize: ResizeObserver;
  /** As long as the user has not moved the piece, it is kept whole in sight. */
  #untouched = true;

  constructor(
    private readonly room: HTMLElement,
    layer: HTMLElement,
    private readonly hears: FlatHears,
    private readonly words: FlatWords,
  ) {
    const group = (up: boolean) => {
      const g = document.createElementNS("http://www.w3.org/2000/svg", "g");
      if (up) g.setAttribute("transform", "scale(1 -1)");
      return g;
    };
    this.#svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    this.#svg.setAttribute("aria-hidden", "true");
    this.#layers = {
      sheets: group(true),
      lines: group(true),
      sheetTexts: group(false),
      texts: group(false),
      ruler: group(true),
    };
    this.#svg.append(...Object.values(this.#layers));
    this.#canvas.setAttribute("aria-hidden", "true");
    room.prepend(this.#canvas, this.#svg);
    this.#overlay = new Overlay(layer);
    // Over and under a name covers the least of the piece.
    this.#pins = new Pins(layer, ["over", "under", "right", "left"], {
      choose: (id) => !isEnd(id) && this.hears.choose(id),
      take: (id) => this.#take(id),
      move: (id, x, y) => this.#move(id, x, y),
      drop: (id) => !isEnd(id) && this.hears.drop(id),
      leave: (id) => !isEnd(id) && this.hears.leave(id),
      key: (id, event) => this.#nudge(id, event),
    });
    listen(
      room,
      this.#seen,
      {
        changed: () => this.#touched(),
        press: (x, y) => this.#press(x, y),
        pull: (x, y) => this.#pull("ruler.end", this.#seen.toPlane(x, y)),
        hover: (x, y) => this.#hover(x, y),
        left: () => this.hears.hover(null, null),
      },
      this.#ends.signal,
    );
    this.#resize = new ResizeObserver(() => this.#fitRoom());
    this.#resize.observe(room);
    this.#fitRoom();
  }

  dispose(): void {
    this.#ends.abort();
    this.#resize.disconnect();
    cancelAnimationFrame(this.#frame);
    this.#canvas.remove();
    this.#svg.remove();
  }

  setPiece(piece: Piece | null, strain: boolean): void {
    if (piece !== this.#piece) {
      this.#piece = piece;
      this.#twins = null;
      draw(this.#layers.lines, this.#layers.texts, piece?.drawing ?? []);
      if (this.#untouched) this.#fitPiece();
    }
    this.#strain = strain;
    this.#invalidate();
  }

  setHandles(pins: FlatPin[]): void {
    this.#handles = new Map(pins.map((pin) => [pin.id, pin]));
    this.#showPins();
  }

  setNotes(notes: FlatNote[]): void {
    this.#notes = notes;
    this.#showNotes();
  }

  setSheets(tiles: Tiles | null): void {
    drawSheets(this.#layers.sheets, this.#layers.sheetTexts, tiles);
    if (tiles && tiles.sheets.length > 0) {
      const all = (axis: 0 | 1) => tiles.sheets.flatMap(({ low, high }) => [low[axis], high[axis]]);
      const [xs, ys] = [all(0), all(1)];
      this.#seen.fit([Math.min(...xs), Math.min(...ys)], [Math.max(...xs), Math.max(...ys)]);
      this.#tellScale();
    } else if (this.#untouched) {
      this.#fitPiece();
    }
    this.#invalidate();
  }

  setRuler(on: boolean): void {
    if (on === (this.#ruler !== null)) return;
    this.#ruler = on ? new Ruler(this.#seen.middle, (this.#seen.width * 0.5) / this.#seen.scale) : null;
    this.#showRuler();
  }

  /** Brings the piece back whole. */
  fit(): void {
    this.#untouched = true;
    this.#fitPiece();
    this.#invalidate();
  }

  zoom(by: number): void {
    this.#seen.zoom(by);
    this.#touched();
  }

  setScale(scale: number): void {
    this.#seen.zoom(scale / this.#seen.scale);
    this.#touched();
  }

  /** Brings a place into sight, where it is not. */
  reveal(at: Vec2): void {
    const { x, y } = this.#seen.toScreen(at);
    const inside = x > 30 && y > 30 && x < this.#seen.width - 30 && y < this.#seen.height - 30;
    if (inside) return;
    this.#seen.middle = at;
    this.#touched();
  }

  key(key: string): boolean {
    const by = 40;
    const shift = { ArrowLeft: [by, 0], ArrowRight: [-by, 0], ArrowUp: [0, by], ArrowDown: [0, -by] }[key];
    if (shift) this.#seen.shift(shift[0], shift[1]);
    else if (key === "+" || key === "=") this.#seen.zoom(1.2);
    else if (key === "-") this.#seen.zoom(1 / 1.2);
    else return false;
    this.#touched();
    return true;
  }

  #touched(): void {
    this.#untouched = false;
    this.#tellScale();
    this.#invalidate();
  }

  #tellScale(): void {
    this.hears.scaled(this.#seen.scale);
  }

  #fitRoom(): void {
    this.#seen.width = Math.max(this.room.clientWidth, 1);
    this.#seen.height = Math.max(this.room.clientHeight, 1);
    if (this.#untouched) this.#fitPiece();
    this.#invalidate();
  }

  #fitPiece(): void {
    const bounds = this.#piece?.bounds;
    if (bounds) this.#seen.fit(bounds.low, bounds.high);
    this.#tellScale();
  }

  #invalidate(): void {
    if (this.#frame) return;
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      paint(this.#canvas, this.#seen, this.#piece, this.#strain);
      const { middle, scale, width, height } = this.#seen;
      const [w, h] = [width / scale, height / scale];
      this.#svg.setAttribute("viewBox", `${middle[0] - w / 2} ${-middle[1] - h / 2} ${w} ${h}`);
      showLegible(this.#layers.texts, scale);
      scaleSheetNames(this.#layers.sheetTexts, scale);
      this.#placeAll();
    });
  }

  #placeAll(): void {
    this.#pins.place((id) => {
      const handle = this.#handles.get(id);
      const at = isEnd(id) ? this.#ruler?.ends[id] : handle?.at;
      const turn = handle && Math.atan2(handle.grows[0], handle.grows[1]);
      return at ? { ...this.#seen.toScreen(at), turn, hidden: false } : null;
    });
    this.#overlay.place([], (i) => {
      const at = i < this.#notes.length ? this.#notes[i].at : this.#ruler?.middle;
      return at ? this.#seen.toScreen(at) : null;
    });
  }

  #showPins(): void {
    const ends = this.#ruler
      ? ENDS.map((id, i) => ({
          id,
          look: "end" as const,
          name: "",
          said: `${this.words.ends[i]}, ${this.words.length(this.#ruler!.length)}`,
          chosen: false,
        }))
      : [];
    this.#pins.set([...this.#handles.values(), ...ends]);
    this.#invalidate();
  }

  #showNotes(): void {
    const length = this.#ruler
      ? [{ kind: "length" as const, text: this.words.length(this.#ruler.length) }]
      : [];
    this.#overlay.set([...this.#notes, ...length]);
    this.#invalidate();
  }

  #showRuler(): void {
    const layer = this.#layers.ruler;
    layer.replaceChildren();
    if (this.#ruler) {
      const [a, b] = [this.#ruler.ends["ruler.start"], this.#ruler.ends["ruler.end"]];
      for (const under of ["ruler-under", "ruler-line"]) {
        const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
        path.setAttribute("d", `M ${a[0]} ${a[1]} L ${b[0]} ${b[1]}`);
        path.setAttribute("class", under);
        layer.append(path);
      }
    }
    this.#showPins();
    this.#showNotes();
  }

  #press(x: number, y: number): boolean {
    if (!this.#ruler) return false;
    this.#ruler.ends["ruler.start"] = this.#seen.toPlane(x, y);
    this.#pull("ruler.end", this.#seen.toPlane(x, y));
    return true;
  }

  #pull(end: (typeof ENDS)[number], to: Vec2): void {
    if (!this.#ruler) return;
    this.#ruler.ends[end] = to;
    this.#showRuler();
  }

  #take(id: string): boolean {
    if (isEnd(id)) return true;
    const pin = this.#handles.get(id);
    if (!pin || !this.hears.take(id)) return false;
    this.#taken = { pin, ...this.#seen.toScreen(pin.at) };
    return true;
  }

  #move(id: string, x: number, y: number): void {
    if (isEnd(id)) {
      this.#pull(id, this.#seen.toPlane(x, y));
      return;
    }
    if (!this.#taken) return;
    const [gx, gy] = this.#taken.pin.grows;
    const by = ((x - this.#taken.x) * gx - (y - this.#taken.y) * gy) / this.#seen.scale;
    this.hears.dragHandle(id, by);
  }

  #nudge(id: string, event: KeyboardEvent): boolean {
    if (isEnd(id)) {
      const step = event.shiftKey ? 10 : 1;
      const ways: Record<string, Vec2> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
      if (!this.#ruler || !ways[event.key]) return false;
      this.#pull(id, add2(this.#ruler.ends[id], ways[event.key], step));
      return true;
    }
    const step = event.shiftKey ? BIG_STEP : STEP;
    if (event.key === "ArrowUp") this.hears.nudgeHandle(id, step);
    else if (event.key === "ArrowDown") this.hears.nudgeHandle(id, -step);
    else return false;
    return true;
  }

  #hover(x: number, y: number): void {
    if (!this.#piece) return;
    this.#twins ??= new Twins(this.#piece.wall);
    const flat = this.#seen.toPlane(x, y);
    const at = this.#twins.onLast(flat);
    this.hears.hover(at, at && flat);
  }
}
