// One canvas with a camera that can be turned: draws only when something has changed.
import { OrthographicCamera, Raycaster, Vector2, Vector3, WebGLRenderer } from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { named } from "./page.js";
import { Solid } from "./scene.js";
import { bestSight } from "./sight.js";

export const VIEWS = {
  Front: [0, -1, 0], Back: [0, 1, 0], Left: [-1, 0, 0], Right: [1, 0, 0], Top: [0, 0, 1], Bottom: [0, 0, -1], Corner: [1, -1, 1],
};
const CLOSE = 1.1;
const FAR = 12; // faces farther apart than this many times the largest of them would be dots
const GUTTER_PX = 40; // on both sides, for the labels
const FLIGHT_MS = 350;
const calm = matchMedia("(prefers-reduced-motion: reduce)");

/** Return a new canvas's drawing context, or null. */
export function drawingContext() {
  return document.createElement("canvas").getContext("webgl2", { alpha: true, antialias: true, depth: true });
}

export class Stage {
  constructor(frame, body, context, changed) {
    this.frame = frame;
    this.solid = new Solid(body);
    this.changed = changed;
    this.renderer = new WebGLRenderer({ canvas: context.canvas, context, alpha: true });
    this.renderer.debug.checkShaderErrors = false; // asking waits until all is compiled
    this.renderer.localClippingEnabled = true;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.canvas = this.renderer.domElement;
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "application");
    const name = named("The part in 3D. Arrow keys turn it, plus and minus zoom, F fits, digits 1 to 7 choose a view.");
    for (const [key, value] of Object.entries(name)) this.canvas.setAttribute(key, value);
    window.rename([this.canvas]);
    frame.prepend(this.canvas);
    const { radius, centre } = this.solid;
    this.camera = new OrthographicCamera(-1, 1, 1, -1, -radius * 20, radius * 20);
    this.controls = new OrbitControls(this.camera, this.canvas);
    this.controls.target.copy(centre);
    this.controls.addEventListener("change", () => this.draw());
    this.camera.up.set(0, 0, 1);
    this.look(new Vector3(...body.view), centre, radius, true);
    new ResizeObserver(() => this.resize()).observe(frame);
    this.canvas.addEventListener("keydown", (event) => this.key(event));
    this.resize();
  }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.frame;
    if (!width || !height || (width === this.size?.[0] && height === this.size[1])) return;
    this.size = [width, height];
    this.renderer.setSize(width, height, false);
    const first = !this.aspect;
    this.aspect = width / height;
    if (first) return this.look(this.direction(), this.solid.centre, this.whole(this.direction()), true); // a hidden frame has no size to fit into
    this.frustum();
    return this.draw();
  }

  frustum() {
    const half = this.reach;
    const aspect = this.aspect || 4 / 3;
    this.camera.left = -half * Math.max(aspect, 1);
    this.camera.right = half * Math.max(aspect, 1);
    this.camera.top = half * Math.max(1, 1 / aspect);
    this.camera.bottom = -half * Math.max(1, 1 / aspect);
    this.camera.updateProjectionMatrix();
  }

  /** Draw in the next frame. The canvas says that it is busy until a frame is drawn with the camera at rest. */
  draw() {
    if (this.drawing) return;
    this.drawing = true;
    this.canvas.ariaBusy = "true";
    requestAnimationFrame(() => {
      this.drawing = false;
      this.camera.updateMatrixWorld();
      this.solid.lamp.quaternion.copy(this.camera.quaternion);
      this.renderer.setClearColor("#000000", 0);
      this.renderer.render(this.solid.scene, this.camera);
      const resting = !this.flight && !this.drawing;
      this.changed(resting);
      if (resting) this.canvas.ariaBusy = "false";
    });
  }

  /** Look at a point from a direction, showing `reach` mm on each side of it. */
  look(direction, middle, reach, atOnce = calm.matches) {
    const towards = direction.clone().normalize();
    // straight from above the controls have no sense of up: lean by a hair
    if (Math.abs(towards.z) > 0.9999) towards.set(0, -1e-4, Math.sign(towards.z)).normalize();
    const from = { direction: this.direction(), middle: this.controls.target.clone(), reach: (this.reach || reach) / (this.camera.zoom || 1) };
    const set = (share) => {
      const way = from.direction.clone().lerp(towards, share);
      if (way.length() < 1e-3) way.copy(towards);
      this.controls.target.lerpVectors(from.middle, middle, share);
      this.camera.position.copy(this.controls.target).addScaledVector(way.normalize(), this.solid.radius * 4);
      this.reach = from.reach * (reach / from.reach) ** share;
      this.camera.zoom = 1;
      this.frustum();
      this.controls.update();
      this.draw();
    };
    this.flight = atOnce ? null : {};
    if (atOnce) return set(1);
    this.canvas.ariaBusy = "true";
    const [mine, begin] = [this.flight, performance.now()];
    const step = (now) => {
      if (mine !== this.flight) return;
      const share = Math.min(1, (now - begin) / FLIGHT_MS);
      if (share < 1) requestAnimationFrame(step);
      else this.flight = null;
      set(share * share * (3 - 2 * share));
    };
    return requestAnimationFrame(step);
  }

  /** Return the reach that shows the whole part from a direction. */
  whole(direction) {
    const eye = direction.clone().normalize();
    const right = new Vector3(0, 0, 1).cross(eye);
    if (right.length() < 1e-3) right.set(1, 0, 0);
    right.normalize();
    const up = eye.clone().cross(right);
    const { position } = this.solid.body.mesh;
    const extent = (axis) => {
      let most = 0;
      for (let i = 0; i < position.length; i += 3) {
        const away = (position[i] - this.solid.centre.x) * axis.x + (position[i + 1] - this.solid.centre.y) * axis.y + (position[i + 2] - this.solid.centre.z) * axis.z;
        most = Math.max(most, Math.abs(away));
      }
      return most;
    };
    const aspect = (this.frame.clientWidth - 2 * GUTTER_PX) / this.frame.clientHeight || 4 / 3;
    const fit = aspect > 1 ? Math.max(extent(up), extent(right) / aspect) : Math.max(extent(right), extent(up) * aspect);
    return (fit || this.solid.radius) * CLOSE;
  }

  direction() {
    const way = this.camera.position.clone().sub(this.controls.target);
    return way.length() ? way.normalize() : new Vector3(...this.solid.body.view).normalize();
  }

  fit() {
    this.look(this.direction(), this.solid.centre, this.whole(this.direction()));
  }

  view(name) {
    const direction = new Vector3(...VIEWS[name]);
    this.look(direction, this.solid.centre, this.whole(direction));
  }

  /** Mark faces and bring the camera to where they are seen best. */
  show(faces) {
    this.solid.mark(faces);
    if (!faces.length) return this.draw();
    const near = this.nearby(faces);
    const box = this.solid.place(near);
    const size = box.getSize(new Vector3()).length();
    const reach = Math.min(this.solid.radius * CLOSE, Math.max(size * 1.2, this.solid.radius * (near === faces ? 0.45 : 0.06)));
    const direction = bestSight(this.renderer, this.solid, near, this.direction());
    return this.look(direction, box.getCenter(new Vector3()), reach);
  }

  /** Return those of the faces to go to: all of them, or the first feature's where they are small and far apart. */
  nearby(faces) {
    const size = (some) => this.solid.place(some).getSize(new Vector3()).length();
    if (size(faces) < FAR * Math.max(...faces.map((face) => size([face])))) return faces;
    const feature = this.solid.body.features.find((each) => each.faces.includes(faces[0]));
    const own = feature ? faces.filter((face) => feature.faces.includes(face)) : [];
    return own.length ? own : [faces[0]];
  }

  /** Return what lies under a place of the window: {face, point}, or null. */
  under(clientX, clientY) {
    const box = this.canvas.getBoundingClientRect();
    const at = new Vector2(((clientX - box.left) / box.width) * 2 - 1, 1 - ((clientY - box.top) / box.height) * 2);
    const ray = new Raycaster();
    ray.setFromCamera(at, this.camera);
    const planes = this.solid.faces.material.clippingPlanes;
    const hit = ray
      .intersectObject(this.solid.faces, false)
      .find((each) => !planes?.length || planes[0].distanceToPoint(each.point) >= 0);
    return hit ? { face: this.solid.faceOf(hit.faceIndex), point: hit.point } : null;
  }

  /** Return where points of the part are on the canvas, in pixels. */
  places(points) {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    return points.map((point) => {
      const seen = point.clone().project(this.camera);
      return { x: ((seen.x + 1) / 2) * width, y: ((1 - seen.y) / 2) * height };
    });
  }

  key(event) {
    const turn = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    const names = Object.keys(VIEWS);
    if (turn) this.turn(...turn.map((each) => (each * Math.PI) / 12));
    else if (event.key === "+" || event.key === "=") this.zoom(1.25);
    else if (event.key === "-") this.zoom(0.8);
    else if (event.key.toLowerCase() === "f") this.fit();
    else if (names[Number(event.key) - 1]) this.view(names[Number(event.key) - 1]);
    else return;
    event.preventDefault();
  }

  turn(around, over) {
    const way = this.direction();
    const height = Math.asin(Math.max(-1, Math.min(1, way.z)));
    const angle = Math.atan2(way.y, way.x) + around;
    const tilt = Math.max(-1.5, Math.min(1.5, height + over));
    const next = new Vector3(Math.cos(angle) * Math.cos(tilt), Math.sin(angle) * Math.cos(tilt), Math.sin(tilt));
    this.look(next, this.controls.target.clone(), this.reach / this.camera.zoom, true);
  }

  zoom(factor) {
    this.camera.zoom *= factor;
    this.camera.updateProjectionMatrix();
    this.controls.update();
    this.draw();
  }

  dispose() {
    this.controls.dispose();
    this.solid.dispose();
    this.renderer.dispose();
    this.renderer.forceContextLoss();
    this.canvas.remove();
  }
}
