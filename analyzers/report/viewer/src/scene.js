// The body as three.js objects: faces that can be coloured one by one, lines, a section, marked faces.
import {
  AmbientLight, BackSide, BufferAttribute, BufferGeometry, Color, DirectionalLight, DoubleSide, FrontSide, Group, LineBasicMaterial,
  LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial, Plane, Scene, Vector3,
} from "three";
import { edgeLines } from "./data.js";

const MARKED = new Color("#ff5fa2");
const CUT = "#7b8794";

export class Solid {
  constructor(body) {
    this.body = body;
    const { mesh } = body;
    this.geometry = new BufferGeometry();
    this.geometry.setAttribute("position", new BufferAttribute(mesh.position, 3));
    this.geometry.setAttribute("normal", new BufferAttribute(mesh.normal, 3));
    this.geometry.setAttribute("color", new BufferAttribute(new Float32Array(mesh.position.length), 3));
    this.geometry.setIndex(new BufferAttribute(mesh.index, 1));
    this.geometry.computeBoundingBox();
    this.centre = this.geometry.boundingBox.getCenter(new Vector3());
    this.radius = this.geometry.boundingBox.getSize(new Vector3()).length() / 2 || 1;
    this.section = new Plane(new Vector3(1, 0, 0), 0);
    this.scene = new Scene();
    this.faces = new Mesh(
      this.geometry,
      new MeshLambertMaterial({ vertexColors: true, side: FrontSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 2 }),
    );
    // where a section opens the solid one sees the inside of its skin: drawn flat, it reads as the cut
    this.inside = new Mesh(this.geometry, new MeshBasicMaterial({ color: CUT, side: BackSide }));
    this.inside.visible = false;
    // marked faces shine faintly through whatever lies in front of them
    this.through = new Mesh(
      this.geometry.clone(),
      new MeshBasicMaterial({ color: MARKED, transparent: true, opacity: 0.55, depthTest: false, side: DoubleSide }),
    );
    this.scene.add(this.faces, this.inside, this.lines(mesh), this.through);
    this.lamp = new Group();
    const key = new DirectionalLight("#ffffff", 1.5);
    key.position.set(-0.45, 0.7, 0.6);
    const fill = new DirectionalLight("#ffffff", 0.4);
    fill.position.set(0.85, 0.1, 0.45);
    this.lamp.add(key, key.target, fill, fill.target);
    this.scene.add(new AmbientLight("#ffffff", 1.9), this.lamp);
    this.paint((face) => body.classes[body.faceClass[face]].colour);
  }

