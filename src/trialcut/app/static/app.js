// The page works without this file; with it, it answers while one types.
"use strict";

const byId = (id) => document.getElementById(id);
const say = (name) => document.body.dispatchEvent(new CustomEvent(name));
const later = (milliseconds, act) => {
  let timer;
  return (...given) => {
    clearTimeout(timer);
    timer = setTimeout(act, milliseconds, ...given);
  };
};

// ---- colours -------------------------------------------------------------------------------------

const THEMES = { auto: "Auto", light: "Light", dark: "Dark" };

function showTheme() {
  const now = document.documentElement.dataset.theme || "auto";
  byId("theme-name").textContent = THEMES[now];
}

byId("theme").addEventListener("click", () => {
  const names = Object.keys(THEMES);
  const next = names[(names.indexOf(document.documentElement.dataset.theme || "auto") + 1) % names.length];
  if (next === "auto") {
    delete document.documentElement.dataset.theme;
    localStorage.removeItem("trialcut-theme");
  } else {
    document.documentElement.dataset.theme = next;
    localStorage.setItem("trialcut-theme", next);
  }
  showTheme();
});
showTheme();

// ---- dropping a drawing ----------------------------------------------------------------------------

const begin = byId("begin");
if (begin) {
  const drop = byId("drop");
  const file = byId("file");
  const note = byId("drop-note");
  const LIMIT = 32e6;

  const send = () => {
    const chosen = file.files[0];
    if (!chosen) return;
    const usable = chosen.size > 0 && chosen.size <= LIMIT;
    if (note && !usable) {
      note.textContent = chosen.size
        ? `${chosen.name} has ${Math.round(chosen.size / 1e6)} MB, and 32 MB is the most: export the part's outline alone.`
        : `${chosen.name} is empty: export the drawing again.`;
    }
    if (note) note.hidden = usable;
    if (usable) begin.requestSubmit();
  };
  file.addEventListener("change", send);
  // A file dropped anywhere on the page is meant for the form, not for the browser to open.
  for (const name of ["dragover", "dragleave", "drop"]) {
    window.addEventListener(name, (event) => {
      event.preventDefault();
      drop.classList.toggle("over", name === "dragover");
      if (name === "drop" && event.dataTransfer.files.length) {
        file.files = event.dataTransfer.files;
        send();
      }
    });
  }
}

// ---- the study: its address says everything ----------------------------------------------------------

