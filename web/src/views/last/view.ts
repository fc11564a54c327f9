// The 3D view of the last: shows what it is given, tells what the hand does. Knows no framework.
import type { Mesh } from "../../talk/mesh_bytes";
import type { Piece } from "../../talk/piece_bytes";
import { Twins } from "../../space/twins";
import { add, dot, scaled, sub, unit } from "../../space/vec";
import type { LineTold, Vec2, Vec3 } from "../../wire";
import { Overlay, type Note } from "../overlay";
import { BIG_STEP, Pins, STEP, type Pin } from "../pins";
import { Curves, STROKES, type Curve } from "./curves";
import { Stage } from "./stage";
import { Surface } from "./surface";
import { WallOnLast } from "./wall";

/** A pin with its place; a handle has the way in which its number grows. */
export interface PlacedPin extends Pin {
  at: Vec3;
  grows?: Vec3;
}

export interface PlacedNote extends Note {
  at: Vec3;
}

/** A ray from the eye. */
export interface Sight {
  from: Vec3;
  along: Vec3;
}

export interface LastHears {
  choose(id: string): void;
  take(id: string): boolean;
  /**
   * A mark is dragged: the ray of the finger, and where the picture of the last says it is. Beside
   * the last `ray` is null, and `at` the place nearest to the finger.
   */
  dragMark(id: string, ray: Sight | null, at: Vec3 | null): void;
  /** A handle is dragged by so many mm since it was taken. */
  dragHandle(id: string, by: number): void;
  nudgeMark(id: string, to: Vec3): void;
  nudgeHandle(id: string, by: number): void;
  drop(id: string): void;
  leave(id: string): void;
  /** The last itself was tapped. */
  tap(ray: Sight, at: Vec3): void;
  /** The same point on the flat piece; null when the pointer left the wall. */
  hover(at: Vec3 | null, flat: Vec2 | null): void;
}

/** Handles that grow towards the eye would be wild: at least so many px a mm. */
const LEAST_PULL = 0.4;

const SIDES: Record<string, Vec3> = {
  back: [-1, 0, 0.25],
  left: [-0.25, 1, 0.3],
  right: [-0.25, -1, 0.3],
  below: [-0.2, 0, -1],
  above: [-0.2, 0, 1],
  whole: [-0.75, -0.65, 0.45],
};

export class LastView {
  #stage: Stage;
  #surface: Surface | null = null;
  #wall: WallOnLast | null = null;
  #piece: Piece | null = null;
  #twins: Twins | null = null;
  #lines = new Curves();
  #drawn: Curve[] = [];
  #ground: number | null = null;
  #edges = new Curves();
  #pins: Pins;
  #overlay: Overlay;
  #placed = new Map<string, PlacedPin>();
  #notes: PlacedNote[] = [];
  #strain = true;
  /** The handle as it was when taken: what it is dragged by counts from there. */
  #taken: { pin: PlacedPin; x: number; y: number } | null = null;
  #taps = new AbortController();

