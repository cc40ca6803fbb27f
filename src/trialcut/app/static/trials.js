// Trials: readings are typed, pasted or dropped, looked over at once, and kept here until they are entered.
"use strict";

{
  const read = byId("read");
  const HEADINGS = new Set(["coupon", "piece", "cut", "feature", "what", "kind", "depth", "level", "gauge", "value", "measured", "result", "unit", "units", "remark"]);
  const UNIT = /^(in|inch|mm|µm|um|thou|mil|µin|uin|s|min|")$/i;
  const WORDED = /[\p{L}"'″′]/u;
  const table = () => read.querySelector("table.grid");
  const lines = () => [...read.querySelectorAll("tr.line")];
  const inputOf = (line, part) => line.querySelector(`input[data-part=${part}]`);
  const lineOf = (key) => lines().find((each) => each.dataset.key === key);

  // ---- what is typed and not entered yet -------------------------------------------------------------

  const place = () => `trialcut-readings:${table().dataset.trial}`;

  function stored() {
    try {
      return JSON.parse(localStorage.getItem(place())) || {};
    } catch {
      return {};
    }
  }

  function typed() {
    const cells = [];
    for (const line of lines()) {
      const value = inputOf(line, "value");
      const remark = inputOf(line, "remark");
      if (!value.closest("[hidden]") && (value.value.trim() || remark.value.trim())) {
        cells.push({ key: line.dataset.key, value: value.value.trim(), remark: remark.value.trim(), gauge: gaugeOf(line), unit: unitOf(line), own: line.dataset.own || "" });
      }
    }
    return cells;
  }

  function store() {
    const cells = typed();
    const kept = { with: byId("read-with").value, length: byId("length-unit").value, finish: byId("finish-unit").value, cells };
    try {
      if (cells.length || kept.with) localStorage.setItem(place(), JSON.stringify(kept));
    } catch {
      byId("typed").textContent = "This browser keeps nothing: enter the readings before you leave the page.";
    }
    tell(cells.filter((each) => each.value).length);
  }

  function restore() {
    if (!table()) return;
    const kept = stored();
    for (const [id, value] of [["read-with", kept.with], ["length-unit", kept.length], ["finish-unit", kept.finish]]) {
      const field = byId(id);
      if (value && [...field.options].some((each) => each.value === value)) field.value = value;
    }
    for (const cell of kept.cells || []) fillCell(cell);
    label();
    tell(typed().filter((each) => each.value).length);
    check();
  }

  // What is typed in another tab of this trial appears here too.
  window.addEventListener("storage", (event) => {
    if (!table() || event.key !== place()) return;
    const cells = new Map((stored().cells || []).map((each) => [each.key, each]));
    for (const line of lines()) {
      for (const part of ["value", "remark"]) {
        const field = inputOf(line, part);
        if (field !== document.activeElement) field.value = cells.get(line.dataset.key)?.[part] || "";
      }
    }
    check();
  });

  function fillCell(cell) {
    const line = lineOf(cell.key) || addLine(cell.key);
    if (!line) return null;
    for (const part of line.querySelectorAll(".typing")) part.hidden = false;
    inputOf(line, "value").value = cell.value;
    if (cell.remark) inputOf(line, "remark").value = cell.remark;
    if (cell.own) line.dataset.own = cell.own;
    return line;
  }

  // A reading that the form has no line for, such as one at a quarter of the depth.
  function addLine(key) {
    const [coupon, cut, what, depth] = key.split("|");
    const body = [...read.querySelectorAll("tbody[data-coupon]")].find((each) => each.dataset.coupon === coupon);
    const pattern = body?.querySelector("tr.line");
    if (!pattern) return null;
    const line = pattern.cloneNode(true);
    const note = pattern.nextElementSibling.cloneNode(true);
    const spoken = [coupon, cut, what, depth].filter(Boolean).join(" ");
    line.dataset.key = key;
    line.dataset.quantity = what === "through" ? "through" : /^R[aq]$/.test(what) ? "finish" : /time/.test(what) ? "time" : "length";
    delete line.dataset.own;
    line.querySelector("th").textContent = [[cut, what].filter(Boolean).join(" "), depth].filter(Boolean).join(", ");
    for (const each of line.querySelectorAll(".reading, .remark > .aside")) each.remove();
    for (const each of line.querySelectorAll("input")) {
      each.value = "";
      each.setAttribute("aria-label", each.dataset.part === "remark" ? `Remark on ${spoken}` : spoken);
    }
    body.append(line, note);
    return line;
  }

  function tell(count) {
    const button = byId("enter");
    button.disabled = count === 0;
    button.textContent = count ? `Enter ${count} reading${count > 1 ? "s" : ""} in the book` : "Enter in the book";
  }

  // ---- gauge and unit, chosen once -------------------------------------------------------------------

  function gaugeOf(line) {
    const chosen = byId("read-with").value;
    return line.dataset.own || (line.dataset.gauges.split("|").includes(chosen) ? chosen : line.dataset.gauge);
  }

  const unitOf = (line) => ({ length: byId("length-unit").value, finish: byId("finish-unit").value, time: "s" })[line.dataset.quantity] || "";

  function label() {
    for (const line of lines()) {
      const value = inputOf(line, "value");
      if (value.closest("[hidden]")) continue;
      line.querySelector(".unit").textContent = WORDED.test(value.value) || /:/.test(value.value) ? "" : unitOf(line);
      line.querySelector(".by").textContent = gaugeOf(line);
    }
  }

  read.addEventListener("change", (event) => {
    const field = event.target;
    if (field.id === "read-with") {
      byId("length-unit").value = JSON.parse(field.dataset.units)[field.value] || byId("length-unit").value;
      for (const line of lines()) delete line.dataset.own;
    }
    if (["read-with", "length-unit", "finish-unit"].includes(field.id)) {
      label();
      store();
      check();
    }
  });

  // ---- plausible at once -----------------------------------------------------------------------------

  let asked = 0;

  const send = (piece, content) =>
    fetch(`${table().dataset.address}/${piece}`, { method: "POST", body: JSON.stringify(content), headers: { ...ownHeaders(), "Content-Type": "application/json" } }).then((answer) => answer.json());

  const soon = later(180, check);

  async function check() {
    if (!table()) return;
    const cells = typed().filter((each) => each.value);
    const own = ++asked;
    if (!cells.length) return show({});
    try {
      const told = await send("check", { cells });
      if (own === asked && told.cells) show(told.cells);
    } catch {
      byId("typed").textContent = "Trialcut does not answer; what is typed is kept here.";
    }
  }

  function show(told) {
    for (const line of lines()) {
      const one = told[line.dataset.key];
      const value = inputOf(line, "value");
      const row = line.nextElementSibling;
      const note = row.firstElementChild;
      line.classList.toggle("wrong", Boolean(one?.fault));
      line.classList.toggle("doubt", Boolean(one && !one.fault && one.notes.length));
      line.classList.toggle("fine", Boolean(one && !one.fault && !one.notes.length));
      value.toggleAttribute("aria-invalid", Boolean(one?.fault));
      if (one?.fault) value.setAttribute("aria-invalid", "true");
      note.replaceChildren(...(one ? notesOf(one, value) : []));
      row.hidden = !note.childElementCount;
      if (row.hidden) {
        value.removeAttribute("aria-describedby");
      } else {
        note.id ||= `note-${Math.random().toString(36).slice(2)}`;
        value.setAttribute("aria-describedby", note.id);
      }
    }
    tell(typed().filter((each) => each.value && !lineOf(each.key).classList.contains("wrong")).length);
  }

  function paragraph(text) {
    const made = document.createElement("p");
    made.textContent = text;
    return made;
  }

  function notesOf(one, value) {
    if (one.fault) return [paragraph(one.fault)];
    return one.notes.map((note) => {
      const message = note.message.includes(": ") ? note.message.slice(note.message.indexOf(": ") + 2) : note.message;
      const made = paragraph(`${message}. Likely cause: ${note.cause}.`);
      if (note.instead) {
        const take = document.createElement("button");
        take.type = "button";
        take.className = "take";
        take.textContent = `Take ${note.instead}`;
        take.addEventListener("click", () => {
          value.value = note.instead;
          value.focus();
          changed(value);
        });
        made.append(" ", take);
      } else {
        made.append(` ${note.remedy.charAt(0).toUpperCase()}${note.remedy.slice(1)}.`);
      }
      return made;
    });
  }

  function changed() {
    label();
    store();
    soon();
  }
  read.addEventListener("input", (event) => {
    if (event.target.dataset.part) changed();
  });

  // ---- by keyboard alone -----------------------------------------------------------------------------

  function step(field, by) {
    const all = lines().map((line) => inputOf(line, field.dataset.part)).filter((each) => !each.closest("[hidden]"));
    const next = all[all.indexOf(field) + by];
    if (!next) return by > 0 ? byId("enter").focus() : undefined;
    next.focus();
    next.select();
  }

  read.addEventListener("keydown", (event) => {
    const field = event.target;
    if (!field.dataset.part) return;
    const line = field.closest("tr");
    const atStart = field.selectionStart === 0 && field.selectionEnd === 0;
    const atEnd = field.selectionStart === field.value.length && field.selectionEnd === field.value.length;
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) enter();
    else if (event.key === "Enter") step(field, event.shiftKey ? -1 : 1);
    else if (event.key === "ArrowDown") step(field, 1);
    else if (event.key === "ArrowUp") step(field, -1);
    else if (event.key === "ArrowRight" && field.dataset.part === "value" && atEnd) inputOf(line, "remark").focus();
    else if (event.key === "ArrowLeft" && field.dataset.part === "remark" && atStart) inputOf(line, "value").focus();
    else return;
    event.preventDefault();
  });

  // ---- a block from a spreadsheet, or a file -----------------------------------------------------------

  const rowsOf = (text) => text.replace(/\r\n?/g, "\n").split("\n").filter((each) => each.trim()).map((each) => each.split("\t").map((cell) => cell.trim()));

  function isForm(rows) {
    const coupons = new Set([...read.querySelectorAll("tbody[data-coupon]")].map((each) => each.dataset.coupon.toLowerCase()));
    const words = rows[0].flatMap((cell) => cell.toLowerCase().split(/[,;|]/)).map((cell) => cell.replace(/[\s(["].*$/, "").trim());
    return words.filter((each) => HEADINGS.has(each)).length > 1 || rows.some((row) => coupons.has(row[0].split(/[,;|]/)[0].toLowerCase()));
  }

  async function takeTable(text, start) {
    const rows = rowsOf(text);
    if (!rows.length) return;
    let count = 0;
    let told = [];
    if (isForm(rows)) {
      const found = await send("paste", { text });
      told = [...(found.told || [found.message])];
      for (const cell of found.cells || []) {
        const line = fillCell({ ...cell, own: cell.gauge });
        if (line) count += 1;
        else told.push(`${cell.key.replaceAll("|", " ")} is not of this trial`);
      }
    } else {
      const all = lines().filter((line) => !inputOf(line, "value").closest("[hidden]"));
      const first = start ? all.indexOf(start.closest("tr")) : 0;
      rows.forEach((row, k) => {
        const line = all[first + k];
        const at = row.findIndex((cell) => /\d/.test(cell) || /^(y|yes|n|no)$/i.test(cell));
        if (!line || at < 0) return void told.push(line ? `line ${k + 1} of what was pasted has no value` : `line ${k + 1} of what was pasted is beyond the grid`);
        const unit = UNIT.test(row[at + 1] || "") ? ` ${row[at + 1]}` : "";
        fillCell({ key: line.dataset.key, value: row[at] + unit, remark: row[at + (unit ? 2 : 1)] || "" });
        count += 1;
      });
    }
    changed();
    const list = byId("paste-told");
    list.replaceChildren(...told.map((each) => Object.assign(document.createElement("li"), { textContent: each })));
    list.hidden = !told.length;
    byId("typed").textContent = `${count} reading${count === 1 ? "" : "s"} taken into the grid. Look them over, then enter them.`;
  }

  read.addEventListener("paste", (event) => {
    if (!event.target.dataset.part) return;
    const text = event.clipboardData.getData("text/plain");
    if (!/[\n\t]/.test(text.trim())) return;
    event.preventDefault();
    takeTable(text, event.target);
  });

  async function textOf(file, fault) {
    const form = new FormData();
    form.set("file", file);
    const answer = await fetch(`${byId("study").dataset.address}/trials/file`, { method: "POST", body: form, headers: ownHeaders() });
    const told = await answer.json();
    fault.textContent = told.message || "";
    return told.text;
  }

  function dropOn(target, take) {
    for (const name of ["dragover", "dragleave", "drop"]) {
      target.addEventListener(name, (event) => {
        event.preventDefault();
        event.stopPropagation(); // elsewhere on the page a file is a drawing
        target.classList.toggle("over", name === "dragover");
        if (name === "drop" && event.dataTransfer.files.length) take(event.dataTransfer.files[0]);
      });
    }
  }

  async function takeForm(file) {
    if (!table()) return;
    const text = await textOf(file, byId("typed"));
    if (text) await takeTable(text, null);
  }
  dropOn(read, takeForm);
  read.addEventListener("change", (event) => {
    if (event.target.id !== "form-file" || !event.target.files.length) return;
    takeForm(event.target.files[0]);
    event.target.value = "";
  });

  // ---- into the book ---------------------------------------------------------------------------------

  let entering = false;

  async function enter() {
    const cells = typed().filter((each) => each.value);
    if (entering || !cells.length) return;
    entering = true;
    byId("enter").disabled = true;
    try {
      const told = await send("enter", { cells });
      if (told.keys?.length) {
        const left = typed().filter((each) => !told.keys.includes(each.key));
        localStorage.setItem(place(), JSON.stringify({ ...stored(), cells: left }));
        read.innerHTML = told.html;
        byId("unread")?.remove();
        htmx.process(read);
        restore();
        say("tc-entered");
      }
      byId("typed").textContent = told.message;
      lines().map((line) => inputOf(line, "value")).find((each) => !each.closest("[hidden]"))?.focus({ preventScroll: true });
    } catch {
      byId("typed").textContent = "Not entered: Trialcut does not answer. What is typed is kept here; try again.";
    }
    entering = false;
    tell(typed().filter((each) => each.value).length);
  }

  read.addEventListener("click", (event) => {
    const about = event.target.closest("[data-about]");
    if (event.target.closest("#enter")) enter();
    if (about) {
      const open = about.getAttribute("aria-expanded") !== "true";
      about.setAttribute("aria-expanded", open);
      byId(`about-${about.dataset.about}`).parentElement.hidden = !open;
    }
    const row = event.target.closest("tr.about");
    if (row && event.target.closest("[data-close-about], [data-again]")) {
      const name = row.firstElementChild.id;
      const button = read.querySelector(`[aria-controls="${name}"]`);
      button.setAttribute("aria-expanded", "false");
      row.hidden = true;
      if (event.target.closest("[data-again]")) {
        const line = button.closest("tr");
        for (const part of line.querySelectorAll(".typing")) part.hidden = false;
        label();
        inputOf(line, "value").focus();
      } else {
        button.focus();
      }
    }
  });

  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.target === read) restore();
  });
  restore();

  // ---- coupons of the trial that is picked -----------------------------------------------------------

  document.addEventListener("change", (event) => {
    if (event.target.form?.id !== "issue" || event.target.name !== "count") return;
    for (const step of document.querySelectorAll(".step")) step.hidden = step.dataset.step !== event.target.value;
  });

  // ---- a gauge study -----------------------------------------------------------------------------------

  const readings = byId("gauge-table");
  async function takeStudy(file) {
    const text = await textOf(file, byId("gauge-file-fault"));
    if (text) readings.value = text;
  }
  dropOn(byId("gauge-study"), takeStudy);
  byId("gauge-file").addEventListener("change", (event) => {
    if (event.target.files.length) takeStudy(event.target.files[0]);
    event.target.value = "";
  });
  byId("gauge-example").addEventListener("click", (event) => {
    readings.value = event.target.dataset.example;
    byId("gauge-tolerance").value ||= "±0.005 in";
  });
}