const study = byId("study");
if (study) {
  const address = study.dataset.address;
  const picture = byId("figure");

  const query = () => {
    const stated = new URLSearchParams();
    for (const [name, value] of new FormData(study)) {
      if (value && name !== "width" && name !== "height") stated.set(name, value);
    }
    const text = stated.toString();
    return text ? `?${text}` : "";
  };

  function keepAddress() {
    history.replaceState(null, "", `${address}${query()}${location.hash}`);
    for (const link of document.querySelectorAll("[data-paper]")) {
      link.href = `${address}/papers/${link.dataset.paper}${query()}`;
    }
  }

  // The picture is drawn for the room it has, so that its lettering can be read at arm's length.
  function measure() {
    const narrow = matchMedia("(max-width: 900px)").matches;
    const lettering = narrow ? 1.1 : 1.3;
    const room = { width: picture.clientWidth, height: innerHeight * (narrow ? 0.36 : 0.58) };
    let changed = false;
    for (const [side, pixels] of Object.entries(room)) {
      const value = Math.round(pixels / lettering);
      changed ||= Math.abs(value - Number(byId(side).value)) > 16;
      byId(side).value = value;
    }
    if (changed) say("tc-look");
  }
  window.addEventListener("load", measure);
  window.addEventListener("resize", later(250, measure));

  // ---- answers ----

  // An answer that was asked for before an option was picked does not take the pick back.
  let picked = "";
  function keepPick() {
    const own = picked && byId(`option-${picked}`);
    if (!own || own.checked) return;
    own.checked = true;
    say("tc-look");
  }

  const studyChanged = later(500, () => say("tc-try"));
  document.addEventListener("input", (event) => {
    const field = event.target;
    if (field.form !== study) return;
    if (field.closest("[data-study]") && field.name !== "sentence") {
      byId("stale").hidden = !document.querySelector(".options");
      byId("answer").classList.toggle("out-of-date", !byId("stale").hidden);
      studyChanged();
    }
    keepAddress();
  });
  document.addEventListener("change", (event) => {
    const field = event.target;
    if (field.form !== study) return;
    if (field.dataset.reload !== undefined) {
      location.assign(`${address}${query()}`);
    } else if (field.name === "option" || field.name === "paint") {
      if (field.name === "option") picked = field.value;
      keepAddress();
      say("tc-look");
    }
  });
  byId("plan").addEventListener("click", () => {
    byId("go").value = "yes";
    byId("stale").hidden = true;
    byId("answer").classList.remove("out-of-date");
    history.pushState(null, "", `${address}${query()}`);
    keepAddress();
  });
  window.addEventListener("popstate", () => location.reload());

  // ---- edges ----

  const hits = () => [...picture.querySelectorAll(".tc-hit")];

  function pick(id, focus) {
    byId("edge-id").value = id;
    for (const hit of hits()) {
      const own = hit.dataset.edge === id;
      hit.setAttribute("aria-pressed", own);
      if (own && focus) hit.focus();
    }
    for (const edge of picture.querySelectorAll("[data-edge]:not(.tc-hit)")) {
      edge.classList.toggle("tc-selected", edge.dataset.edge === id);
    }
    keepAddress();
    say("tc-edge");
  }

  picture.addEventListener("click", (event) => {
    const hit = event.target.closest(".tc-hit");
    if (hit) pick(hit.dataset.edge === byId("edge-id").value ? "" : hit.dataset.edge, false);
  });
  picture.addEventListener("keydown", (event) => {
    const hit = event.target.closest(".tc-hit");
    if (!hit) return;
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (event.key === "Enter" || event.key === " ") {
      pick(hit.dataset.edge, true);
    } else if (step) {
      const all = hits();
      pick(all[(all.indexOf(hit) + step + all.length) % all.length].dataset.edge, true);
    } else {
      return;
    }
    event.preventDefault();
  });
  const closeEdge = () => {
    const last = byId("edge-id").value;
    pick("", false);
    hits().find((hit) => hit.dataset.edge === last)?.focus();
  };
  byId("edge").addEventListener("click", (event) => {
    if (event.target.closest("#edge-close")) closeEdge();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && byId("edge-id").value) closeEdge();
  });

  // A picture that is drawn anew keeps the focus where it was.
  let focused = null;
  document.body.addEventListener("htmx:beforeSwap", (event) => {
    if (event.target === picture) {
      focused = document.activeElement?.dataset?.edge;
    }
  });
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.target === picture && focused) {
      hits().find((hit) => hit.dataset.edge === focused)?.focus();
      focused = null;
    }
    if (event.target === byId("try")) placeSlider();
    const said = event.target.querySelector("[data-say]");
    if (said) byId("status").textContent = said.textContent;
    if (event.target === byId("answer")) {
      const made = document.querySelector(".options") !== null;
      byId("papers").hidden = byId("painting").hidden = !made;
      byId("no-papers").hidden = made;
      keepPick();
    }
    keepAddress();
  });

  // ---- another speed ----

  const slider = byId("slider");
  const speed = byId("speed");
  const tryAgain = later(30, () => say("tc-try"));

  function placeSlider() {
    const range = byId("try-range")?.dataset;
    slider.disabled = !range;
    if (!range) return;
    for (const [name, value] of [["min", range.low], ["max", range.high], ["step", range.step]]) {
      slider.setAttribute(name, value);
    }
    slider.dataset.unit = range.unit;
    if (document.activeElement !== slider) slider.value = range.place;
    slider.setAttribute("aria-valuetext", range.speed);
    if (!speed.value) speed.placeholder = range.speed;
    for (const head of document.querySelectorAll("input[name=stance][value=tilted]")) {
      head.disabled = range.tilt === "no";
    }
  }
  slider.addEventListener("input", () => {
    speed.value = `${slider.value} ${slider.dataset.unit}`;
    slider.setAttribute("aria-valuetext", speed.value);
    tryAgain();
  });
  speed.addEventListener("input", later(250, () => say("tc-try")));
  for (const head of document.querySelectorAll("input[name=stance]")) {
    head.addEventListener("change", () => say("tc-try"));
  }
}
