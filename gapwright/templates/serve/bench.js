// The pages work without this. With it: Enter leads from place to place, averages and the answer
// come while one types, a draft outlives a reload, and a lost connection loses nothing.
"use strict";

const soon = (wait, deed) => {
  let timer = 0;
  return () => { clearTimeout(timer); timer = setTimeout(deed, wait); };
};

const said = (place, text) => {
  if (!place || place.textContent === text) return;
  place.textContent = text;
  place.hidden = !text;
};

const kept = {
  get: (key) => { try { return JSON.parse(localStorage.getItem(key)); } catch { return null; } },
  set: (key, value) => { try { localStorage.setItem(key, JSON.stringify(value)); } catch { /* full or forbidden */ } },
  drop: (key) => { try { localStorage.removeItem(key); } catch { /* forbidden */ } },
};

function light() {
  const root = document.documentElement;
  const show = (theme) => {
    root.toggleAttribute("data-dark", theme === "dark");
    root.toggleAttribute("data-light", theme === "light");
  };
  show(kept.get("gapwright light"));
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "light or dark";
  button.addEventListener("click", () => {
    const dark = root.hasAttribute("data-dark")
      || (!root.hasAttribute("data-light") && matchMedia("(prefers-color-scheme: dark)").matches);
    kept.set("gapwright light", dark ? "light" : "dark");
    show(dark ? "light" : "dark");
  });
  document.querySelector(".top")?.append(button);
}

// A gauge that types like a keyboard ends each number with Enter.
function enterLeadsOn(form) {
  form.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || field.tagName !== "INPUT") return;
    event.preventDefault();
    const order = [...form.querySelectorAll(".places input"), form.querySelector(".go button")];
    const at = order.indexOf(field);
    const next = at < 0 ? order[0] : order[at + 1];
    next.focus();
    next.select?.();
  });
}

// Fields are held by name and place, so that a draft of one pack comes back among all of them.
function draft(form) {
  const key = `gapwright draft ${form.getAttribute("action")} ${form.dataset.draft}`;
  const unit = form.querySelector("input[name=length]").value;
  const fields = [...form.elements].filter((field) => field.name.startsWith("job/") && field.type !== "hidden");
  const value = (field) => (field.type === "checkbox" ? field.checked : field.value);
  const typed = () => {
    const held = {};
    for (const field of fields) (held[field.name] ??= []).push(value(field));
    return held;
  };
  const held = kept.get(key);
  const fromLink = [...new URLSearchParams(location.search).keys()].some((name) => name.startsWith("job/"));
  if (held?.typed && !fromLink && held.unit === unit) {
    const places = {};
    let changed = false;
    for (const field of fields) {
      const nth = places[field.name] = (places[field.name] ?? -1) + 1;
      const before = held.typed[field.name]?.[nth];
      if (before === undefined || before === value(field)) continue;
      changed = true;
      if (field.type === "checkbox") field.checked = before; else field.value = before;
    }
    if (changed) sayBack(form, key);
  }
  form.addEventListener("input", () => {
    kept.set(key, { unit, typed: { ...kept.get(key)?.typed, ...typed() } });
  });
}

function sayBack(form, key) {
  const notice = document.createElement("p");
  notice.className = "draft";
  notice.setAttribute("role", "status");
  notice.textContent = "What was typed here before is back. ";
  const afresh = document.createElement("button");
  afresh.type = "button";
  afresh.textContent = "start afresh";
  afresh.addEventListener("click", () => { kept.drop(key); location.reload(); });
  notice.append(afresh);
  form.before(notice);
}

const send = (path, form) => fetch(path, { method: "POST", body: new URLSearchParams(new FormData(form)) });

