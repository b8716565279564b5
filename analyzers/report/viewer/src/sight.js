// From where are these faces seen best? Asked of the picture itself: normals alone fly the camera under the part.
import { Mesh, MeshBasicMaterial, OrthographicCamera, Scene, Vector3, WebGLRenderTarget } from "three";

const SIZE = 96;
const DIRECTIONS = [];
for (const x of [-1, 0, 1]) for (const y of [-1, 0, 1]) for (const z of [-1, 0, 1]) if (x || y || z) DIRECTIONS.push([x, y, z]);

/** Return the direction (to the eye) among 26 from which most of the faces' pixels show; ties go to `favourite`. */
export function bestSight(renderer, solid, faces, favourite) {
  const target = new WebGLRenderTarget(SIZE, SIZE);
  const scene = new Scene();
  const wanted = solid.geometry.clone();
  const { start, index } = solid.body.mesh;
  wanted.setIndex(faces.flatMap((face) => Array.from(index.subarray(start[face] * 3, start[face + 1] * 3))));
  const front = new MeshBasicMaterial({ color: "#ffffff", polygonOffset: true, polygonOffsetFactor: -1, polygonOffsetUnits: -2 });
  scene.add(new Mesh(solid.geometry, new MeshBasicMaterial({ color: "#000000" })), new Mesh(wanted, front));
  const camera = new OrthographicCamera(-1, 1, 1, -1, 0, 4);
  const pixels = new Uint8Array(SIZE * SIZE * 4);
  const middle = solid.place(faces).getCenter(new Vector3());
  const reach = Math.max(solid.place(faces).getSize(new Vector3()).length() * 0.6, solid.radius * 1e-3);
  let best = { score: -1, direction: favourite };
  for (const each of DIRECTIONS) {
    const direction = new Vector3(...each).normalize();
    aim(camera, middle, direction, reach, solid.radius);
    renderer.setRenderTarget(target);
    renderer.setClearColor("#000000", 1);
    renderer.clear();
    renderer.render(scene, camera);
    renderer.readRenderTargetPixels(target, 0, 0, SIZE, SIZE, pixels);
    let seen = 0;
    for (let i = 0; i < pixels.length; i += 4) if (pixels[i] > 127) seen++;
    // a slanted view tells more than one along an axis; a small turn is easier to follow than a large one
    const slant = Math.abs(each[0]) + Math.abs(each[1]) + Math.abs(each[2]) > 1 ? 1.6 : 1;
    const score = seen * slant * (1 + 0.15 * direction.dot(favourite)) * (each[2] < 0 ? 0.9 : 1);
    if (score > best.score) best = { score, direction, seen };
  }
  renderer.setRenderTarget(null);
  target.dispose();
  front.dispose();
  return best.direction;
}

/** Place an orthographic camera so that it looks at `middle` from `direction`. */
export function aim(camera, middle, direction, reach, radius) {
  camera.up.set(0, 0, 1);
  if (Math.abs(direction.z) > 0.999) camera.up.set(0, 1, 0);
  camera.left = -reach;
  camera.right = reach;
  camera.top = reach;
  camera.bottom = -reach;
  camera.near = 0;
  camera.far = radius * 8;
  camera.position.copy(middle).addScaledVector(direction, radius * 4);
  camera.lookAt(middle);
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld();
}
