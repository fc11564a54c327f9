// Camera, light and canvas of the 3D view. Draws only when something changed.
import {
  Color,
  DirectionalLight,
  HemisphereLight,
  PerspectiveCamera,
  Raycaster,
  Scene,
  Vector2,
  Vector3,
  WebGLRenderer,
  type Ray,
} from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";

import type { Vec3 } from "../../wire";

/** Narrow, so that lengths near and far look alike. */
const FIELD_DEGREES = 22;
const FLIGHT_MS = 380;
/** Screens with more pixels than this per CSS pixel would only slow old tablets. */
const MOST_PIXELS = 2;
/** Share of the picture that what is looked at may fill: buttons and names want the rest. */
const ROOM = 0.8;
const TURN = Math.PI / 18;

export class Stage {
  readonly scene = new Scene();
  readonly camera = new PerspectiveCamera(FIELD_DEGREES, 1, 5, 4000);
  readonly canvas: HTMLCanvasElement;
  width = 1;
  height = 1;
  #renderer: WebGLRenderer;
  #controls: OrbitControls;
  #frame = 0;
  #flight = 0;
  #resize: ResizeObserver;
  /** What was last looked at whole; null once the user turned the view. */
  #looked: { from: Vec3; points: Vector3[] } | null = null;

  /** Throws where the browser has no WebGL. */
  constructor(
    private readonly room: HTMLElement,
    private readonly drawn: () => void,
  ) {
    this.#renderer = new WebGLRenderer({ antialias: !paintsByProcessor(), powerPreference: "low-power" });
    this.canvas = this.#renderer.domElement;
    this.canvas.setAttribute("aria-hidden", "true");
    room.prepend(this.canvas);
    this.scene.background = new Color("#eef1ee");
    this.camera.up.set(0, 0, 1);
    const sun = new DirectionalLight("#ffffff", 0.95);
    sun.position.set(0.4, 0.7, 1);
    this.camera.add(sun);
    this.scene.add(this.camera, new HemisphereLight("#ffffff", "#dcd8d0", 2.3));
    this.#controls = new OrbitControls(this.camera, this.canvas);
    this.#controls.enableDamping = false;
    this.#controls.minDistance = 60;
    this.#controls.maxDistance = 2500;
    this.#controls.addEventListener("change", () => this.invalidate());
    this.#controls.addEventListener("start", () => {
      cancelAnimationFrame(this.#flight);
      this.#looked = null;
    });
    this.#resize = new ResizeObserver(() => this.#fit());
    this.#resize.observe(room);
    this.#fit();
  }

  dispose(): void {
    this.#resize.disconnect();
    cancelAnimationFrame(this.#frame);
    cancelAnimationFrame(this.#flight);
    this.#controls.dispose();
    this.#renderer.dispose();
    this.canvas.remove();
  }

  invalidate(): void {
    if (this.#frame) return;
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      this.#renderer.render(this.scene, this.camera);
      this.drawn();
    });
  }

  /** Pixels of a place; `behind` where it lies behind the camera. */
  project(at: Vec3): { x: number; y: number; behind: boolean } {
    const p = new Vector3(...at).project(this.camera);
    return { x: ((p.x + 1) / 2) * this.width, y: ((1 - p.y) / 2) * this.height, behind: p.z > 1 };
  }

  /** The ray from the eye through a pixel. */
  ray(x: number, y: number): Ray {
    const caster = new Raycaster();
    caster.setFromCamera(new Vector2((x / this.width) * 2 - 1, 1 - (y / this.height) * 2), this.camera);
    return caster.ray;
  }

  /** Looks at a body from a direction, as near as all of its points are seen. */
  look(from: Vec3, points: Vector3[], atOnce = false): void {
    this.#looked = { from, points };
    const direction = new Vector3(...from).normalize();
    const side = new Vector3(0, 0, 1).cross(direction).normalize();
    const up = direction.clone().cross(side);
    const goal = middleOf(points, side, up, direction);
    const tall = Math.tan(((FIELD_DEGREES / 2) * Math.PI) / 180) * ROOM;
    const wide = tall * this.camera.aspect;
    let distance = 0;
    for (const point of points) {
      const arm = point.clone().sub(goal);
      const need = Math.max(Math.abs(arm.dot(side)) / wide, Math.abs(arm.dot(up)) / tall);
      distance = Math.max(distance, need + arm.dot(direction));
    }
    this.#fly(goal.clone().addScaledVector(direction, distance), goal, atOnce);
  }

  /** Flies to where `at` is seen along `normal`, keeping the distance within reason. */
  visit(at: Vec3, normal: Vec3): void {
    this.#looked = null;
    const goal = new Vector3(...at);
    const distance = Math.min(this.camera.position.distanceTo(this.#controls.target), 520);
    const direction = new Vector3(...normal).normalize();
    // Straight from above or below the turn about z is lost.
    direction.z = Math.min(Math.max(direction.z, -0.9), 0.9);
    this.#fly(goal.clone().addScaledVector(direction.normalize(), distance), goal, false);
  }

  /** Turning and coming closer by keys. True where the key was used. */
  key(key: string): boolean {
    const offset = this.camera.position.clone().sub(this.#controls.target);
    const side = new Vector3(0, 0, 1).cross(offset).normalize();
    const tilt = (by: number) => {
      const turned = offset.clone().applyAxisAngle(side, by);
      if (Math.abs(turned.clone().normalize().z) < 0.995) offset.copy(turned);
    };
    if (key === "ArrowLeft") offset.applyAxisAngle(this.camera.up, -TURN);
    else if (key === "ArrowRight") offset.applyAxisAngle(this.camera.up, TURN);
    else if (key === "ArrowUp") tilt(TURN);
    else if (key === "ArrowDown") tilt(-TURN);
    else if (key === "+" || key === "=") offset.multiplyScalar(1 / 1.15);
    else if (key === "-") offset.multiplyScalar(1.15);
    else return false;
    this.#looked = null;
    this.#set(this.#controls.target.clone().add(offset), this.#controls.target);
    return true;
  }

  #fly(position: Vector3, target: Vector3, atOnce: boolean): void {
    cancelAnimationFrame(this.#flight);
    if (atOnce || matchMedia("(prefers-reduced-motion: reduce)").matches) {
      this.#set(position, target);
      return;
    }
    const from = this.camera.position.clone().sub(this.#controls.target);
    const to = position.clone().sub(target);
    const start = this.#controls.target.clone();
    const begun = performance.now();
    const step = () => {
      const t = Math.min((performance.now() - begun) / FLIGHT_MS, 1);
      const eased = t * t * (3 - 2 * t);
      const offset = from.clone().lerp(to, eased);
      // Opposite directions would fly through the last: keep the distance while turning.
      offset.setLength(Math.max(from.length() + (to.length() - from.length()) * eased, 1));
      const goal = start.clone().lerp(target, eased);
      this.#set(goal.clone().add(offset), goal);
      if (t < 1) this.#flight = requestAnimationFrame(step);
    };
    step();
  }

  #set(position: Vector3, target: Vector3): void {
    this.#controls.target.copy(target);
    this.camera.position.copy(position);
    this.#controls.update();
    this.invalidate();
  }

  #fit(): void {
    this.width = Math.max(this.room.clientWidth, 1);
    this.height = Math.max(this.room.clientHeight, 1);
    this.#renderer.setPixelRatio(Math.min(devicePixelRatio, MOST_PIXELS));
    this.#renderer.setSize(this.width, this.height, false);
    this.camera.aspect = this.width / this.height;
    this.camera.updateProjectionMatrix();
    if (this.#looked) this.look(this.#looked.from, this.#looked.points, true);
    this.invalidate();
  }
}

/** Whether the processor draws in place of a graphics chip: smooth edges would halve its speed. */
function paintsByProcessor(): boolean {
  const gl = document.createElement("canvas").getContext("webgl2");
  const info = gl?.getExtension("WEBGL_debug_renderer_info");
  const name = info ? String(gl?.getParameter(info.UNMASKED_RENDERER_WEBGL)) : "";
  gl?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software|basic render/i.test(name);
}

/** The middle of what is seen of the points, along three ways at right angles. */
function middleOf(points: Vector3[], ...ways: Vector3[]): Vector3 {
  const middle = new Vector3();
  for (const way of ways) {
    const along = points.map((point) => point.dot(way));
    middle.addScaledVector(way, (Math.min(...along) + Math.max(...along)) / 2);
  }
  return middle;
}
