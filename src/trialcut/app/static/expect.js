// What to expect: the slider, the typed speed and the stance move the numbers and the drawing.
"use strict";

{
  const slider = byId("slider");
  const speed = byId("speed");

  function placeSlider() {
    const range = byId("try-range")?.dataset;
    slider.disabled = !range || range.planned === "yes";
    if (!range) return;
    for (const [name, value] of [["min", range.low], ["max", range.high], ["step", range.step]]) {
      slider.setAttribute(name, value);
    }
    slider.dataset.unit = range.unit;
    if (document.activeElement !== slider) slider.value = range.place;
    slider.setAttribute("aria-valuetext", range.speed);
    if (!speed.value) speed.placeholder = range.speed;
    speed.disabled = range.planned === "yes";
    for (const head of document.querySelectorAll("input[name=stance][value=tilted]")) {
      head.disabled = range.tilt === "no";
    }
  }
  placeSlider();

  slider.addEventListener("input", () => {
    speed.value = `${slider.value} ${slider.dataset.unit}`;
    slider.setAttribute("aria-valuetext", speed.value);
    say("tc-try"); // at most one is on its way and one, the last, waits: see hx-sync
  });
  speed.addEventListener("input", later(250, () => say("tc-try")));
  for (const head of document.querySelectorAll("input[name=stance]")) {
    head.addEventListener("change", () => say("tc-try"));
  }
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.target !== byId("try")) return;
    placeSlider();
    say("tc-look");
  });
}
