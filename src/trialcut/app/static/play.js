// <tc-play>: the cut as it will pass, on the drawing, by the forecast's clock.

const SVG = "http://www.w3.org/2000/svg";
const calm = matchMedia("(prefers-reduced-motion: reduce)");

const clock = (seconds) => {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
};
const spoken = (seconds) => {
  const whole = Math.round(seconds);
  const minutes = Math.floor(whole / 60);
  return `${minutes ? `${minutes} min ` : ""}${whole % 60} s`;
};

class Play extends HTMLElement {
  async connectedCallback() {
    for (const name of ["done", "current", "ahead", "travel", "head", "lean", "clock", "speed", "doing", "order", "scrub", "start", "pace", "status"]) {
      this[`its_${name}`] = this.querySelector(`[data-${name}]`);
    }
    this.stop = new AbortController();
    try {
      const answer = await fetch(this.dataset.play);
      this.told = await answer.json();
      if (!answer.ok) throw new Error(this.told.message || `the server answered ${answer.status}`);
    } catch (error) {
      this.its_doing.textContent = `The cut could not be loaded: ${error.message}`;
      return;
    }
    if (!this.isConnected) return;
    this.middle = this.dataset.middle.split(" ").map(Number);
    this.build();
    this.listen();
    this.show(Number(this.dataset.at) || 0);
    this.dataset.ready = "yes";
  }

  disconnectedCallback() {
    this.stop?.abort();
    this.sizes?.disconnect();
    clearTimeout(this.timer);
    cancelAnimationFrame(this.frame);
  }

  point(k) {
    return [1e3 * (this.told.x[k] - this.middle[0]), 1e3 * (this.middle[1] - this.told.y[k])];
  }

  build() {
    const { told } = this;
    const box = this.querySelector("svg").viewBox.baseVal;
    this.size = Math.max(box.width, box.height);
    this.first = told.runs.map((_, run) => told.run.indexOf(run));
    this.last = told.runs.map((_, run) => told.run.lastIndexOf(run));
    this.its_ahead.setAttribute("d", told.runs.map((_, run) => this.way(run, this.last[run])).join(""));
    const marks = this.querySelector("[data-pierces]");
    told.runs.forEach((_, run) => {
      const [x, y] = this.point(this.first[run]);
      const dot = document.createElementNS(SVG, "circle");
      for (const [name, value] of Object.entries({ cx: x, cy: y, r: 0.007 * this.size })) dot.setAttribute(name, value);
      marks.append(dot);
    });
    this.its_head.setAttribute("r", 0.014 * this.size);
    this.sizes = new ResizeObserver(() => this.number(marks));
    this.sizes.observe(marks.ownerSVGElement);
    this.its_scrub.max = told.total;
    this.its_scrub.step = told.total > 600 ? 1 : 0.1;
    this.fastest = Math.max(...told.speed);
    // Moments at which something begins: a travel, a pierce, an edge.
    this.moments = [
      ...told.runs.flatMap((run) => [run.begin, run.pierce, run.cut]),
      ...told.time.filter((_, k) => k && told.edge[k] !== told.edge[k - 1] && told.run[k] === told.run[k - 1]),
      told.total,
    ].sort((a, b) => a - b);
  }

  /** The order beside each pierce, in the size of the page's own type. */
  number(marks) {
    const svg = marks.ownerSVGElement;
    const pixel = svg.viewBox.baseVal.width / (svg.clientWidth || svg.viewBox.baseVal.width);
    const size = this.told.runs.length > 30 ? 11 : 14;
    for (const old of marks.querySelectorAll("text")) old.remove();
    this.told.runs.forEach((_, run) => {
      const [x, y] = this.point(this.first[run]);
      const text = document.createElementNS(SVG, "text");
      const wanted = { x: x + 8 * pixel, y: y + 5 * pixel, "font-size": size * pixel, "stroke-width": 4 * pixel };
      for (const [name, value] of Object.entries(wanted)) text.setAttribute(name, value);
      text.textContent = run + 1;
      marks.append(text);
    });
  }

  way(run, until) {
    let data = "";
    for (let k = this.first[run]; k <= until; k++) {
      const [x, y] = this.point(k);
      data += `${data ? "L" : "M"}${x.toFixed(3)} ${y.toFixed(3)}`;
    }
    return data;
  }

