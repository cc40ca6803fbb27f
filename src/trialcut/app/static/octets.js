// The as-cut part as it comes from the server, and what is worked out of it here: places, outlines, colours.

const WAITING = new Map();

/** The part at an address, fetched once. */
export function fetchCut(url) {
  if (!WAITING.has(url)) {
    const coming = fetch(url, { headers: { Accept: "application/octet-stream" } }).then(async (answer) => {
      if (!answer.ok) throw new Error((await sentenceOf(answer)) || `the server answered ${answer.status}`);
      return readCut(await answer.arrayBuffer());
    });
    coming.catch(() => WAITING.delete(url));
    WAITING.set(url, coming);
    while (WAITING.size > 6) WAITING.delete(WAITING.keys().next().value);
  }
  return WAITING.get(url);
}

async function sentenceOf(answer) {
  try {
    return (await answer.json()).message;
  } catch {
    return "";
  }
}

const TYPES = { f4: Float32Array, i2: Int16Array, u2: Uint16Array, u4: Uint32Array };

/** Head and arrays out of octets; the arrays are views of them. */
export function readCut(buffer) {
  const view = new DataView(buffer);
  const magic = String.fromCharCode(...new Uint8Array(buffer, 0, 4));
  if (magic !== "TCAC" || view.getUint32(4, true) !== 1) throw new Error("the part came in a form that this page does not know: load the page again");
  const long = view.getUint32(8, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 12, long)));
  const cut = { ...head, columns: 0, layers: head.depth.length };
  for (const [name, { at, count, type }] of Object.entries(head.arrays)) {
    cut[name] = new TYPES[type](buffer, 12 + long + at, count);
  }
  for (const ring of cut.rings) {
    ring.first = cut.columns;
    cut.columns += ring.columns;
  }
  return cut;
}

/** Positions of all vertices, about the middle of the part, deviations drawn so many times. [m] */
export function placeVertices(cut, times, into) {
  const { columns, layers, drawn, shift, shift_step: step, thickness, depth } = cut;
  const scale = step * times;
  let place = 0;
  for (let i = 0; i < columns; i++) {
    const x = drawn[2 * i];
    const y = drawn[2 * i + 1];
    for (let l = 0; l < layers; l++, place++) {
      into[3 * place] = x + scale * shift[2 * place];
      into[3 * place + 1] = y + scale * shift[2 * place + 1];
      into[3 * place + 2] = thickness * (0.5 - depth[l]);
    }
  }
  return into;
}

/** Triangles of the walls: two for each cell between neighbouring columns and layers of a ring. */
export function wallFaces(cut) {
  const { layers, columns } = cut;
  const faces = new Uint32Array(6 * columns * (layers - 1));
  let at = 0;
  for (const ring of cut.rings) {
    for (let i = 0; i < ring.columns; i++) {
      const here = (ring.first + i) * layers;
      const beside = (ring.first + ((i + 1) % ring.columns)) * layers;
      for (let l = 0; l + 1 < layers; l++) {
        faces.set([here + l, here + l + 1, beside + l + 1, here + l, beside + l + 1, beside + l], at);
        at += 6;
      }
    }
  }
  return faces;
}

/** The wall of each ring in one depth: drawn and as-cut points (x, y) and deviations. [m] */
export function outlinesAt(cut, depth, times) {
  const { layers, drawn, shift, shift_step: step, deviation, deviation_step: height } = cut;
  let below = 0;
  while (below < layers - 2 && cut.depth[below + 1] <= depth) below++;
  const share = Math.min(Math.max((depth - cut.depth[below]) / (cut.depth[below + 1] - cut.depth[below]), 0), 1);
  return cut.rings.map((ring) => {
    const drawnHere = drawn.subarray(2 * ring.first, 2 * (ring.first + ring.columns));
    const cutHere = new Float64Array(2 * ring.columns);
    const off = new Float64Array(ring.columns);
    for (let i = 0; i < ring.columns; i++) {
      const up = (ring.first + i) * layers + below;
      for (const axis of [0, 1]) {
        const moved = shift[2 * up + axis] * (1 - share) + shift[2 * up + 2 + axis] * share;
        cutHere[2 * i + axis] = drawnHere[2 * i + axis] + times * step * moved;
      }
      off[i] = height * (deviation[up] * (1 - share) + deviation[up + 1] * share);
    }
    return { contour: ring.contour, first: ring.first, drawn: drawnHere, cut: cutHere, off };
  });
}

/** The id of the edge that a column lies on. */
export const edgeOf = (cut, column) => cut.edges[cut.edge[column]];

/** Shades of the scale as numbers, for a dark ground or a light one. */
export function shadesOf(cut, dark) {
  return cut.colours[dark ? "dark" : "light"].map((code) =>
    [1, 3, 5].map((at) => Number.parseInt(code.slice(at, at + 2), 16)),
  );
}

/** Colours of all vertices, four octets each. */
export function paintVertices(cut, dark, into) {
  const shades = shadesOf(cut, dark);
  const [low, high] = cut.usual;
  const span = Math.max(high - low, 1e-12);
  for (let v = 0; v < cut.deviation.length; v++) {
    const at = Math.min(Math.max((cut.deviation[v] * cut.deviation_step - low) / span, 0), 1) * (shades.length - 1);
    const node = Math.min(Math.floor(at), shades.length - 2);
    const share = at - node;
    for (let c = 0; c < 3; c++) into[4 * v + c] = shades[node][c] * (1 - share) + shades[node + 1][c] * share;
    into[4 * v + 3] = 255;
  }
  return into;
}

/** A length in the unit that the page speaks, without a sign before zero. */
export function signed(cut, metres) {
  const text = (metres / cut.unit.factor).toFixed(cut.unit.decimals);
  const zero = !/[1-9]/.test(text);
  const bare = text.replace("-", "");
  return `${zero ? "" : metres > 0 ? "+" : "−"}${bare} ${cut.unit.symbol}`;
}

/** Whether the page is dark now. */
export function isDark() {
  const { theme } = document.documentElement.dataset;
  return theme ? theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
}

/** Calls back whenever the page turns light or dark; returns how to stop. */
export function onTheme(act) {
  const media = matchMedia("(prefers-color-scheme: dark)");
  const watcher = new MutationObserver(act);
  watcher.observe(document.documentElement, { attributeFilter: ["data-theme"] });
  media.addEventListener("change", act);
  return () => {
    watcher.disconnect();
    media.removeEventListener("change", act);
  };
}
