// The pages work without this. With it: Enter leads from place to place, averages and the answer
// come while one types, a draft outlives a reload, and a lost connection loses nothing.
"use strict";

const said = (place, text) => {
  if (!place) return;
  place.textContent = text;
  place.hidden = !text;
  place.style.visibility = "visible";
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

// The fields a length is typed into, in the order of the page; those folded away are left out.
const places = (form) => [...form.querySelectorAll(".places input, .measured input")]
  .filter((field) => !field.closest("details:not([open])"));
const emptyAfter = (form, at) => places(form).find((field) => !field.value.trim()
  && at.compareDocumentPosition(field) & Node.DOCUMENT_POSITION_FOLLOWING);
const leadOn = (form, at) => (emptyAfter(form, at) ?? form.querySelector(".go button")).focus();
const changed = (field) => field.dispatchEvent(new Event("input", { bubbles: true }));

// A gauge that types like a keyboard ends each number with Enter, which leads to the next empty
// place. A number typed where no text goes, on a button or a choice, goes to that place as well.
function gauge() {
  let loose = "";
  let before = "";
  const forget = () => { loose = ""; };
  addEventListener("focusin", forget);
  addEventListener("focusout", () => { isWhole = true; });
  addEventListener("pointerdown", forget);
  addEventListener("keydown", (event) => {
    typedAt = performance.now();
    isWhole = event.key === "Enter" || event.key === "Tab";
    const form = document.querySelector("form.measure");
    const at = event.target;
    if (!form || event.ctrlKey || event.metaKey || event.altKey) return;
    if (at.matches("input:not([type=checkbox]), textarea")) {
      if (event.key !== "Enter" || at.form !== form) return;
      event.preventDefault();
      leadOn(form, at);
      return;
    }
    const chooses = at.tagName === "SELECT";
    if (event.key.length === 1) {
      if (chooses && !loose) before = at.value;
      loose += event.key;
      return;
    }
    if (event.key !== "Enter" || !/\d/.test(loose)) return;
    event.preventDefault();
    const number = loose;
    loose = "";
    if (chooses && at.selectedOptions[0]?.text.startsWith(number)) { leadOn(form, at); return; }
    if (chooses) { at.value = before; changed(at); }
    const place = emptyAfter(form, at);
    if (!place) { notice(at.closest("p, label, section") ?? form, `${number} was typed, and no place is empty: touch the one it belongs to.`); return; }
    place.value = number;
    changed(place);
    leadOn(form, place);
  });
}

// When a key was pressed last: nothing moves under a gauge that is in the middle of a number.
let typedAt = 0;
let isWhole = true;
const pause = (wait) => new Promise((go) => { setTimeout(go, wait); });
const rest = async () => { while (performance.now() - typedAt < (isWhole ? 80 : 800)) await pause(20); };

function notice(before, text, button) {
  document.querySelectorAll(".draft.said").forEach((one) => one.remove());
  const place = document.createElement("p");
  place.className = "draft said";
  place.setAttribute("role", "status");
  place.append(text, ...(button ? [button] : []));
  before.before(place);
}

const DRAFTS = "gapwright draft ";
const MOST_DRAFTS = 40;
const drafts = () => {
  try { return Object.keys(localStorage).filter((key) => key.startsWith(DRAFTS)).sort((a, b) => (kept.get(b)?.at ?? 0) - (kept.get(a)?.at ?? 0)); } catch { return []; }
};
const over = (keys) => { for (const key of keys) kept.set(key, { ...kept.get(key), over: true }); };

// A number without a unit is in the unit of the form it was typed into.
const BARE = /^\s*[-+\u2010-\u2015\u2212]?(\d+ )?(\d+([.,/]\d+)?|[.,]\d+)\s*$/;
const unitOf = (form) => form.querySelector("input[name=length]").value;

// All that is typed of one job is one draft, whatever of it the page shows, in which unit, and
// which of the pages before it one goes back to: the form and its addresses carry the draft's name.
function draft(form, signal, shownAnew) {
  const asked = new URLSearchParams(location.search);
  const own = form.querySelector("input[name=draft]");
  const name = `${DRAFTS}${form.getAttribute("action")} ${form.dataset.draft} `;
  const begun = own.value || [...asked.keys()].some((one) => one.startsWith("job/"));
  own.value ||= Date.now().toString(36) + Math.random().toString(36).slice(2, 8);
  const key = name + own.value;
  asked.set("draft", own.value);
  history.replaceState(history.state, "", `${location.pathname}?${asked}${location.hash}`);
  const before = begun ? key : drafts().find((one) => one.startsWith(name) && !kept.get(one)?.over);
  const held = before && kept.get(before);
  const back = () => {
    const last = kept.get(key);
    return last?.typed ? putBack(form, last) : false;
  };
  if (held?.typed && before !== key) kept.set(key, held);
  if (back() && !shownAnew) {
    const afresh = document.createElement("button");
    afresh.type = "button";
    afresh.textContent = "start afresh";
    afresh.addEventListener("click", () => {
      over(drafts().filter((one) => one.startsWith(name)));
      for (const one of [...asked.keys()]) if (one.startsWith("job/") || one === "draft") asked.delete(one);
      location.assign(`${location.pathname}?${asked}`);
    });
    notice(form, "What was typed here before is back. ", afresh);
  }
  drafts().slice(MOST_DRAFTS).forEach(kept.drop);
  addEventListener("pageshow", (event) => { if (event.persisted) back(); }, { signal });
  form.addEventListener("input", () => {
    const typed = {};
    for (const box of form.querySelectorAll("input[type=checkbox]")) typed[box.name] = [];
    for (const [field, value] of new FormData(form)) if (/^job\/|^shelf$/.test(field)) (typed[field] ??= []).push(value);
    kept.set(key, { at: Date.now(), unit: unitOf(form), typed });
  });
}

// Fields are filled by name and place; what the form does not show is sent along all the same.
function putBack(form, held) {
  const unit = unitOf(form);
  const isLength = new RegExp(`^${form.dataset.lengths}$`);
  let differs = false;
  for (const [name, values] of Object.entries(held.typed)) {
    const told = held.unit === unit || !isLength.test(name) ? values
      : values.map((value) => (BARE.test(value) ? `${value.trim()} ${held.unit}` : value));
    const fields = [...form.elements].filter((field) => field.name === name);
    const shown = fields.filter((field) => field.type !== "hidden");
    if (!shown.length) {
      fields.forEach((field) => field.remove());
      for (const value of told) {
        const field = document.createElement("input");
        Object.assign(field, { type: "hidden", name, value });
        form.append(field);
      }
    }
    shown.forEach((field, nth) => {
      const was = field.type === "checkbox" ? field.checked : field.value;
      if (field.type === "checkbox") field.checked = told.includes(field.value);
      else if (told[nth] !== undefined && (field.tagName !== "SELECT" || [...field.options].some((one) => one.value === told[nth]))) field.value = told[nth];
      differs ||= was !== (field.type === "checkbox" ? field.checked : field.value);
    });
  }
  return differs;
}

// Another unit, another pack, another layout: the same form, shown anew where it stands.
let pressed = 0;
function showsAnew(form, stop) {
  let hand = null;
  form.addEventListener("focusin", (event) => { if (event.target.name && event.target.type !== "submit") hand = whereIs(form, event.target); });
  form.addEventListener("submit", async (event) => {
    const button = event.submitter;
    if (!button?.hasAttribute("formaction")) return;
    event.preventDefault();
    const mine = pressed += 1;
    button.setAttribute("aria-busy", "true");
    await rest();
    const asked = new URLSearchParams(new FormData(form));
    if (button.name) asked.set(button.name, button.value);
    const address = `${button.getAttribute("formaction")}?${asked}`;
    let page;
    try {
      page = new DOMParser().parseFromString(await (await fetch(address)).text(), "text/html");
    } catch {
      button.removeAttribute("aria-busy");
      notice(form, "No connection. What you typed is kept here; press again once it is back.");
      return;
    }
    await rest();
    if (mine !== pressed || !form.isConnected) return;
    if (!page.querySelector("form.measure")) { location.assign(address); return; }
    stop();
    history.replaceState(history.state, "", address);
    document.title = page.title;
    for (const part of ["main", ".units"]) document.querySelector(part).replaceWith(page.querySelector(part));
    begin(document.querySelector("form.measure"), hand ?? true);
  });
}

const whereIs = (form, field) => ({
  name: field.name,
  nth: [...form.querySelectorAll("input, select")].filter((one) => one.name === field.name).indexOf(field),
});

// The hand stays where it was; at the start it is at the first place that is empty.
function takeUp(form, hand) {
  const all = [...form.querySelectorAll("input, select")];
  const same = hand?.name && all.filter((field) => field.name === hand.name)[hand.nth];
  const first = places(form).find((field) => !field.value && field.closest(".places"));
  const next = same && (same.value && places(form).includes(same) ? emptyAfter(form, same) ?? same : same);
  (next ?? first)?.focus({ preventScroll: !same });
}

const send = (path, form, signal) => fetch(path, { method: "POST", body: new URLSearchParams(new FormData(form)), signal });

function averages(form, told) {
  for (const place of form.querySelectorAll(".reading")) {
    const one = told.readings.find((found) => (found.gap ?? "") === place.dataset.gap && found.reading === place.dataset.name);
    const wrong = told.problems.filter((problem) => isAt(problem, place));
    const words = one && one.places > 1
      ? `average ${one.average.shown}, spread ${one.spread.shown}`
      : one ? one.average.shown : "";
    said(place.querySelector(".average"), wrong.length ? `! ${wrong[0].sentence}` : words);
  }
  const elsewhere = told.problems.find((problem) => ![...form.querySelectorAll(".reading")].some((place) => isAt(problem, place)));
  if (elsewhere) return `! ${elsewhere.field}: ${elsewhere.sentence}`;
  if (told.problems.length) return "no answer: a reading is wrong";
  return told.readings.length ? "" : null;
}
const isAt = (problem, place) => `${problem.field}.`.startsWith(`${place.dataset.path}.`);

function unread(one) {
  const next = one["no reading"]["next trial"];
  const parts = next && next.parts.map((here) => here.join(" + ") || "none").join(", ");
  return `${one.gap}: NO READING${next ? `, trial build next: ${parts}` : ""}`;
}

function verdict(form, told) {
  if (told.problems) return told.problems.map((problem) => `${problem.field}: ${problem.sentence}`.replace(/^: /, "")).join("\n");
  if (form.dataset.live === "/api/check") {
    const read = told.gaps.map((gap) => `${gap.name}: measured ${gap.measured.shown}, ${told["promised on"] ? "promised" : "worked out"} ${gap.promised.shown}${gap["nothing at"].length ? ": NO READING" : gap["in window"] ? "" : ": OUT OF ITS WINDOW"}${gap.even ? "" : ": NOT EVEN"}`);
    const gaps = new Set([...form.querySelectorAll(".reading")].map((place) => place.dataset.gap));
    const open = [...gaps].filter((name) => !told.gaps.some((gap) => gap.name === name));
    return [...read, ...(open.length ? [`not measured yet: ${open.join(", ")}`] : [])].join("\n");
  }
  const gaps = told.gaps ?? [];
  const waits = told.waiting.map((one) => one["no reading"] ? unread(one) : `${one.gap} waits for ${one.for.join(", ")}`);
  const near = (told.nearest ?? []).filter((gap) => gap["missed by"]).map((gap) => `${gap.gap}: nearest ${gap.nearest.shown}`);
  const proved = told.proved ? ", proved" : "";
  const answer = { "fit": waits.length ? `${gaps.length} of ${gaps.length + waits.length} fit` : `fits${proved}`, "no fit": `no fit${proved}`, "no reading": "no reading", "undecided": "undecided so far" }[told.answer];
  return [answer, gaps.map((gap) => `${gap.name} ${gap.gap.shown}`).join(", "), ...near, waits.join("; ")].filter(Boolean).join("\n");
}

// What is said of the readings is cleared with the key that makes it old, and a reply that others
// were asked for since is not shown.
function live(form, signal) {
  const place = form.querySelector(".live");
  let asked = 0;
  let stop = new AbortController();
  const tell = (words) => {  // its room stays, so that nothing moves under the hand
    place.style.minHeight = `${place.offsetHeight}px`;
    place.style.visibility = words ? "visible" : "hidden";
    place.textContent = words;
    if (words) place.hidden = false;
  };
  const clear = (field) => {
    tell("");
    field.removeAttribute("aria-invalid");
    const around = field.closest("fieldset");
    around?.querySelectorAll(".wrong").forEach((one) => one.remove());
    const average = around?.querySelector(".average");
    if (average && !average.hidden) average.textContent = "\u00a0";
  };
  const ask = async () => {
    const mine = asked += 1;
    const isOld = () => mine !== asked || signal.aborted;
    stop.abort();
    stop = new AbortController();
    await pause(120);
    if (isOld()) return;
    try {
      const answer = await send("/api/readings", form, stop.signal);
      const told = await answer.json();
      if (isOld()) return;
      const words = answer.ok ? averages(form, told) : verdict(form, told);
      if (words !== "") { tell(words ?? ""); return; }
      await pause(380);
      if (isOld()) return;
      const fit = await (await send(form.dataset.live, form, stop.signal)).json();
      if (!isOld()) tell(verdict(form, fit));
    } catch {
      if (!isOld()) tell("No connection. What you typed is kept here; it is sent once the connection is back.");
    }
  };
  form.addEventListener("input", (event) => { clear(event.target); ask(); });
  addEventListener("online", ask, { signal });
  addEventListener("pageshow", (event) => { if (event.persisted) ask(); }, { signal });
  signal.addEventListener("abort", () => stop.abort());
  if (places(form).some((field) => field.value)) ask();
}

// An answer that cannot come must not take the page with it.
function sendsOnlyIfHeard(form) {
  let heard = false;
  form.addEventListener("submit", async (event) => {
    if (event.submitter?.hasAttribute("formaction")) return;
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
function begin(form, hand) {
  const stop = new AbortController();
  draft(form, stop.signal, Boolean(hand));
  showsAnew(form, () => stop.abort());
  live(form, stop.signal);
  sendsOnlyIfHeard(form);
  if (hand || document.activeElement === document.body) takeUp(form, hand);
}

gauge();
document.querySelectorAll("form.measure").forEach((form) => begin(form));
for (const form of document.querySelectorAll("form[action='/keep']")) {
  form.addEventListener("submit", () => {
    const name = form.querySelector("input[name=draft]")?.value;
    if (name) over(drafts().filter((key) => key.endsWith(` ${name}`)));
  });
}
