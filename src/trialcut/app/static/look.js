// How the part looks: panels that fetch what they show when they are opened, and again when it changes.

/* global htmx */
const byId = (id) => document.getElementById(id);
const panels = () => [...document.querySelectorAll("details[data-look]")];
const NEEDS = { outline: ["./outline.js"], solid: ["./solid.js"], play: ["./play.js"], wall: [] };

const address = (changes) => {
  const stated = new URLSearchParams(location.search);
  for (const [name, value] of Object.entries(changes)) {
    if (value) stated.set(name, value);
    else stated.delete(name);
  }
  const text = stated.toString();
  history.replaceState(history.state, "", `${location.pathname}${text ? `?${text}` : ""}${location.hash}`);
};

/** What the page is about: its address, and what its form says since. */
function query() {
  const stated = new URLSearchParams(location.search);
  const form = byId("study");
  for (const [name, value] of form ? new FormData(form) : []) {
    if (typeof value === "string" && value) stated.set(name, value);
    else stated.delete(name);
  }
  stated.delete("look");
  return stated;
}

function load(panel) {
  const body = panel.querySelector("[data-panel]");
  body.setAttribute("aria-busy", "true");
  for (const name of NEEDS[panel.dataset.look]) import(name);
  htmx.ajax("GET", `${body.dataset.from}?${query()}`, { source: body, target: body, swap: "innerHTML" });
}

/** What is shown has changed: open panels fetch it anew, closed ones once they are opened. */
function changed(only) {
  for (const panel of panels()) {
    if (only && panel.dataset.look !== only) continue;
    if (panel.open) load(panel);
    else delete panel.dataset.loaded;
  }
}

document.addEventListener(
  "toggle",
  (event) => {
    const panel = event.target;
    if (!panel.matches?.("details[data-look]")) return;
    if (panel.open && !panel.dataset.loaded) {
      panel.dataset.loaded = "yes";
      load(panel);
    }
    address({ look: panels().filter((each) => each.open).map((each) => each.dataset.look).join(" ") });
  },
  true,
);
document.body.addEventListener("htmx:afterSwap", (event) => {
  if (event.target.matches?.("[data-panel]")) event.target.removeAttribute("aria-busy");
});

// A forecast that changes while a slider moves is looked at once it stands still.
let waiting;
const soon = () => {
  clearTimeout(waiting);
  waiting = setTimeout(changed, 350);
};
for (const name of ["tc-look", "tc-tried", "tc-job-plan", "tc-saved"]) document.body.addEventListener(name, soon);
document.body.addEventListener("tc-edge", () => setTimeout(() => changed("wall"), 0));

// Depth and exaggeration are part of the address, so that a reload shows the same.
let kept;
document.addEventListener("input", (event) => {
  const { name } = event.target;
  if (name !== "depth" && name !== "times") return;
  if (name === "times") {
    for (const other of document.querySelectorAll("[data-look] input[name=times]")) {
      if (other === event.target || other.value === event.target.value) continue;
      other.value = event.target.value;
      other.dispatchEvent(new Event("input"));
    }
  }
  clearTimeout(kept);
  kept = setTimeout(() => address({ [name]: event.target.value }), 200);
});

// A place picked on the solid is the edge that the rest of the page is about.
document.addEventListener("tc-pick", (event) => {
  const hit = [...document.querySelectorAll(".tc-hit")].find((each) => each.dataset.edge === event.detail);
  if (hit && hit.getAttribute("aria-pressed") !== "true") hit.dispatchEvent(new MouseEvent("click", { bubbles: true }));
});

// Panels that are open from the start wait until htmx has found them.
document.addEventListener("DOMContentLoaded", () => {
  for (const panel of panels()) {
    if (!panel.open || panel.dataset.loaded) continue;
    panel.dataset.loaded = "yes";
    load(panel);
  }
});
