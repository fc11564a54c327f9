// The wall of the piece as it lies on the last, in the colours of its strain.
import { BufferAttribute, BufferGeometry, Color, DoubleSide, Mesh as Solid, MeshLambertMaterial, SRGBColorSpace, type Ray } from "three";
import { MeshBVH } from "three-mesh-bvh";

import { spanOf, strainColour } from "../../look/strain_colours";
import { vertexStrain } from "../../space/strain";
import type { Piece } from "../../talk/piece_bytes";
import type { Vec3 } from "../../wire";

/** Lifted off the last by this, mm: its triangles and those of the last cut through each other. */
const LIFT = 0.12;
const PLAIN = "#8fb3ab";

/** One for all pieces: with one of its own each piece of a drag would be compiled for anew. */
const MATERIAL = new MeshLambertMaterial({
  side: DoubleSide,
  vertexColors: true,
  // Behind the lines and before the last, which stands back further.
  polygonOffset: true,
  polygonOffsetFactor: 0.75,
  polygonOffsetUnits: 20,
});

export class WallOnLast {
  readonly solid: Solid;
  #tree: MeshBVH | null = null;

  constructor(
    private readonly piece: Piece,
    strain: boolean,
  ) {
    this.solid = new Solid(this.#geometry(), MATERIAL);
    this.colour(strain);
  }

  dispose(): void {
    this.solid.removeFromParent();
    this.solid.geometry.dispose();
  }

  colour(strain: boolean): void {
    const { wall, limits } = this.piece;
    const span = spanOf(limits);
    const colours = this.solid.geometry.getAttribute("color");
    const colour = new Color(PLAIN);
    const atVertices = strain ? vertexStrain(wall) : null;
    for (let v = 0; v < colours.count; v++) {
      if (atVertices) {
        const [r, g, b] = strainColour(atVertices[v], span);
        colour.setRGB(r / 255, g / 255, b / 255, SRGBColorSpace);
      }
      colours.setXYZ(v, colour.r, colour.g, colour.b);
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

  #geometry(): BufferGeometry {
    const { onLast, corners } = this.piece.wall;
    const geometry = new BufferGeometry();
    const places = new BufferAttribute(onLast.slice(), 3);
    geometry.setAttribute("position", places);
    geometry.setIndex(new BufferAttribute(corners, 1));
    geometry.computeVertexNormals();
    const normals = geometry.getAttribute("normal").array;
    places.array.forEach((value, i) => (places.array[i] = value + LIFT * normals[i]));
    geometry.setAttribute("color", new BufferAttribute(new Float32Array(onLast.length), 3));
    return geometry;
  }
}
