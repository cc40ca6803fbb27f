// The plan: points of the trade-off are picked on the chart or in the table.
"use strict";

document.addEventListener("click", (event) => {
  const point = event.target.closest("#front-chart [data-point]");
  if (!point) return;
  const row = document.querySelector(`.points input[data-number="${point.dataset.point}"]`);
  row?.click();
});
