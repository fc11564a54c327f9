// Shifting with one finger, zooming with two or with the wheel.
import type { FlatWindow } from "./window";

export interface Gestures {
  changed(): void;
  /** A press at these pixels. True where it begins something else than shifting. */
  press(x: number, y: number): boolean;
  /** What `press` began goes on. */
  pull(x: number, y: number): void;
  hover(x: number, y: number): void;
  left(): void;
}

export function listen(room: HTMLElement, seen: FlatWindow, does: Gestures, signal: AbortSignal): void {
  const fingers = new Map<number, { x: number; y: number }>();
  let pulling = false;
  const here = (event: PointerEvent | WheelEvent) => {
    const box = room.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  const span = () => {
    const [a, b] = [...fingers.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, wide: Math.hypot(a.x - b.x, a.y - b.y) };
  };
  const down = (event: PointerEvent) => {
    if (event.button !== 0) return;
    const at = here(event);
    fingers.set(event.pointerId, at);
    room.setPointerCapture(event.pointerId);
    pulling = fingers.size === 1 && does.press(at.x, at.y);
  };
  const move = (event: PointerEvent) => {
    const at = here(event);
    const before = fingers.get(event.pointerId);
    if (!before) {
      does.hover(at.x, at.y);
    } else if (pulling) {
      does.pull(at.x, at.y);
    } else if (fingers.size === 1) {
      seen.shift(at.x - before.x, at.y - before.y);
      does.changed();
    } else if (fingers.size === 2) {
      const old = span();
      fingers.set(event.pointerId, at);
      const now = span();
      seen.zoom(now.wide / Math.max(old.wide, 1), now.x, now.y);
      seen.shift(now.x - old.x, now.y - old.y);
      does.changed();
    }
    if (before) fingers.set(event.pointerId, at);
  };
  const up = (event: PointerEvent) => {
    if (fingers.size === 1 && !pulling) does.hover(here(event).x, here(event).y);
    fingers.delete(event.pointerId);
    pulling = false;
  };
  const wheel = (event: WheelEvent) => {
    event.preventDefault();
    const at = here(event);
    seen.zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.04 : 0.0015)), at.x, at.y);
    does.changed();
  };
  room.addEventListener("pointerdown", down, { signal });
  room.addEventListener("pointermove", move, { signal });
  room.addEventListener("pointerup", up, { signal });
  room.addEventListener("pointercancel", up, { signal });
  room.addEventListener("pointerleave", () => does.left(), { signal });
  room.addEventListener("wheel", wheel, { signal, passive: false });
}
