// A study: answers are kept as they are typed, the address says what is looked at.
"use strict";

{
  const study = byId("study");
  const answers = byId("answers");
  const base = byId("base");
  const address = study.dataset.address;
  const picture = byId("figure");

  // ---- the address ---------------------------------------------------------------------------------

  const query = () => {
    const stated = new URLSearchParams(location.search);
    for (const field of study.elements) if (field.name) stated.delete(field.name);
    for (const [name, value] of new FormData(study)) {
      if (value && name !== "width" && name !== "height") stated.set(name, value);
    }
    const text = stated.toString();
    return text ? `?${text}` : "";
  };

  function keepAddress() {
    history.replaceState(null, "", `${address}/${study.dataset.section}${query()}${location.hash}`);
    for (const link of document.querySelectorAll("[data-paper]")) {
      link.href = `${address}/papers/${link.dataset.paper}${query()}`;
    }
    for (const link of document.querySelectorAll("[data-section-link]")) {
      link.href = `${address}/${link.dataset.sectionLink}${query()}`;
    }
  }
  window.addEventListener("popstate", () => location.reload());

  // The picture is drawn for the room it has, so that its lettering can be read at arm's length.
  function measure() {
    const narrow = matchMedia("(max-width: 900px)").matches;
    const lettering = narrow ? 1.1 : 1.3;
    const room = { width: picture.clientWidth, height: innerHeight * (narrow ? 0.36 : 0.56) };
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

  // ---- keeping -------------------------------------------------------------------------------------

  const waiting = new Map();
  let sending = false;
  const kept = byId("kept");

  const fieldsOf = (name) => [...answers.elements].filter((each) => each.name === name);

  function fill(name, value) {
    for (const field of fieldsOf(name)) {
      if (field.type === "radio") field.checked = field.value === value;
      else if (field !== document.activeElement) field.value = value;
    }
  }

  async function keep() {
    if (sending || !waiting.size) return;
    sending = true;
    const sent = new Map(waiting);
    waiting.clear();
    kept.textContent = "Saving …";
    const form = new FormData();
    form.set("base", base.value);
    for (const [name, value] of sent) form.set(name, value);
    try {
      const answer = await fetch(`${address}/answers`, { method: "POST", body: form, headers: { ...ownHeaders(), Accept: "application/json" } });
      const told = await answer.json();
      if (told.conflict) {
        showConflict(told.conflict, sent);
      } else if (answer.ok) {
        settle(told, sent);
      } else {
        kept.textContent = told.message;
        for (const [name, value] of sent) if (!waiting.has(name)) waiting.set(name, value);
      }
    } catch {
      for (const [name, value] of sent) if (!waiting.has(name)) waiting.set(name, value);
      kept.textContent = "Not saved: Trialcut does not answer. It is tried again.";
      setTimeout(keep, 2000);
      sending = false;
      return;
    }
    sending = false;
    if (waiting.size && !document.querySelector(".conflict")) soon();
  }
  const soon = later(350, keep);

  function settle(state, sent) {
    base.value = state.version;
    kept.textContent = `Saved, edition ${state.version}`;
    byId("undo").disabled = !state.can_undo;
    byId("redo").disabled = !state.can_redo;
    if (state.merged) {
      for (const [name, value] of Object.entries(state.answers)) {
        if (!sent.has(name) && !waiting.has(name)) fill(name, value);
      }
      byId("newer").textContent = "Somebody else changed other answers meanwhile; both stand.";
      byId("newer").hidden = false;
    }
    document.title = `${state.title} · Trialcut`;
    say("tc-saved");
    if ([...sent.keys()].some((name) => fieldsOf(name).some((each) => each.dataset.reload !== undefined))) {
      location.reload();
    }
  }

  function showConflict(text, sent) {
    const panel = byId("conflict");
    panel.innerHTML = text;
    panel.firstElementChild.focus();
    byId("keep-mine").addEventListener("click", (event) => {
      base.value = event.target.dataset.version;
      panel.replaceChildren();
      for (const [name, value] of sent) if (!waiting.has(name)) waiting.set(name, value);
      keep();
    });
    byId("take-theirs").addEventListener("click", () => {
      waiting.clear();
      location.reload();
    });
    kept.textContent = "Not saved yet";
  }

  document.addEventListener("input", (event) => {
    const field = event.target;
    if (field.form !== answers || !field.name || field.type === "hidden") return;
    waiting.set(field.name, field.value);
    kept.textContent = "Saving …";
    soon();
  });
  // What was typed before this file was there counts too.
  for (const field of answers.elements) {
    const written = field.matches("input[type=text], textarea") && field.value !== field.defaultValue;
    if (field.name && written) waiting.set(field.name, field.value);
  }
  if (waiting.size) soon();
  answers.addEventListener("submit", (event) => {
    if (event.submitter && !event.submitter.name && !event.submitter.hasAttribute("formaction")) {
      event.preventDefault();
      keep();
    }
  });
  window.addEventListener("beforeunload", (event) => {
    if (!waiting.size) return;
    // What was typed last is sent on its way; the browser sees it off even when the page is gone.
    const form = new FormData();
    form.set("base", base.value);
    for (const [name, value] of waiting) form.set(name, value);
    fetch(`${address}/answers`, { method: "POST", body: form, keepalive: true, headers: { ...ownHeaders(), Accept: "application/json" } }).catch(() => event.preventDefault());
    waiting.clear();
  });

  // What somebody else keeps meanwhile is told, not put under one's hands.
  setInterval(async () => {
    if (document.hidden || sending || waiting.size || study.elements.version) return;
    try {
      const answer = await fetch(`${address}/version`);
      if (!answer.ok) return;
      const newest = await answer.json();
      if (sending || waiting.size || newest.version <= Number(base.value)) return;
      const note = byId("newer");
      note.textContent = `${newest.who} changed this study (edition ${newest.version}). `;
      const link = document.createElement("a");
      link.href = location.href;
      link.textContent = "See it";
      link.addEventListener("click", (event) => {
        event.preventDefault();
        location.reload();
      });
      note.append(link);
      note.hidden = false;
    } catch {
      kept.textContent = "Trialcut does not answer";
    }
  }, 8000);

  // ---- what is looked at -----------------------------------------------------------------------------

  // An answer that was asked for before an option was picked does not take the pick back.
  let picked = "";
  function keepPick() {
    const own = picked && byId(`option-${picked}`);
    if (!own || own.checked) return;
    own.checked = true;
    say("tc-look");
  }

  document.addEventListener("change", (event) => {
    const field = event.target;
    if (field.form !== study) return;
    if (field.name === "option") picked = field.value;
    if (field.dataset.reload !== undefined) {
      location.assign(`${address}/${study.dataset.section}${query()}`);
      return;
    }
    keepAddress();
    if (field.name === "option" || field.name === "paint") say("tc-look");
  });

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
    if (event.target === picture) focused = document.activeElement?.dataset?.edge;
  });
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.target === picture && focused) {
      hits().find((hit) => hit.dataset.edge === focused)?.focus();
      focused = null;
    }
    const said = event.target.querySelector("[data-say]");
    if (said) byId("status").textContent = said.textContent;
    if (event.target === byId("answer")) {
      const made = document.querySelector(".options") !== null;
      for (const each of document.querySelectorAll(".papers")) each.hidden = !made;
      keepPick();
    }
    byId("painting").hidden = !picture.querySelector(".tc-painted");
    keepAddress();
  });
}
