// Reads what the report carries about one body: the mesh (written by analyzers/report/solid_data.py) and its meaning.

/** Return the body's description with its mesh unpacked. */
export async function readBody(script) {
  const body = JSON.parse(script.textContent);
  body.mesh = unpack(await inflate(body.mesh));
  if (body.thickness) body.thickness.codes = new Uint8Array((await inflate(body.thickness.codes)).buffer);
  return body;
}

/** Return the bytes behind a base64 text of zlib data. */
export async function inflate(base64) {
  const packed = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
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
    normal.set(unfolded(a, b), i * 3);
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

/** Return the unit vector that an octahedral code of two bytes stands for (Meyer et al. 2010). */
function unfolded(a, b) {
  let [x, y] = [a / 127.5 - 1, b / 127.5 - 1];
  const z = 1 - Math.abs(x) - Math.abs(y);
  if (z < 0) {
    [x, y] = [(1 - Math.abs(y)) * Math.sign(x || 1), (1 - Math.abs(x)) * Math.sign(y || 1)];
  }
  const length = Math.hypot(x, y, z);
  return [x / length, y / length, z / length];
}

/** Return the end points of the lines between faces, tangent ones apart: {sharp, smooth}, six numbers each. */
export function edgeLines(mesh, smoothPairs) {
  const place = new Map();
  const placeOf = new Float64Array(mesh.position.length / 3);
  for (let i = 0; i < placeOf.length; i++) {
    const key = (mesh.lattice[i * 3] * 65536 + mesh.lattice[i * 3 + 1]) * 65536 + mesh.lattice[i * 3 + 2];
    if (!place.has(key)) place.set(key, place.size);
    placeOf[i] = place.get(key);
  }
  const smooth = new Set();
  for (let i = 0; i < smoothPairs.length; i += 2) smooth.add(smoothPairs[i] * mesh.faces + smoothPairs[i + 1]);
  const lines = { sharp: [], smooth: [] };
  const open = new Map();
  for (let face = 0; face < mesh.faces; face++) {
    for (let corner = mesh.start[face] * 3; corner < mesh.start[face + 1] * 3; corner++) {
      const next = corner % 3 === 2 ? corner - 2 : corner + 1;
      const [a, b] = [mesh.index[corner], mesh.index[next]];
      const [p, q] = placeOf[a] < placeOf[b] ? [placeOf[a], placeOf[b]] : [placeOf[b], placeOf[a]];
      const key = p * place.size + q;
      const other = open.get(key);
      if (other === undefined) {
        open.set(key, face);
      } else if (other !== face) {
        const [low, high] = other < face ? [other, face] : [face, other];
        const kind = smooth.has(low * mesh.faces + high) ? lines.smooth : lines.sharp;
        for (const end of [a, b]) kind.push(...mesh.position.subarray(end * 3, end * 3 + 3));
      }
    }
  }
  return lines;
}
