// Reads what the report carries about one body: the mesh (written by analyzers/report/solid.py and mesh_bytes.py) and its meaning.

/** Return the body's description with its mesh unpacked. */
export async function readBody(script) {
  const body = JSON.parse(script.textContent);
  body.mesh = unpack(await inflate(body.mesh));
  if (body.thickness) body.thickness.codes = new Uint8Array((await inflate(body.thickness.codes)).buffer);
  return body;
}

/** Return the bytes behind a base64 text of zlib data. */
export async function inflate(base64) {
  const letters = atob(base64);
  const packed = new Uint8Array(letters.length);
  for (let i = 0; i < packed.length; i++) packed[i] = letters.charCodeAt(i);
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new DataView(await new Response(stream).arrayBuffer());
}

/**
 * Return positions (mm) and normals of N vertices, T triangles sorted by face, and where each face's triangles begin.
 * A vertex belongs to one face: neighbours have their own, at the same place.
 */
function unpack(view) {
  const [vertices, triangles, faces] = [0, 4, 8].map((at) => view.getUint32(at, true));
  const low = [12, 16, 20].map((at) => view.getFloat32(at, true));
  const step = [24, 28, 32].map((at) => view.getFloat32(at, true));
  const bytes = new Uint8Array(view.buffer, 36);
  let at = 0;
  const plane = (length) => bytes.subarray(at, (at += length));
  const lattice = new Uint16Array(vertices * 3);
  const position = new Float32Array(vertices * 3);
  for (let axis = 0; axis < 3; axis++) {
    const [lower, upper] = [plane(vertices), plane(vertices)];
    for (let i = 0, value = 0; i < vertices; i++) {
      value = (value + lower[i] + (upper[i] << 8)) & 0xffff;
      lattice[i * 3 + axis] = value;
      position[i * 3 + axis] = low[axis] + value * step[axis];
    }
  }
  const normal = new Float32Array(vertices * 3);
  const [u, v] = [plane(vertices), plane(vertices)];
  for (let i = 0, a = 0, b = 0; i < vertices; i++) {
    a = (a + u[i]) & 0xff;
    b = (b + v[i]) & 0xff;
    unfold(a, b, normal, i * 3);
  }
  const index = new Uint32Array(triangles * 3);
  const parts = [plane(triangles * 3), plane(triangles * 3), plane(triangles * 3)];
  for (let i = 0, value = 0; i < index.length; i++) {
    const coded = parts[0][i] | (parts[1][i] << 8) | (parts[2][i] << 16);
    value += coded & 1 ? -((coded + 1) >> 1) : coded >> 1;
    index[i] = value;
  }
  const counts = [plane(faces), plane(faces), plane(faces)];
  const start = new Uint32Array(faces + 1);
  for (let face = 0; face < faces; face++) {
    start[face + 1] = start[face] + (counts[0][face] | (counts[1][face] << 8) | (counts[2][face] << 16));
  }
  return { position, normal, index, start, lattice, faces };
}

/** Write the unit vector that an octahedral code of two bytes stands for (Meyer et al. 2010). */
function unfold(a, b, target, at) {
  let [x, y] = [a / 127.5 - 1, b / 127.5 - 1];
  const z = 1 - Math.abs(x) - Math.abs(y);
  if (z < 0) {
    [x, y] = [(1 - Math.abs(y)) * Math.sign(x || 1), (1 - Math.abs(x)) * Math.sign(y || 1)];
  }
  const length = Math.sqrt(x * x + y * y + z * z);
  target[at] = x / length;
  target[at + 1] = y / length;
  target[at + 2] = z / length;
}

/** Return the end points of the lines between faces, tangent ones apart: {sharp, smooth}, six numbers each. */
export function edgeLines(mesh, smoothPairs) {
  const place = places(mesh.lattice);
  const smooth = new Set();
  for (let i = 0; i < smoothPairs.length; i += 2) smooth.add(smoothPairs[i] * mesh.faces + smoothPairs[i + 1]);
  const ends = { sharp: [], smooth: [] }; // vertices, two for each line
  const table = new Table(mesh.index.length);
  const owner = new Int32Array(mesh.index.length);
  for (let face = 0; face < mesh.faces; face++) {
    for (let corner = mesh.start[face] * 3; corner < mesh.start[face + 1] * 3; corner++) {
      const next = corner % 3 === 2 ? corner - 2 : corner + 1;
      const [a, b] = [mesh.index[corner], mesh.index[next]];
      const number = place[a] < place[b] ? table.number(place[a], place[b], 0) : table.number(place[b], place[a], 0);
      const other = owner[number] - 1;
      if (other < 0) {
        owner[number] = face + 1;
      } else if (other !== face) {
        const [low, high] = other < face ? [other, face] : [face, other];
        (smooth.has(low * mesh.faces + high) ? ends.smooth : ends.sharp).push(a, b);
      }
    }
  }
  return { sharp: pointsOf(mesh, ends.sharp), smooth: pointsOf(mesh, ends.smooth) };
}

/** Return a number for each vertex, the same for all at one place. */
function places(lattice) {
  const found = new Int32Array(lattice.length / 3);
  const table = new Table(found.length);
  for (let i = 0; i < found.length; i++) found[i] = table.number(lattice[i * 3], lattice[i * 3 + 1], lattice[i * 3 + 2]);
  return found;
}

function pointsOf(mesh, vertices) {
  const points = new Float32Array(vertices.length * 3);
  vertices.forEach((vertex, at) => {
    for (let axis = 0; axis < 3; axis++) points[at * 3 + axis] = mesh.position[vertex * 3 + axis];
  });
  return points;
}

/** Numbers keys of three whole numbers in the order in which they come; a Map takes several times as long. */
class Table {
  constructor(most) {
    this.mask = 2 ** Math.ceil(Math.log2(most * 2 + 2)) - 1;
    this.slots = new Int32Array(this.mask + 1); // 0 = free, else number + 1
    this.keys = new Int32Array(most * 3);
    this.size = 0;
  }

  number(a, b, c) {
    let slot = Math.imul(Math.imul(Math.imul(a, 0x9e3779b1) + b, 0x85ebca6b) + c, 0xc2b2ae35);
    slot = (slot ^ (slot >>> 15)) & this.mask;
    for (; this.slots[slot]; slot = (slot + 1) & this.mask) {
      const at = (this.slots[slot] - 1) * 3;
      if (this.keys[at] === a && this.keys[at + 1] === b && this.keys[at + 2] === c) return this.slots[slot] - 1;
    }
    const free = this.size * 3;
    this.keys[free] = a;
    this.keys[free + 1] = b;
    this.keys[free + 2] = c;
    this.slots[slot] = ++this.size;
    return this.size - 1;
  }
}
