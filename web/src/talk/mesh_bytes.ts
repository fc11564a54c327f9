// A mesh as the program sends it: see the last lines of `wire.ts`.

export interface Mesh {
  /** Three numbers a vertex, in the frame of the mesh, its origin already added. */
  places: Float32Array;
  /** Three corners a triangle. */
  corners: Uint32Array;
}

/** Reads mesh bytes. Throws where they are cut short. */
export function readMesh(bytes: ArrayBuffer): Mesh {
  const view = new DataView(bytes);
  const n = view.getUint32(0, true);
  const m = view.getUint32(4, true);
  const origin = [8, 16, 24].map((at) => view.getFloat64(at, true));
  const places = new Float32Array(bytes.slice(32, 32 + 12 * n));
  const corners = new Uint32Array(bytes.slice(32 + 12 * n, 32 + 12 * (n + m)));
  if (places.length !== 3 * n || corners.length !== 3 * m) throw new Error("the mesh is cut short");
  if (origin.some((o) => o !== 0)) {
    for (let i = 0; i < places.length; i++) places[i] += origin[i % 3];
  }
  return { places, corners };
}