  /** Where the head is at a time, and what it does there. */
  at(time) {
    const { told } = this;
    let run = told.runs.findIndex((each) => time < each.end);
    if (run < 0) run = told.runs.length - 1;
    const span = told.runs[run];
    if (time < span.cut && time < span.end) {
      const to = this.point(this.first[run]);
      const from = run ? this.point(this.last[run - 1]) : to;
      const share = time >= span.pierce ? 1 : Math.max((time - span.begin) / Math.max(span.pierce - span.begin, 1e-9), 0);
      const place = [0, 1].map((axis) => from[axis] + share * (to[axis] - from[axis]));
      return { run, sample: this.first[run], place, speed: null, doing: time >= span.pierce ? "pierce" : "travel", tilt: 0, heading: 0, edge: -1 };
    }
    let [low, high] = [this.first[run], this.last[run]];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (told.time[middle] <= time) low = middle;
      else high = middle;
    }
    const share = Math.min(Math.max((time - told.time[low]) / Math.max(told.time[high] - told.time[low], 1e-9), 0), 1);
    const mix = (column) => told[column][low] * (1 - share) + told[column][high] * share;
    const [a, b] = [this.point(low), this.point(high)];
    return {
      run,
      sample: low,
      place: [0, 1].map((axis) => a[axis] * (1 - share) + b[axis] * share),
      speed: mix("speed"),
      tilt: mix("tilt"),
      heading: Math.atan2(b[1] - a[1], b[0] - a[0]),
      edge: told.edge[low],
      doing: "cut",
    };
  }

  show(time) {
    const { told } = this;
    this.now = Math.min(Math.max(time, 0), told.total);
    const here = this.at(this.now);
    const over = this.now >= told.total;
    this.showRuns(over ? told.runs.length : here.run);
    const way = here.doing === "cut" && !over;
    this.its_current.setAttribute("d", way ? `${this.way(here.run, here.sample)}L${here.place.map((each) => each.toFixed(3)).join(" ")}` : "");
    const [x, y] = here.place;
    this.its_head.setAttribute("cx", x);
    this.its_head.setAttribute("cy", y);
    this.its_head.classList.toggle("off", here.doing === "travel");
    this.its_head.classList.toggle("piercing", here.doing === "pierce");
    const start = here.run && here.doing === "travel" ? this.point(this.last[here.run - 1]) : null;
    this.its_travel.setAttribute("d", start ? `M${start.join(" ")}L${x} ${y}` : "");
    // The head leans to the right of travel, y downwards, by its tilt: a twelfth of the part for three degrees.
    const reach = (here.tilt / 0.0524) * 0.08 * this.size;
    this.its_lean.setAttribute("d", here.doing === "cut" ? `M${x} ${y}l${-reach * Math.sin(here.heading)} ${reach * Math.cos(here.heading)}` : "");
    this.its_clock.textContent = `${clock(this.now)} of ${clock(told.total)}`;
    const { factor, decimals, symbol } = told.unit;
    this.its_speed.textContent = here.speed === null || over ? "–" : `${(here.speed / factor).toFixed(Math.min(decimals, 1))} ${symbol}`;
    const contour = told.runs[here.run].contour;
    const edge = here.edge < 0 ? `on its lead, contour ${contour}` : `edge ${told.edges[here.edge]}`;
    const doing = over ? "done" : { cut: `cutting, ${edge}`, pierce: `piercing for contour ${contour}`, travel: `travelling to contour ${contour}` }[here.doing];
    this.its_doing.textContent = doing;
    if (!this.playing) this.its_start.textContent = over ? "Play again" : "Play";
    this.its_order.textContent = `${here.run + 1} of ${told.runs.length}`;
    if (document.activeElement !== this.its_scrub || this.playing) this.its_scrub.value = this.now;
    this.its_scrub.setAttribute("aria-valuetext", `${spoken(this.now)} of ${spoken(told.total)}, ${doing}`);
    this.mark(here.doing === "cut" && !over && here.edge >= 0 ? told.edges[here.edge] : "");
  }

  /** The runs that are done, drawn anew only when another one is. */
  showRuns(count) {
    if (count === this.count) return;
    this.count = count;
    this.its_done.setAttribute("d", this.last.slice(0, count).map((last, run) => this.way(run, last)).join(""));
  }

  mark(edge) {
    if (edge === this.marked) return;
    this.marked = edge;
    for (const item of this.querySelectorAll("[data-step]")) {
      const own = edge !== "" && item.dataset.step.split(" ").includes(edge);
      item.toggleAttribute("data-now", own);
    }
  }

  play(on) {
    this.playing = on;
    this.its_start.textContent = on ? "Pause" : this.now >= this.told.total ? "Play again" : "Play";
    cancelAnimationFrame(this.frame);
    clearTimeout(this.timer);
    if (!on) {
      this.its_status.textContent = `Paused at ${spoken(this.now)}, ${this.its_doing.textContent}`;
      return;
    }
    if (this.now >= this.told.total) this.show(0);
    if (calm.matches) this.step();
    else {
      let last;
      const tick = (moment) => {
        if (!this.playing || !this.isConnected) return;
        if (last !== undefined) this.show(this.now + ((moment - last) / 1000) * Number(this.its_pace.value));
        last = moment;
        if (this.now >= this.told.total) this.play(false);
        else this.frame = requestAnimationFrame(tick);
      };
      this.frame = requestAnimationFrame(tick);
    }
  }

  /** Without motion: from one edge to the next, a glance at each. */
  step() {
    if (!this.playing || !this.isConnected) return;
    this.jump(1);
    if (this.now >= this.told.total) this.play(false);
    else this.timer = setTimeout(() => this.step(), 1200);
  }

  jump(way) {
    const next = way > 0 ? this.moments.find((each) => each > this.now + 0.05) : this.moments.findLast((each) => each < this.now - 0.05);
    this.show(next ?? (way > 0 ? this.told.total : 0));
    if (!this.playing) this.its_status.textContent = `${spoken(this.now)}, ${this.its_doing.textContent}`;
  }

  listen() {
    const { signal } = this.stop;
    const on = (target, name, act) => target.addEventListener(name, act, { signal });
    on(this.its_start, "click", () => this.play(!this.playing));
    on(this.its_scrub, "input", () => {
      const { value, step } = this.its_scrub;
      this.show(Number(value) + Number(step) > this.told.total ? this.told.total : Number(value));
    });
    on(this, "click", (event) => {
      const way = event.target.closest("[data-jump]")?.dataset.jump;
      if (way) this.jump(Number(way));
    });
    on(this.querySelector("[data-board]"), "keydown", (event) => {
      if (event.target.closest("select") || event.ctrlKey || event.altKey || event.metaKey) return;
      if (event.key === " " && !event.target.closest("button")) this.play(!this.playing);
      else if (event.key === "," || event.key === "[") this.jump(-1);
      else if (event.key === "." || event.key === "]") this.jump(1);
      else return;
      event.preventDefault();
    });
  }
}

customElements.define("tc-play", Play);
