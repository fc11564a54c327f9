// The wall of the piece as it lies on the last, in the colours of its strain.
import { BufferAttribute, BufferGeometry, Color, DoubleSide, Mesh as Solid, MeshLambertMaterial, SRGBColorSpace, type Ray } from "three";
import { MeshBVH } from "three-mesh-bvh";

import { spanOf, strainColour } from "../../look/strain_colours";
import type { Piece } from "../../talk/piece_bytes";
import type { Vec3 } from "../../wire";

/** Lifted off the last by this, so that it hides no less than it covers, mm. */
const LIFT = 0.35;
const PLAIN = "#8fb3ab";

export class WallOnLast {
  readonly solid: Solid;
  #tree: MeshBVH | null = null;

  constructor(
    private readonly piece: Piece,
    strain: boolean,
  ) {
    this.solid = new Solid(
      this.#geometry(),
      new MeshLambertMaterial({ side: DoubleSide, vertexColors: true }),
    );
    this.colour(strain);
  }

  dispose(): void {
    this.solid.removeFromParent();
    this.solid.geometry.dispose();
    (this.solid.material as MeshLambertMaterial).dispose();
  }

  colour(strain: boolean): void {
    const { wall, limits } = this.piece;
    const span = spanOf(limits);
    const colours = this.solid.geometry.getAttribute("color");
    const colour = new Color(PLAIN);
    for (let t = 0; t < wall.strain.length; t++) {
      if (strain) {
        const [r, g, b] = strainColour(wall.strain[t], span);
        colour.setRGB(r / 255, g / 255, b / 255, SRGBColorSpace);
      }
      for (let k = 0; k < 3; k++) colours.setXYZ(3 * t + k, colour.r, colour.g, colour.b);
    }
    colours.needsUpdate = true;
  }

  /** The triangle under a ray and the point in it. */
  hit(ray: Ray): { triangle: number; at: Vec3; distance: number } | null {
    const hit = this.#grown().raycastFirst(ray, DoubleSide);
    if (!hit || hit.faceIndex == null) return null;
    return { triangle: hit.faceIndex, at: hit.point.toArray(), distance: hit.distance };
  }

  /** Grown when first asked for: a piece that only flashes by in a drag is never searched. */
  #grown(): MeshBVH {
    if (this.#tree) return this.#tree;
    const { wall } = this.piece;
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(wall.onLast, 3));
    geometry.setIndex(new BufferAttribute(wall.corners, 1));
    // Triangles keep their numbers: they lead to the flat piece.
    this.#tree = new MeshBVH(geometry, { indirect: true });
    return this.#tree;
  }

  /** Every triangle with corners of its own, for each has its own colour. */
  #geometry(): BufferGeometry {
    const { onLast, corners } = this.piece.wall;
    const smooth = new BufferGeometry();
    smooth.setAttribute("position", new BufferAttribute(onLast, 3));
    smooth.setIndex(new BufferAttribute(corners, 1));
    smooth.computeVertexNormals();
    const normals = smooth.getAttribute("normal").array;
    const places = new Float32Array(3 * corners.length);
    const ways = new Float32Array(3 * corners.length);
    corners.forEach((v, i) => {
      for (let axis = 0; axis < 3; axis++) {
        const way = normals[3 * v + axis];
        places[3 * i + axis] = onLast[3 * v + axis] + LIFT * way;
        ways[3 * i + axis] = way;
      }
    });
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(places, 3));
    geometry.setAttribute("normal", new BufferAttribute(ways, 3));
    geometry.setAttribute("color", new BufferAttribute(new Float32Array(3 * corners.length), 3));
    return geometry;
  }
}