  lines(mesh) {
    const group = new Group();
    const { sharp, smooth } = edgeLines(mesh, this.body.smooth);
    for (const [points, opacity] of [[sharp, 0.9], [smooth, 0.25]]) {
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(points, 3));
      group.add(new LineSegments(geometry, new LineBasicMaterial({ color: "#1b222c", transparent: true, opacity })));
    }
    return group;
  }

  /** Colour every face by a function of its index that returns a colour text. */
  paint(colourOf) {
    this.colourOf = colourOf;
    this.painted = null;
    this.marked = new Set();
    this.through.visible = false;
    for (let face = 0; face < this.body.mesh.faces; face++) this.tint(face, new Color(colourOf(face)));
    this.geometry.attributes.color.needsUpdate = true;
  }

  /** Colour by a code 1..255 of each triangle, smooth within a face; code 0 = `unknown`. */
  paintCodes(codes, colourOf, unknown) {
    const { mesh } = this.body;
    const [sum, count] = [new Float32Array(mesh.position.length / 3), new Uint16Array(mesh.position.length / 3)];
    for (let corner = 0; corner < mesh.index.length; corner++) {
      const code = codes[Math.floor(corner / 3)];
      if (code) {
        sum[mesh.index[corner]] += code;
        count[mesh.index[corner]]++;
      }
    }
    const scale = Array.from({ length: 256 }, (_, code) => new Color(code ? colourOf(code) : unknown));
    this.painted = (vertex) => scale[count[vertex] ? Math.round(sum[vertex] / count[vertex]) : 0];
    this.marked = new Set();
    this.through.visible = false;
    for (let face = 0; face < mesh.faces; face++) this.untint(face);
    this.geometry.attributes.color.needsUpdate = true;
  }

  /** Give a face the colour it has without a mark. */
  untint(face) {
    if (!this.painted) return this.tint(face, new Color(this.colourOf(face)));
    const { start, index } = this.body.mesh;
    const target = this.geometry.attributes.color.array;
    for (let corner = start[face] * 3; corner < start[face + 1] * 3; corner++) this.painted(index[corner]).toArray(target, index[corner] * 3);
  }

  /** Mark these faces and no others. */
  mark(faces) {
    for (const face of this.marked) this.untint(face);
    this.marked = new Set(faces);
    for (const face of this.marked) this.tint(face, MARKED);
    const { start, index } = this.body.mesh;
    const parts = [...this.marked].map((face) => index.subarray(start[face] * 3, start[face + 1] * 3));
    this.through.geometry.setIndex(parts.flatMap((part) => Array.from(part)));
    this.through.visible = parts.length > 0;
    this.geometry.attributes.color.needsUpdate = true;
  }

  tint(face, colour) {
    const { start, index } = this.body.mesh;
    const target = this.geometry.attributes.color.array;
    for (let corner = start[face] * 3; corner < start[face + 1] * 3; corner++) colour.toArray(target, index[corner] * 3);
  }

  /** Return the face a triangle belongs to. */
  faceOf(triangle) {
    const { start } = this.body.mesh;
    let [low, high] = [0, start.length - 1];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (start[middle] <= triangle) low = middle;
      else high = middle;
    }
    return low;
  }

  /** Return the box around some faces. */
  place(faces) {
    const points = [];
    const { start, index, position } = this.body.mesh;
    for (const face of faces) {
      for (let corner = start[face] * 3; corner < start[face + 1] * 3; corner++) {
        points.push(new Vector3().fromArray(position, index[corner] * 3));
      }
    }
    const box = this.geometry.boundingBox.clone();
    return points.length ? box.setFromPoints(points) : box;
  }

  /** Cut the body open along an axis ("x", "y", "z") at a share of its length; null = whole again. */
  cut(axis, share, flip) {
    const objects = [this.faces, this.inside, this.through, ...this.scene.children.flatMap((child) => (child.isGroup ? child.children : []))];
    const on = axis !== null;
    this.inside.visible = on;
    if (on) {
      const { min, max } = this.geometry.boundingBox;
      const at = min[axis] + (max[axis] - min[axis]) * share;
      this.section.normal.set(0, 0, 0)[axis] = flip ? 1 : -1;
      this.section.constant = flip ? -at : at;
    }
    for (const each of objects) {
      if (each.material) each.material.clippingPlanes = on ? [this.section] : null;
    }
  }

  /** Return for each point whether something lies in front of it, seen from `eye` (a direction): {x, y, z} each. */
  covered(points, eye) {
    const { position, index } = this.body.mesh;
    const right = new Vector3(0, 0, 1).cross(eye);
    if (right.length() < 1e-6) right.set(1, 0, 0);
    right.normalize();
    const axes = [right, eye.clone().cross(right), eye];
    const seen = new Float32Array(position.length);
    for (let i = 0; i < position.length; i += 3) {
      for (let k = 0; k < 3; k++) seen[i + k] = position[i] * axes[k].x + position[i + 1] * axes[k].y + position[i + 2] * axes[k].z;
    }
    const places = points.map((point) => axes.map((axis) => axis.dot(point)));
    const found = points.map(() => false);
    for (let corner = 0; corner < index.length; corner += 3) {
      const [a, b, c] = [index[corner] * 3, index[corner + 1] * 3, index[corner + 2] * 3];
      const [ax, ay, bx, by, cx, cy] = [seen[a], seen[a + 1], seen[b], seen[b + 1], seen[c], seen[c + 1]];
      const whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
      if (whole <= 0) continue; // looks away
      for (let at = 0; at < places.length; at++) {
        const [x, y, depth] = places[at];
        const u = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / whole;
        const v = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / whole;
        if (u < 0 || v < 0 || u + v > 1) continue;
        const near = seen[a + 2] * (1 - u - v) + seen[b + 2] * u + seen[c + 2] * v;
        if (near > depth + this.radius * 0.01) found[at] = true;
      }
    }
    return found;
  }

  /** Free what the graphics card holds. */
  dispose() {
    this.scene.traverse((each) => {
      each.geometry?.dispose();
      each.material?.dispose();
    });
  }
}
