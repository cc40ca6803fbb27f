// The page works without this file; with it, it answers while one types.
"use strict";

const byId = (id) => document.getElementById(id);
const say = (name) => document.body.dispatchEvent(new CustomEvent(name));
// What a change must carry where people sign in.
const ownHeaders = () => {
  const token = document.querySelector("meta[name=csrf]")?.content;
  return token ? { "X-Trialcut-Csrf": token } : {};
};
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
    const chosen = [...file.files];
    const bad = chosen.find((each) => each.size === 0 || each.size > LIMIT);
    if (note && bad) {
      note.textContent = bad.size
        ? `${bad.name} has ${Math.round(bad.size / 1e6)} MB, and 32 MB is the most: export the part's outline alone.`
        : `${bad.name} is empty: export the drawing again.`;
    }
    if (note) note.hidden = !bad;
    if (chosen.length && !bad) begin.requestSubmit();
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
