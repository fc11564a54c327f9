// The surface of the last: drawn, and found again under a ray. The tree for finding is built
// beside the page, so that half a million triangles block nothing.
import { Box3, BufferAttribute, BufferGeometry, DoubleSide, Mesh as Solid, MeshLambertMaterial, Ray, Vector3 } from "three";
import { MeshBVH } from "three-mesh-bvh";
import { GenerateMeshBVHWorker } from "three-mesh-bvh/src/workers/GenerateMeshBVHWorker.js";

import type { Mesh } from "../../talk/mesh_bytes";
import type { Vec3 } from "../../wire";

export interface Hit {
  at: Vec3;
  normal: Vec3;
  distance: number;
}

/** Going to and fro between ray and surface so often brings them as near as they come. */
const BESIDE_STEPS = 20;

export class Surface {
  readonly solid: Solid;
  /** Points that tell a camera how far the last reaches. */
  readonly sample: Vector3[];
  #tree: MeshBVH | null = null;
  #searched: BufferGeometry;
  #worker: GenerateMeshBVHWorker | null = null;

  constructor(mesh: Mesh, ready: () => void) {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(mesh.places, 3));
    geometry.setIndex(new BufferAttribute(mesh.corners, 1));
    geometry.computeVertexNormals();
    geometry.computeBoundingSphere();
    this.sample = sampled(mesh.places);
    this.solid = new Solid(
      geometry,
      new MeshLambertMaterial({
        color: "#d8cfbd",
        side: DoubleSide,
        // Lines and the piece lie on it and must win.
        polygonOffset: true,
        polygonOffsetFactor: 1.5,
        polygonOffsetUnits: 60,
      }),
    );
    this.#searched = searchable(mesh);
    void this.#grow(mesh, ready);
  }

  async #grow(mesh: Mesh, ready: () => void): Promise<void> {
    const worker = new GenerateMeshBVHWorker();
    this.#worker = worker;
    try {
      this.#tree = await worker.generate(this.#searched);
    } catch {
      // No worker: better to wait a moment than to have a last that cannot be touched.
      this.#searched = searchable(mesh);
      this.#tree = new MeshBVH(this.#searched);
    }
    worker.dispose();
    // Put away in the meantime.
    if (this.#worker !== worker) return;
    this.#worker = null;
    ready();
  }

  dispose(): void {
    this.#worker = null;
    this.solid.removeFromParent();
    this.solid.geometry.dispose();
    (this.solid.material as MeshLambertMaterial).dispose();
  }

  /** A rectangle round the last at height `z`. */
  footprint(z: number): Vec3[] {
    const margin = 8;
    const { min, max } = new Box3().setFromPoints(this.sample).expandByScalar(margin);
    return [
      [min.x, min.y, z],
      [max.x, min.y, z],
      [max.x, max.y, z],
      [min.x, max.y, z],
    ];
  }

  /** The first point under a ray; null beside the last, or while the tree grows. */
  hit(ray: Ray): Hit | null {
    const hit = this.#tree?.raycastFirst(ray, DoubleSide);
    if (!hit?.face) return null;
    const normal = hit.face.normal.clone();
    if (normal.dot(ray.direction) > 0) normal.negate();
    return { at: hit.point.toArray(), normal: normal.toArray(), distance: hit.distance };
  }

  /** The nearest point of the surface, with the normal there; null while the tree grows. */
  nearest(at: Vec3): Hit | null {
    const near = this.#tree?.closestPointToPoint(new Vector3(...at));
    if (!near) return null;
    const index = this.#searched.index!;
    const places = this.#searched.getAttribute("position");
    const corner = (k: number) =>
      new Vector3().fromBufferAttribute(places, index.getX(3 * near.faceIndex + k));
    const [a, b, c] = [corner(0), corner(1), corner(2)];
    const normal = b.sub(a).cross(c.sub(a)).normalize();
    return { at: near.point.toArray(), normal: normal.toArray(), distance: near.distance };
  }

  /** For a ray beside the last: the place of the surface nearest to it, looked for from `start`. */
  beside(ray: Ray, start: Vec3): Vec3 | null {
    let at: Vec3 | null = start;
    for (let step = 0; at && step < BESIDE_STEPS; step++) {
      const near: Vec3 = ray.closestPointToPoint(new Vector3(...at), new Vector3()).toArray();
      at = this.nearest(near)?.at ?? null;
    }
    return at;
  }

  /** Whether the last hides `at` from `eye`. */
  hides(eye: Vector3, at: Vec3): boolean {
    if (!this.#tree) return false;
    const goal = new Vector3(...at);
    const away = goal.distanceTo(eye);
    const hit = this.#tree.raycastFirst(new Ray(eye, goal.sub(eye).normalize()), DoubleSide);
    // Marks lie on the surface: what is hit just before them is their own place.
    return hit !== null && hit !== undefined && hit.distance < away - 1.5;
  }
}

/** Copies, for the worker takes its arrays away and the tree puts them into an order of its own. */
function searchable(mesh: Mesh): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(mesh.places.slice(), 3));
  geometry.setIndex(new BufferAttribute(mesh.corners.slice(), 1));
  return geometry;
}

/** Enough that none of the outline is missed by more than a few millimetres. */
const SAMPLE = 1500;

function sampled(places: Float32Array): Vector3[] {
  const step = Math.max(1, Math.floor(places.length / 3 / SAMPLE));
  const points: Vector3[] = [];
  for (let i = 0; i < places.length; i += 3 * step) points.push(new Vector3().fromArray(places, i));
  return points;
}
