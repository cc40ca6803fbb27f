// <tc-outline>: the as-cut outline at any depth over the drawn one, deviations drawn larger than they are.

import { edgeOf, fetchCut, outlinesAt, signed } from "./octets.js";

const SVG = "http://www.w3.org/2000/svg";

class Outline extends HTMLElement {
  async connectedCallback() {
    this.svg = this.querySelector("svg");
    this.parts = Object.fromEntries(
      ["body-line", "left", "away", "wall", "marks"].map((name) => [name, this.svg.querySelector(`[data-${name}]`)]),
    );
    for (const name of ["depth", "times", "depth-told", "times-told", "words"]) {
      this[name] = this.querySelector(`[data-${name}]`);
    }
    this.stop = new AbortController();
    try {
      this.cut = await fetchCut(this.dataset.octets);
    } catch (error) {
      this.words.textContent = `The outline could not be loaded: ${error.message}`;
      return;
    }
    if (!this.isConnected) return;
    const { signal } = this.stop;
    const again = () => {
      this.waiting ||= requestAnimationFrame(() => {
        this.waiting = 0;
        this.draw();
      });
    };
    for (const slider of [this.depth, this.times]) slider.addEventListener("input", again, { signal });
    this.addEventListener(
      "click",
      (event) => {
        const to = event.target.closest("[data-to]")?.dataset.to;
        if (to === undefined) return;
        this.depth.value = to;
        this.depth.dispatchEvent(new Event("input", { bubbles: true }));
      },
      { signal },
    );
    this.sizes = new ResizeObserver(again);
    this.sizes.observe(this.svg);
    this.draw();
    this.dataset.ready = "yes";
  }

  disconnectedCallback() {
    this.stop?.abort();
    this.sizes?.disconnect();
  }

  draw() {
    const began = performance.now();
    const { cut } = this;
    const share = Number(this.depth.value) / 100;
    const times = Number(this.times.value);
    const rings = outlinesAt(cut, share, times);
    const body = rings.map((ring) => path(ring.cut)).join("");
    this.parts["body-line"].setAttribute("d", body);
    this.parts.wall.setAttribute("d", body);
    const bands = { left: "", away: "" };
    for (const ring of rings) band(ring, bands);
    this.parts.left.setAttribute("d", bands.left);
    this.parts.away.setAttribute("d", bands.away);
    const { least, most } = this.extremes(rings);
    this.label([most, least]);
    const down = `${((share * cut.thickness) / cut.unit.factor).toFixed(Math.min(cut.unit.decimals, 3))} ${cut.unit.symbol}`;
    const name = share === 0 ? "top face" : share === 1 ? "bottom face" : `${Math.round(100 * share)} % of the depth`;
    this["depth-told"].textContent = share === 0 || share === 1 ? name : `${name}, ${down} down`;
    this["times-told"].textContent = `×${times}`;
    this.depth.setAttribute("aria-valuetext", this["depth-told"].textContent);
    this.times.setAttribute("aria-valuetext", `deviations drawn ${times} times`);
    this.words.textContent = `At ${share === 0 || share === 1 ? `the ${name}` : name} the wall lies between ${signed(cut, least.off)} (${least.edge}) and ${signed(cut, most.off)} (${most.edge}) of the drawn line.`;
    this.took = performance.now() - began;
  }

  extremes(rings) {
    let [least, most] = [{ off: Infinity }, { off: -Infinity }];
    for (const ring of rings) {
      for (let i = 0; i < ring.off.length; i++) {
        const off = ring.off[i];
        const spot = () => ({ off, x: 1e3 * ring.cut[2 * i], y: -1e3 * ring.cut[2 * i + 1], edge: edgeOf(this.cut, ring.first + i) });
        if (off < least.off) least = spot();
        if (off > most.off) most = spot();
      }
    }
    return { least, most };
  }

  /** The largest deviation either way, ringed and told, in the size of the page's own type. */
  label(spots) {
    const box = this.svg.viewBox.baseVal;
    const pixel = box.width / (this.svg.clientWidth || box.width);
    this.parts.marks.replaceChildren(
      ...spots.flatMap((spot) => {
        const tone = spot.off >= 0 ? "left" : "away";
        const ring = document.createElementNS(SVG, "circle");
        const text = document.createElementNS(SVG, "text");
        const right = spot.x < box.x + 0.7 * box.width;
        const inside = spot.y < box.y + 0.12 * box.height ? 16 : spot.y > box.y + 0.88 * box.height ? -10 : 5;
        set(ring, { class: `spot ${tone}`, cx: spot.x, cy: spot.y, r: 5 * pixel });
        set(text, {
          class: `spot-word ${tone}`,
          x: spot.x + (right ? 10 : -10) * pixel,
          y: spot.y + inside * pixel,
          "text-anchor": right ? "start" : "end",
          "font-size": 14 * pixel,
          "stroke-width": 4 * pixel,
        });
        text.textContent = signed(this.cut, spot.off);
        return [ring, text];
      }),
    );
  }
}

function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
}

const pair = (points, i) => `${(1e3 * points[2 * i]).toFixed(3)} ${(-1e3 * points[2 * i + 1]).toFixed(3)}`;

function path(points) {
  let data = "";
  for (let i = 0; i < points.length / 2; i++) data += `${i ? "L" : "M"}${pair(points, i)}`;
  return `${data}Z`;
}

/** Between drawn and as-cut wall, stretch by stretch of one sign. */
function band(ring, into) {
  const count = ring.off.length;
  const sign = (i) => ring.off[i % count] >= 0;
  let start = 0;
  while (start < count && sign(start) === sign(start + count - 1)) start++;
  const begin = start === count ? 0 : start;
  for (let from = begin; from < begin + count; ) {
    let to = from + 1;
    while (to < begin + count && sign(to) === sign(from)) to++;
    let data = "";
    for (let i = from; i <= to; i++) data += `${i > from ? "L" : "M"}${pair(ring.drawn, i % count)}`;
    for (let i = to; i >= from; i--) data += `L${pair(ring.cut, i % count)}`;
    into[sign(from) ? "left" : "away"] += `${data}Z`;
    from = to;
  }
}

customElements.define("tc-outline", Outline);
