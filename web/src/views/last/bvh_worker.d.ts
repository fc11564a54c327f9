// The package types this class only together with another one that would be bundled for nothing.
declare module "three-mesh-bvh/src/workers/GenerateMeshBVHWorker.js" {
  export { GenerateMeshBVHWorker } from "three-mesh-bvh/worker";
}