function averages(form) {
  const readings = [...form.querySelectorAll(".reading")];
  return async () => {
    const answer = await send("/api/readings", form);
    if (!answer.ok) return false;
    const told = await answer.json();
    for (const place of readings) {
      const one = told.readings.find((found) => (found.gap ?? "") === place.dataset.gap && found.reading === place.dataset.name);
      const wrong = told.problems.filter((problem) => problem.field.startsWith(place.dataset.path));
      const words = one && one.places > 1
        ? `average ${one.average.shown}, spread ${one.spread.shown}`
        : one ? one.average.shown : "";
      said(place.querySelector(".average"), wrong.length ? `! ${wrong[0].sentence}` : words);
    }
    return told.readings.length > 0 && told.problems.length === 0;
  };
}

function answers(form) {
  const place = form.querySelector(".live");
  return async () => {
    const answer = await send(form.dataset.live, form);
    if (!answer.ok) { said(place, ""); return; }
    const told = await answer.json();
    if (told.shape === "gapwright check 1") {
      said(place, told.gaps.map((gap) => `${gap.name}: measured ${gap.measured.shown}, promised ${gap.promised.shown}${gap["in window"] ? "" : ": OUT OF ITS WINDOW"}`).join("\n"));
      return;
    }
    const verdict = { "fit": "fits", "no fit": "no fit", "undecided": "undecided so far" }[told.answer];
    const gaps = (told.gaps ?? []).map((gap) => `${gap.name} ${gap.gap.shown}`);
    const near = (told.nearest ?? []).filter((gap) => gap["missed by"]).map((gap) => `${gap.gap}: nearest ${gap.nearest.shown}`);
    said(place, [`${verdict}${told.proved ? ", proved" : ""}`, ...gaps, ...near].join("\n"));
  };
}

function live(form) {
  const average = averages(form);
  const answer = answers(form);
  const lost = () => said(form.querySelector(".live"), "No connection. What you typed is kept here; it is sent once the connection is back.");
  const solve = soon(500, () => answer().catch(lost));
  const look = soon(120, () => average().then((whole) => whole && solve()).catch(lost));
  form.addEventListener("input", look);
  addEventListener("online", look);
  if ([...form.querySelectorAll(".places input")].some((field) => field.value)) look();
}

// An answer that cannot come must not take the page with it.
function sendsOnlyIfHeard(form) {
  let heard = false;
  form.addEventListener("submit", async (event) => {
    if (heard) { heard = false; return; }
    event.preventDefault();
    const button = event.submitter ?? form.querySelector(".go button");
    button.setAttribute("aria-busy", "true");
    try {
      await fetch("/bench.css", { method: "HEAD", cache: "no-store" });
      heard = true;
      form.requestSubmit(event.submitter ?? undefined);
    } catch {
      said(form.querySelector(".live"), "No connection. What you typed is kept here; press again once it is back.");
    } finally {
      button.removeAttribute("aria-busy");
    }
  });
}

// What takes long is looked at again and again, until its answer stands there.
function waits(place) {
  const look = async () => {
    try {
      const answer = await fetch(location.href, { cache: "no-store" });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const now = page.querySelector("[data-waits]");
      if (!now) { location.reload(); return; }
      said(place, now.textContent);
    } catch {
      said(place, "No connection. It is worked out all the same, and shown once the connection is back.");
    }
    setTimeout(look, 700);
  };
  setTimeout(look, 700);
}

// A line with a fault is marked in the text.
function leadsToLine(place) {
  place.addEventListener("click", (event) => {
    event.preventDefault();
    const text = document.getElementById("text");
    const lines = text.value.split("\n");
    const before = lines.slice(0, place.dataset.line - 1).join("\n").length;
    const start = place.dataset.line > 1 ? before + 1 : 0;
    text.focus();
    text.setSelectionRange(start, start + lines[place.dataset.line - 1].length);
    text.scrollTop = (place.dataset.line - 3) * text.scrollHeight / lines.length;
  });
}

light();
document.querySelectorAll("[data-line]").forEach(leadsToLine);
document.querySelectorAll("form[data-heard]").forEach(sendsOnlyIfHeard);
document.querySelectorAll("[data-waits]").forEach(waits);
for (const form of document.querySelectorAll("form.measure")) {
  draft(form);
  enterLeadsOn(form);
  live(form);
  sendsOnlyIfHeard(form);
}
