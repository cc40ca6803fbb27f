// <tc-solid>: the as-cut solid to be turned about, its walls coloured by deviation. Loaded when it is opened.

import {
  BufferAttribute,
  BufferGeometry,
  LineSegments,
  Mesh,
  PerspectiveCamera,
  Raycaster,
  Scene,
  ShaderMaterial,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "./vendor/three-0.187.0.min.js";
import { edgeOf, fetchCut, isDark, onTheme, paintVertices, placeVertices, signed, wallFaces } from "./octets.js";

const FIRST = { azimuth: -28, elevation: 36, zoom: 1, right: 0, up: 0 };
const STEP = { turn: 7.5, zoom: 1.15, pan: 0.06 };
const VIEW_ANGLE = 26;
let seenFrom = FIRST;
const HOVER_FACES = 120_000; // more are only asked on a click: finding the place would make the pointer lag

const VERTEX = `
  attribute vec3 shade;
  varying vec3 vShade;
  varying vec3 vPlace;
  void main() {
    vec4 place = modelViewMatrix * vec4(position, 1.0);
    vShade = shade;
    vPlace = place.xyz;
    gl_Position = projectionMatrix * place;
  }`;
// Facets are lit by the normal that the screen itself shows, so that it stays right however deviations are drawn.
const FRAGMENT = `
  uniform vec3 tone;
  uniform float own;
  uniform float depth;
  varying vec3 vShade;
  varying vec3 vPlace;
  void main() {
    vec3 normal = normalize(cross(dFdx(vPlace), dFdy(vPlace)));
    float light = max(dot(normal, normalize(vec3(-0.35, 0.55, 0.8))), 0.0);
    vec3 base = mix(tone, vShade, own);
    gl_FragColor = vec4(base * (1.0 - depth + depth * light), 1.0);
  }`;
const LINE = `
  uniform vec3 tone;
  uniform float strength;
  void main() { gl_FragColor = vec4(tone, strength); }`;

const toneOf = (name) => {
  const code = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  return new Vector3(...[1, 3, 5].map((at) => Number.parseInt(code.slice(at, at + 2), 16) / 255));
};
const clamp = (value, low, high) => Math.min(Math.max(value, low), high);

class Solid extends HTMLElement {
  async connectedCallback() {
    this.stage = this.querySelector("[data-stage]");
    this.readout = this.querySelector("[data-readout]");
    this.slider = this.querySelector("[data-times]");
    this.told = this.querySelector("[data-times-told]");
    this.state = { ...seenFrom };
    this.stop = new AbortController();
    try {
      this.renderer = new WebGLRenderer({ antialias: true, alpha: true });
    } catch {
      this.fail("This browser cannot draw in three dimensions: the numbers below say the same.");
      return;
    }
    try {
      this.cut = await fetchCut(this.dataset.octets);
    } catch (error) {
      this.fail(`The solid could not be loaded: ${error.message}`);
      return;
    }
    if (!this.isConnected) {
      this.renderer.dispose();
      return;
    }
    this.build();
    this.listen();
    this.dataset.ready = "yes";
  }

  disconnectedCallback() {
    this.stop?.abort();
    this.unwatch?.();
    this.sizes?.disconnect();
    this.renderer?.dispose();
    this.renderer?.forceContextLoss();
  }

  fail(sentence) {
    this.dataset.ready = "no";
    this.stage.hidden = true;
    this.readout.textContent = sentence;
    for (const control of this.querySelectorAll("button, input")) control.disabled = true;
  }

  // ---- what is shown ----

  build() {
    const { cut } = this;
    this.scene = new Scene();
    this.camera = new PerspectiveCamera(VIEW_ANGLE, 1, 0.001, 100);
    this.camera.up.set(0, 0, 1);
    const count = cut.columns * cut.layers;
    this.places = new BufferAttribute(new Float32Array(3 * count), 3);
    this.shades = new BufferAttribute(new Uint8Array(4 * count), 4, true);
    const body = (index, own, depth) => {
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", this.places);
      geometry.setAttribute("shade", this.shades);
      geometry.setIndex(new BufferAttribute(index, 1));
      const mesh = new Mesh(
        geometry,
        new ShaderMaterial({
          vertexShader: VERTEX,
          fragmentShader: FRAGMENT,
          uniforms: { tone: { value: new Vector3() }, own: { value: own }, depth: { value: depth } },
          side: 2,
          polygonOffset: true,
          polygonOffsetFactor: 1.5,
          polygonOffsetUnits: 1.5,
        }),
      );
      mesh.frustumCulled = false;
      this.scene.add(mesh);
      return mesh;
    };
    this.walls = body(wallFaces(cut), 1, 0.2);
    this.caps = body(cut.caps, 0, 0.1);
    this.rims = this.lines(this.places, this.rimIndex(), 1);
    this.picked = this.lines(this.places, new Uint32Array(0), 1);
    const drawn = new BufferAttribute(new Float32Array(3 * count), 3);
    placeVertices(cut, 0, drawn.array);
    this.drawn = this.lines(drawn, this.faceRims(), 0.5);
    this.drawn.material.depthTest = false;
    this.drawn.renderOrder = 1;
    this.stage.append(this.renderer.domElement);
    this.place();
    this.dress();
    this.measure();
    this.markPicked();
  }

  lines(places, index, strength) {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", places);
    geometry.setIndex(new BufferAttribute(index, 1));
    const lines = new LineSegments(
      geometry,
      new ShaderMaterial({
        vertexShader: VERTEX.replace("attribute vec3 shade;", "").replace("vShade = shade;", "vShade = vec3(0.0);"),
        fragmentShader: LINE,
        uniforms: { tone: { value: new Vector3() }, strength: { value: strength } },
        transparent: strength < 1,
      }),
    );
    lines.frustumCulled = false;
    this.scene.add(lines);
    return lines;
  }

  faceRims(keep = () => true) {
    const { cut } = this;
    const index = [];
    for (const ring of cut.rings) {
      for (let i = 0; i < ring.columns; i++) {
        if (!keep(ring.first + i)) continue;
        const here = (ring.first + i) * cut.layers;
        const beside = (ring.first + ((i + 1) % ring.columns)) * cut.layers;
        index.push(here, beside, here + cut.layers - 1, beside + cut.layers - 1);
      }
    }
    return Uint32Array.from(index);
  }

  /** Rims of both faces, and an upright where an edge begins at a corner that turns. */
  rimIndex() {
    const { cut } = this;
    const index = [...this.faceRims()];
    for (const ring of cut.rings) {
      for (let i = 0; i < ring.columns; i++) {
        const at = ring.first + i;
        const before = ring.first + ((i + ring.columns - 1) % ring.columns);
        if (cut.edge[at] === cut.edge[before] || !this.turns(before, at, ring.first + ((i + 1) % ring.columns))) continue;
        for (let l = 0; l + 1 < cut.layers; l++) index.push(at * cut.layers + l, at * cut.layers + l + 1);
      }
    }
    return Uint32Array.from(index);
  }

  turns(before, at, after) {
    const { drawn } = this.cut;
    const heading = (a, b) => Math.atan2(drawn[2 * b + 1] - drawn[2 * a + 1], drawn[2 * b] - drawn[2 * a]);
    const turn = heading(at, after) - heading(before, at);
    return Math.abs(Math.atan2(Math.sin(turn), Math.cos(turn))) > 0.3;
  }

  place() {
    const times = Number(this.slider.value);
    placeVertices(this.cut, times, this.places.array);
    this.places.needsUpdate = true;
    this.walls.geometry.boundingSphere = null;
    this.told.textContent = `×${times}`;
    this.slider.setAttribute("aria-valuetext", `deviations drawn ${times} times`);
    this.draw();
  }

  dress() {
    paintVertices(this.cut, isDark(), this.shades.array);
    this.shades.needsUpdate = true;
    const face = toneOf(isDark() ? "--tc-hair" : "--tc-fill");
    this.caps.material.uniforms.tone.value = face;
    this.rims.material.uniforms.tone.value = toneOf("--tc-ink");
    this.picked.material.uniforms.tone.value = toneOf("--tc-warm");
    this.drawn.material.uniforms.tone.value = toneOf("--tc-accent");
    this.draw();
  }

  measure() {
    const { clientWidth: width, clientHeight: height } = this.stage;
    if (!width || !height) return;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.setSize(width, height);
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.fit();
    this.draw();
  }

  /** The distance from which the whole part just fills the stage, from where one looks first. */
  fit() {
    this.places.needsUpdate = true;
    const [x, y] = [0, 1].map((axis) => {
      let most = 0;
      for (let i = axis; i < this.cut.drawn.length; i += 2) most = Math.max(most, Math.abs(this.cut.drawn[i]));
      return most;
    });
    const z = this.cut.thickness / 2;
    const radius = Math.hypot(x, y, z);
    let [near, far] = [radius, 40 * radius];
    const corner = new Vector3();
    for (let step = 0; step < 30; step++) {
      const middle = 0.5 * (near + far);
      this.aim(middle, FIRST);
      let worst = 0;
      for (const [a, b, c] of [-1, 1].flatMap((a) => [-1, 1].flatMap((b) => [-1, 1].map((c) => [a, b, c])))) {
        corner.set(a * x, b * y, c * z).project(this.camera);
        worst = Math.max(worst, Math.abs(corner.x) / 0.93, Math.abs(corner.y) / 0.9);
      }
      if (worst > 1) near = middle;
      else far = middle;
    }
    this.far = far;
    this.radius = radius;
  }

  aim(distance, { azimuth, elevation, right, up }) {
    const [turn, rise] = [azimuth, elevation].map((angle) => (angle * Math.PI) / 180);
    const { camera } = this;
    camera.position.set(
      distance * Math.cos(rise) * Math.sin(turn),
      -distance * Math.cos(rise) * Math.cos(turn),
      distance * Math.sin(rise),
    );
    camera.lookAt(0, 0, 0);
    camera.translateX(right);
    camera.translateY(up);
    camera.near = distance / 50;
    camera.far = distance * 4;
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
  }

  draw() {
    if (this.waiting || !this.far) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      if (!this.isConnected) return;
      this.aim(this.far / this.state.zoom, this.state);
      this.renderer.render(this.scene, this.camera);
    });
  }

  // ---- turning it about ----

  move(change) {
    const next = { ...this.state, ...change };
    next.elevation = clamp(next.elevation, -89, 89);
    next.azimuth = ((next.azimuth + 540) % 360) - 180;
    next.zoom = clamp(next.zoom, 0.4, 24);
    next.right = clamp(next.right, -this.radius, this.radius);
    next.up = clamp(next.up, -this.radius, this.radius);
    this.state = next;
    seenFrom = next; // a part that is fetched anew is seen from where the last one was
    this.draw();
  }

  act(name) {
    const { azimuth, elevation, zoom, right, up } = this.state;
    const pan = (STEP.pan * this.radius) / zoom;
    const acts = {
      left: { azimuth: azimuth - STEP.turn },
      right: { azimuth: azimuth + STEP.turn },
      up: { elevation: elevation + STEP.turn },
      down: { elevation: elevation - STEP.turn },
      nearer: { zoom: zoom * STEP.zoom },
      farther: { zoom: zoom / STEP.zoom },
      "pan-left": { right: right - pan },
      "pan-right": { right: right + pan },
      "pan-up": { up: up + pan },
      "pan-down": { up: up - pan },
      above: { ...FIRST, azimuth: 0, elevation: 89 },
      below: { ...FIRST, elevation: -FIRST.elevation },
      face: { ...this.facing(), elevation: 22 },
      reset: FIRST,
    };
    if (acts[name]) this.move(acts[name]);
    return name in acts;
  }

  listen() {
    const { stage } = this;
    const { signal } = this.stop;
    const on = (target, name, act, options = {}) => target.addEventListener(name, act, { signal, ...options });
    const keys = {
      ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down",
      "+": "nearer", "=": "nearer", "-": "farther", Home: "reset", 0: "reset",
    };
    on(stage, "keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const name = keys[event.key];
      const shifted = event.shiftKey && name && event.key.startsWith("Arrow") ? `pan-${name}` : name;
      if (shifted && this.act(shifted)) event.preventDefault();
    });
    on(this, "click", (event) => {
      const button = event.target.closest("button[data-act]");
      if (button) this.act(button.dataset.act);
    });
    on(this.slider, "input", () => {
      this.place();
    });
    const fingers = new Map();
    let dragged = 0;
    on(stage, "pointerdown", (event) => {
      if (event.button > 0 && event.pointerType === "mouse") return;
      stage.setPointerCapture(event.pointerId);
      if (!fingers.size) dragged = 0;
      fingers.set(event.pointerId, event);
    });
    on(stage, "pointermove", (event) => {
      const last = fingers.get(event.pointerId);
      if (!last) {
        if (event.pointerType === "mouse" && this.walls.geometry.index.count / 3 <= HOVER_FACES) this.hover(event);
        return;
      }
      const [x, y] = [event.clientX - last.clientX, event.clientY - last.clientY];
      dragged += Math.abs(x) + Math.abs(y);
      const other = [...fingers.values()].find((each) => each.pointerId !== event.pointerId);
      const pixel = (2 * this.far * Math.tan((VIEW_ANGLE * Math.PI) / 360)) / this.state.zoom / stage.clientHeight;
      if (other) {
        const gap = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY) || 1;
        this.move({
          zoom: (this.state.zoom * gap(event)) / gap(last),
          right: this.state.right - (x * pixel) / 2,
          up: this.state.up + (y * pixel) / 2,
        });
      } else if (event.shiftKey) {
        this.move({ right: this.state.right - x * pixel, up: this.state.up + y * pixel });
      } else {
        this.move({ azimuth: this.state.azimuth - 0.4 * x, elevation: this.state.elevation + 0.4 * y });
      }
      fingers.set(event.pointerId, event);
    });
    const lift = (event) => {
      const own = fingers.delete(event.pointerId);
      if (own && event.type === "pointerup" && dragged < 5) this.pick(event);
    };
    on(stage, "pointerup", lift);
    on(stage, "pointercancel", lift);
    on(stage, "pointerleave", () => this.say(""));
    on(stage, "dblclick", () => this.act("reset"));
    on(
      stage,
      "wheel",
      (event) => {
        if (document.activeElement !== stage) return; // the page scrolls on until the solid is chosen
        event.preventDefault();
        this.move({ zoom: this.state.zoom * Math.exp(-0.0012 * event.deltaY) });
      },
      { passive: false },
    );
    on(document.body, "tc-edge", () => requestAnimationFrame(() => this.markPicked()));
    this.unwatch = onTheme(() => this.dress());
    this.sizes = new ResizeObserver(() => this.measure());
    this.sizes.observe(stage);
  }

  // ---- asking it ----

  placeUnder(event) {
    const box = this.stage.getBoundingClientRect();
    const at = new Vector2(
      (2 * (event.clientX - box.left)) / box.width - 1,
      1 - (2 * (event.clientY - box.top)) / box.height,
    );
    this.caster ??= new Raycaster();
    this.caster.setFromCamera(at, this.camera);
    const [hit] = this.caster.intersectObjects([this.walls, this.caps], false);
    if (!hit || hit.object !== this.walls) return null;
    const vertex = [hit.face.a, hit.face.b, hit.face.c].reduce((best, each) =>
      this.apart(each, hit.point) < this.apart(best, hit.point) ? each : best,
    );
    return { column: Math.floor(vertex / this.cut.layers), layer: vertex % this.cut.layers, vertex };
  }

  apart(vertex, point) {
    const a = this.places.array;
    return Math.hypot(a[3 * vertex] - point.x, a[3 * vertex + 1] - point.y, a[3 * vertex + 2] - point.z);
  }

  words(found) {
    const { cut } = this;
    const deviation = cut.deviation[found.vertex] * cut.deviation_step;
    const side = /[1-9]/.test(signed(cut, deviation)) ? (deviation > 0 ? ", left standing" : ", cut away") : "";
    return `${edgeOf(cut, found.column)}, ${Math.round(100 * cut.depth[found.layer])} % down: ${signed(cut, deviation)}${side}`;
  }

  hover(event) {
    if (this.asking) return;
    this.asking = requestAnimationFrame(() => {
      this.asking = 0;
      const found = this.isConnected && this.placeUnder(event);
      this.say(found ? this.words(found) : "");
    });
  }

  say(text) {
    this.readout.textContent = text || this.readout.dataset.usual;
  }

  pick(event) {
    const found = this.placeUnder(event);
    if (!found) return;
    this.say(this.words(found));
    this.dispatchEvent(new CustomEvent("tc-pick", { bubbles: true, detail: edgeOf(this.cut, found.column) }));
  }

  markPicked() {
    const id = document.querySelector(".tc-hit[aria-pressed=true]")?.dataset.edge;
    this.edge = this.cut.edges.indexOf(id);
    const index = this.edge < 0 ? [] : this.faceRims((column) => this.cut.edge[column] === this.edge);
    this.picked.geometry.setIndex(new BufferAttribute(Uint32Array.from(index), 1));
    this.querySelector("[data-act=face]").disabled = this.edge < 0;
    this.draw();
  }

  /** The azimuth from which the picked edge's wall, about its middle, is seen straight on. */
  facing() {
    const { cut } = this;
    for (const ring of cut.rings) {
      const own = [...Array(ring.columns).keys()].filter((i) => cut.edge[ring.first + i] === this.edge);
      if (!own.length) continue;
      const middle = own[Math.floor((own.length - 1) / 2)];
      const [a, b] = [middle, (middle + 1) % ring.columns].map((i) => ring.first + i);
      const [x, y] = [0, 1].map((axis) => cut.drawn[2 * b + axis] - cut.drawn[2 * a + axis]);
      return { azimuth: (Math.atan2(y, x) * 180) / Math.PI }; // material lies to the left of the columns' order
    }
    return {};
  }
}

customElements.define("tc-solid", Solid);