  /** Throws where the browser has no WebGL. */
  constructor(
    room: HTMLElement,
    layer: HTMLElement,
    private readonly hears: LastHears,
  ) {
    this.#stage = new Stage(room, () => this.#place());
    this.#stage.scene.add(this.#lines.group, this.#edges.group);
    this.#overlay = new Overlay(layer);
    this.#pins = new Pins(layer, ["right", "left", "over", "under"], {
      choose: (id) => this.hears.choose(id),
      take: (id) => this.#take(id),
      move: (id, x, y) => this.#move(id, x, y),
      drop: (id) => this.hears.drop(id),
      leave: (id) => this.hears.leave(id),
      key: (id, event) => this.#nudge(id, event),
    });
    this.#listen();
  }

  dispose(): void {
    this.#taps.abort();
    this.#surface?.dispose();
    this.#wall?.dispose();
    this.#lines.dispose();
    this.#edges.dispose();
    this.#stage.dispose();
  }

  /** Another last: the camera goes round it; the same one, mended: the camera stays. */
  setMesh(mesh: Mesh | null, stay: boolean): void {
    this.#surface?.dispose();
    this.#surface = mesh && new Surface(mesh, () => this.#stage.invalidate());
    if (!this.#surface) return;
    this.#stage.scene.add(this.#surface.solid);
    this.#drawLines();
    if (!stay) this.look("whole", true);
    this.#stage.invalidate();
  }

  /** Lines on the last, and the height of the ground beneath it; null where that is not known. */
  setLines(lines: LineTold[], ground: number | null): void {
    this.#drawn = lines.flatMap(({ name, points, closed }) => {
      const stroke = STROKES[name];
      return stroke ? [{ points, closed, stroke }] : [];
    });
    this.#ground = ground;
    this.#drawLines();
  }

  #drawLines(): void {
    const ground =
      this.#surface && this.#ground !== null
        ? [{ points: this.#surface.footprint(this.#ground), closed: true, stroke: STROKES.ground }]
        : [];
    this.#lines.set([...this.#drawn, ...ground]);
    this.#stage.invalidate();
  }

  setPiece(piece: Piece | null, strain: boolean): void {
    if (piece !== this.#piece) {
      this.#wall?.dispose();
      this.#twins = null;
      this.#piece = piece;
      this.#wall = piece && new WallOnLast(piece, strain);
      if (this.#wall) this.#stage.scene.add(this.#wall.solid);
      const ceilings = (piece?.ceilings ?? []).flatMap((ceiling) =>
        ceiling.lines.map((points) => ({ points, closed: false, stroke: STROKES.ceiling })),
      );
      const edge = piece ? [{ points: piece.edge, closed: false, stroke: STROKES.edge }] : [];
      this.#edges.set([...edge, ...ceilings]);
    } else if (strain !== this.#strain) {
      this.#wall?.colour(strain);
    }
    this.#strain = strain;
    this.#stage.invalidate();
  }

  setPins(pins: PlacedPin[]): void {
    this.#placed = new Map(pins.map((pin) => [pin.id, pin]));
    this.#pins.set(pins);
    this.#stage.invalidate();
  }

  setNotes(notes: PlacedNote[]): void {
    this.#notes = notes;
    this.#overlay.set(notes);
    this.#stage.invalidate();
  }

  focusPin(id: string): void {
    this.#pins.focus(id);
  }

  look(side: string, atOnce = false): void {
    if (!this.#surface) return;
    this.#stage.look(SIDES[side] ?? SIDES.whole, this.#surface.sample, atOnce);
  }

  /** Flies to a place on the last. */
  visit(at: Vec3): void {
    const near = this.#surface?.nearest(at);
    this.#stage.visit(at, near?.normal ?? SIDES.whole);
  }

  /** Flies to a pin only where it is out of sight. */
  reveal(id: string): void {
    const pin = this.#placed.get(id);
    if (!pin) return;
    const at = this.#stage.project(pin.at);
    const inside = at.x > 0 && at.y > 0 && at.x < this.#stage.width && at.y < this.#stage.height;
    if (!inside || this.#hidden(pin.at)) this.visit(pin.at);
  }

  /** What lies in the middle of the picture. */
  middle(): { ray: Sight; at: Vec3 } | null {
    return this.#under(this.#stage.width / 2, this.#stage.height / 2);
  }

  key(key: string): boolean {
    return this.#stage.key(key);
  }

  #hidden(at: Vec3): boolean {
    return this.#surface?.hides(this.#stage.camera.position, at) ?? false;
  }

  #under(x: number, y: number): { ray: Sight; at: Vec3 } | null {
    const ray = this.#stage.ray(x, y);
    const hit = this.#surface?.hit(ray);
    return hit ? { ray: told(ray), at: hit.at } : null;
  }

  #take(id: string): boolean {
    const pin = this.#placed.get(id);
    if (!pin || !this.hears.take(id)) return false;
    const { x, y } = this.#stage.project(pin.at);
    this.#taken = { pin, x, y };
    return true;
  }

  #move(id: string, x: number, y: number): void {
    const grows = this.#taken?.pin.grows;
    if (!grows || !this.#taken) {
      this.#moveMark(id, x, y);
      return;
    }
    const { pin } = this.#taken;
    const near = this.#stage.project(pin.at);
    const far = this.#stage.project(add(pin.at, grows, 10));
    const pull = { x: (far.x - near.x) / 10, y: (far.y - near.y) / 10 };
    const square = pull.x ** 2 + pull.y ** 2;
    const along = (x - this.#taken.x) * pull.x + (y - this.#taken.y) * pull.y;
    this.hears.dragHandle(id, along / Math.max(square, LEAST_PULL ** 2));
  }

  /** A mark on the outline leaves the last at the least slip of the hand: it goes along the outline. */
  #moveMark(id: string, x: number, y: number): void {
    const ray = this.#stage.ray(x, y);
    const hit = this.#surface?.hit(ray);
    const from = this.#placed.get(id)?.at;
    const beside = hit || !from ? null : (this.#surface?.beside(ray, from) ?? null);
    this.hears.dragMark(id, beside ? null : told(ray), hit?.at ?? beside);
  }

  #nudge(id: string, event: KeyboardEvent): boolean {
    const pin = this.#placed.get(id);
    if (!pin || !event.key.startsWith("Arrow")) return false;
    const step = event.shiftKey ? BIG_STEP : STEP;
    if (pin.grows) {
      if (event.key === "ArrowUp") this.hears.nudgeHandle(id, step);
      else if (event.key === "ArrowDown") this.hears.nudgeHandle(id, -step);
      else return false;
      return true;
    }
    const to = this.#alongSurface(pin.at, event.key, step);
    if (to) this.hears.nudgeMark(id, to);
    return true;
  }

  /** One step over the surface in the way that looks left, right, up or down. */
  #alongSurface(at: Vec3, key: string, step: number): Vec3 | null {
    const here = this.#surface?.nearest(at);
    if (!here) return null;
    const axes = this.#stage.camera.matrixWorld.elements;
    const [column, sign] = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [4, 1], ArrowDown: [4, -1] }[key] ?? [0, 0];
    const way = scaled([axes[column], axes[column + 1], axes[column + 2]], sign);
    const along = unit(sub(way, scaled(here.normal, dot(way, here.normal))));
    return along && (this.#surface?.nearest(add(at, along, step))?.at ?? null);
  }

  #place(): void {
    const taken = this.#pins.place((id) => {
      const pin = this.#placed.get(id);
      if (!pin) return null;
      const { x, y, behind } = this.#stage.project(pin.at);
      const far = pin.grows && this.#stage.project(add(pin.at, pin.grows, 5));
      const turn = far && Math.atan2(far.x - x, y - far.y);
      return { x, y, turn, hidden: behind || this.#hidden(pin.at) };
    });
    this.#overlay.place(taken, (i) => {
      const { at, kind } = this.#notes[i];
      const { x, y, behind } = this.#stage.project(at);
      const inside = x > 0 && y > 0 && x < this.#stage.width && y < this.#stage.height;
      return behind || !inside || (kind !== "ring" && this.#hidden(at)) ? null : { x, y };
    });
  }

  #listen(): void {
    const { canvas } = this.#stage;
    const signal = this.#taps.signal;
    let down: { x: number; y: number } | null = null;
    canvas.addEventListener("pointerdown", (e) => (down = { x: e.offsetX, y: e.offsetY }), { signal });
    canvas.addEventListener(
      "pointerup",
      (e) => {
        if (!down || Math.hypot(e.offsetX - down.x, e.offsetY - down.y) > 5) return;
        const under = this.#under(e.offsetX, e.offsetY);
        if (under) this.hears.tap(under.ray, under.at);
        this.#hover(e.offsetX, e.offsetY);
      },
      { signal },
    );
    canvas.addEventListener(
      "pointermove",
      (e) => {
        if (e.pointerType === "mouse" && e.buttons === 0) this.#hover(e.offsetX, e.offsetY);
      },
      { signal },
    );
    canvas.addEventListener("pointerleave", () => this.hears.hover(null, null), { signal });
  }

  #hover(x: number, y: number): void {
    if (!this.#wall || !this.#piece) return;
    const ray = this.#stage.ray(x, y);
    const hit = this.#wall.hit(ray);
    const before = this.#surface?.hit(ray)?.distance ?? Infinity;
    if (!hit || hit.distance > before + 1.5) {
      this.hears.hover(null, null);
      return;
    }
    this.#twins ??= new Twins(this.#piece.wall);
    this.hears.hover(hit.at, this.#twins.onFlat(hit.triangle, hit.at));
  }
}

function told(ray: { origin: { toArray(): number[] }; direction: { toArray(): number[] } }): Sight {
  return { from: ray.origin.toArray() as Vec3, along: ray.direction.toArray() as Vec3 };
}
