// How the part looks: panels that fetch what they show when they are opened, and again when it changes.

/* global htmx */
const panels = () => [...document.querySelectorAll("details[data-look]")];
const NEEDS = { outline: "./outline.js", solid: "./solid.js", play: "./play.js" };
const KEPT = { look: "[data-look-open]", depth: "[data-keep=depth]", times: "[data-keep=times]" };
const TOLD = ["option", "point", "speed", "stance", "version"]; // what of the view a panel depends on

/** What the page is about: its address, and what its form says since. */
function query() {
  const stated = new URLSearchParams(location.search);
  for (const [name, value] of new FormData(document.getElementById("study"))) {
    if (typeof value === "string" && value) stated.set(name, value);
    else stated.delete(name);
  }
  stated.delete("width");
  stated.delete("height");
  return stated;
}

/** Keep something in the page's form and in its address. */
function keep(name, value) {
  document.querySelector(KEPT[name]).value = value;
  history.replaceState(history.state, "", `${location.pathname}?${query()}${location.hash}`);
}

const LOST = "It could not be fetched: is Trialcut still running? Close the panel and open it to ask again.";
const busy = new Set();

/** Say that a panel could not be fetched; it is asked for again when it is opened again. */
function lost(body) {
  body.textContent = LOST;
  body.closest("details").dataset.lost = "yes";
}

/** Fetch a panel; one that is being fetched already is looked at again once it has come. */
async function load(panel) {
  if (busy.has(panel)) return;
  busy.add(panel);
  const { look } = panel.dataset;
  const body = panel.querySelector("[data-panel]");
  const stated = query();
  panel.dataset.shows = shownBy(look, stated);
  body.setAttribute("aria-busy", "true");
  if (NEEDS[look]) import(NEEDS[look]);
  stated.delete("look");
  try {
    await htmx.ajax("GET", `${body.dataset.from}?${stated}`, { source: body, target: body, swap: "innerHTML" });
  } catch {
    lost(body);
  }
  body.removeAttribute("aria-busy");
  busy.delete(panel);
  follow();
}

const shownBy = (look, stated) =>
  JSON.stringify((look === "wall" ? [...TOLD, "edge"] : TOLD).map((name) => stated.get(name)));

/** Open panels that show something else than the page is about now fetch it. */
function follow() {
  const stated = query();
  for (const panel of panels()) {
    if (panel.open && panel.dataset.shows !== shownBy(panel.dataset.look, stated)) load(panel);
  }
}

/** Answers have changed: whatever was fetched is out of date. */
function forget() {
  for (const panel of panels()) delete panel.dataset.shows;
  follow();
}

const later = (milliseconds, act) => {
  let timer;
  return (...given) => {
    clearTimeout(timer);
    timer = setTimeout(act, milliseconds, ...given);
  };
};

document.addEventListener(
  "toggle",
  (event) => {
    if (!event.target.matches?.("details[data-look]")) return;
    if (event.target.dataset.lost) delete event.target.dataset.shows; // closed and opened may be told as one
    delete event.target.dataset.lost;
    if (!event.target.open) {
      delete event.target.dataset.shows;
      event.target.querySelector("[data-panel]").replaceChildren(); // nothing plays on or holds memory unseen
    }
    const open = panels().filter((each) => each.open).map((each) => each.dataset.look);
    keep("look", open.join(" "));
    follow();
  },
  true,
);
document.body.addEventListener("htmx:responseError", (event) => {
  const body = event.target.closest?.("[data-panel]");
  if (body) lost(body);
});

// A forecast that changes while a slider moves is looked at once it stands still.
document.body.addEventListener("tc-look", later(450, follow));
document.body.addEventListener("tc-edge", later(0, follow));
for (const name of ["tc-saved", "tc-job-plan"]) document.body.addEventListener(name, later(300, forget));

// Depth and exaggeration are part of the address, so that a reload shows the same.
const keepSoon = { depth: later(200, keep), times: later(200, keep) };
document.addEventListener("input", (event) => {
  const name = ["depth", "times"].find((each) => each in event.target.dataset);
  if (!name || !event.target.closest("details[data-look]")) return;
  if (name === "times") {
    for (const other of document.querySelectorAll("details[data-look] [data-times]")) {
      if (other === event.target) continue;
      other.value = event.target.value;
      other.dispatchEvent(new Event("input"));
    }
  }
  keepSoon[name](name, event.target.value);
});

// A place picked on the solid is the edge that the rest of the page is about.
document.addEventListener("tc-pick", (event) => {
  const hit = [...document.querySelectorAll(".tc-hit")].find((each) => each.dataset.edge === event.detail);
  if (hit && hit.getAttribute("aria-pressed") !== "true") hit.dispatchEvent(new MouseEvent("click", { bubbles: true }));
});

// Panels that are open from the start wait until htmx is there.
document.addEventListener("DOMContentLoaded", follow);
