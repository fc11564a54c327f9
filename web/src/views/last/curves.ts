// Lines on the last, as wide as a pencil stroke whatever the distance.
import { Group } from "three";
import { Line2 } from "three/addons/lines/Line2.js";
import { LineGeometry } from "three/addons/lines/LineGeometry.js";
import { LineMaterial } from "three/addons/lines/LineMaterial.js";

import type { Vec3 } from "../../wire";

export interface Stroke {
  colour: string;
  /** CSS px. */
  width: number;
  /** Lengths of dash and gap, mm; solid without. */
  dash?: [number, number];
}

export const STROKES: Record<string, Stroke> = {
  feather_line: { colour: "#16423c", width: 2.5 },
  centre_back: { colour: "#16423c", width: 1.8, dash: [5, 2.5] },
  ground: { colour: "#6b6f6a", width: 1.5, dash: [3, 3] },
  edge: { colour: "#0c1614", width: 3.5 },
  ceiling: { colour: "#9c1c2e", width: 2.5, dash: [3, 2] },
};

export interface Curve {
  points: Vec3[];
  closed: boolean;
  stroke: Stroke;
}

/** A set of lines that is replaced as a whole. */
export class Curves {
  readonly group = new Group();
  /** Kept from set to set: a new one would be compiled anew. */
  #materials = new Map<Stroke, LineMaterial>();

  set(curves: Curve[]): void {
    this.clear();
    for (const { points, closed, stroke } of curves) {
      if (points.length < 2) continue;
      const geometry = new LineGeometry();
      geometry.setPositions((closed ? [...points, points[0]] : points).flat());
      const line = new Line2(geometry, this.#material(stroke));
      line.computeLineDistances();
      this.group.add(line);
    }
  }

  dispose(): void {
    this.clear();
    for (const material of this.#materials.values()) material.dispose();
    this.#materials.clear();
  }

  clear(): void {
    for (const line of this.group.children as Line2[]) line.geometry.dispose();
    this.group.clear();
  }

  #material(stroke: Stroke): LineMaterial {
    const known = this.#materials.get(stroke);
    if (known) return known;
    const material = new LineMaterial({
      color: stroke.colour,
      linewidth: stroke.width,
      dashed: stroke.dash !== undefined,
      dashSize: stroke.dash?.[0] ?? 1,
      gapSize: stroke.dash?.[1] ?? 0,
      polygonOffset: true,
      polygonOffsetFactor: -2,
      polygonOffsetUnits: -8,
    });
    this.#materials.set(stroke, material);
    return material;
  }
}
