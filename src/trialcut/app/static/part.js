// The part: several edges chosen together, by a loop drawn around them or with Shift, and asked something.
"use strict";

{
  const picture = byId("figure");
  const panel = byId("ask");
  const demands = byId("demands");
  const text = byId("ask-text");
  let chosen = [];

  const hits = () => [...picture.querySelectorAll(".tc-hit")];
  const order = () => hits().map((hit) => hit.dataset.edge);

  function show() {
    const all = order();
    chosen = all.filter((id) => chosen.includes(id));
    for (const edge of picture.querySelectorAll("[data-edge]:not(.tc-hit)")) {
      edge.classList.toggle("tc-chosen", chosen.includes(edge.dataset.edge));
    }
    panel.hidden = !chosen.length;
    byId("chosen").textContent = chosen.join(", ");
  }

  function toggle(id) {
    chosen = chosen.includes(id) ? chosen.filter((each) => each !== id) : [...chosen, id];
    show();
  }

  // ---- a loop drawn around edges ----

  const NEAREST = 4; // pixels between points of the loop
  const SAMPLES = 9;
  let loop = null;

  const place = (svg, event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

  picture.addEventListener("pointerdown", (event) => {
    const svg = picture.querySelector("svg");
    if (!svg || event.button !== 0 || event.target.closest(".tc-hit") || event.pointerType === "touch") return;
    const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    path.setAttribute("class", "tc-lasso");
    svg.append(path);
    loop = { svg, path, points: [place(svg, event)] };
    picture.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  picture.addEventListener("pointermove", (event) => {
    if (!loop) return;
    const point = place(loop.svg, event);
    const last = loop.points.at(-1);
    if (Math.hypot(point.x - last.x, point.y - last.y) < NEAREST) return;
    loop.points.push(point);
    loop.path.setAttribute("d", `M${loop.points.map((each) => `${each.x.toFixed(1)},${each.y.toFixed(1)}`).join("L")}Z`);
  });

  function inside(point, points) {
    let odd = false;
    for (let i = 0, j = points.length - 1; i < points.length; j = i++) {
      const [a, b] = [points[i], points[j]];
      if (a.y > point.y !== b.y > point.y && point.x < ((b.x - a.x) * (point.y - a.y)) / (b.y - a.y) + a.x) odd = !odd;
    }
    return odd;
  }

  function caught(points) {
    return hits()
      .filter((hit) => {
        const length = hit.getTotalLength();
        const within = Array.from({ length: SAMPLES }, (_, k) => hit.getPointAtLength((length * (k + 0.5)) / SAMPLES)).filter(
          (point) => inside(point, points),
        );
        return within.length > SAMPLES / 2;
      })
      .map((hit) => hit.dataset.edge);
  }

  const end = (event) => {
    if (!loop) return;
    const { path, points } = loop;
    path.remove();
    loop = null;
    if (points.length < 3) {
      chosen = [];
    } else {
      const found = caught(points);
      chosen = event.shiftKey ? [...new Set([...chosen, ...found])] : found;
    }
    show();
    if (chosen.length) text.focus();
  };
  picture.addEventListener("pointerup", end);
  picture.addEventListener("pointercancel", end);

  // ---- one by one, with Shift ----

  picture.addEventListener(
    "click",
    (event) => {
      const hit = event.target.closest(".tc-hit");
      if (!hit || !event.shiftKey) return;
      event.stopImmediatePropagation();
      toggle(hit.dataset.edge);
    },
    true,
  );
  picture.addEventListener(
    "keydown",
    (event) => {
      const hit = event.target.closest(".tc-hit");
      if (!hit || !event.shiftKey || (event.key !== "Enter" && event.key !== " ")) return;
      event.stopImmediatePropagation();
      event.preventDefault();
      toggle(hit.dataset.edge);
    },
    true,
  );

  // ---- and asked something ----

  function ask() {
    const wish = text.value.trim();
    if (!wish || !chosen.length) return;
    const line = `${chosen.join(", ")}: ${wish}`;
    demands.value = demands.value.trim() ? `${demands.value.trimEnd()}\n${line}` : line;
    demands.dispatchEvent(new Event("input", { bubbles: true }));
    text.value = "";
    chosen = [];
    show();
    demands.focus();
  }
  byId("ask-add").addEventListener("click", ask);
  text.addEventListener("keydown", (event) => {
    if (event.key === "Enter") {
      event.preventDefault();
      ask();
    }
  });
  byId("ask-none").addEventListener("click", () => {
    chosen = [];
    show();
  });
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.target === picture) show();
  });
}
