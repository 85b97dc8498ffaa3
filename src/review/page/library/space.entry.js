// What the 3D view uses: WebGL kept short, and polygons cut into triangles.
export { Camera, Geometry, Mesh, Orbit, Program, Renderer, Transform, Vec3 } from "ogl";
export { default as earcut } from "earcut";
