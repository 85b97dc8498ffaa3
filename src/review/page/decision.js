// What a meeting decides: designs picked, remarks, the one chosen, the reason; saved to a file and read back.

/** Picks that are not among the rows of this page keep their dimensions here: design -> { name: "1.4 mm" }. */
const picksElsewhere = new Map();
const decided = { chosen: null, reason: "", by: "", date: "" };
let unsaved = false;

const pickWords = (design) => (design === 0 ? "the baseline" : "design " + grouped(String(design)));

/** Picks the design of a row, or takes the pick back; its remark stays for the next time. */
function togglePick(row) {
  const design = designs[row];
  if (state.picks.has(design)) return dropPick(design);
  state.picks.set(design, remarksDropped.get(design) || "");
  touched(`${pickWords(design)} picked`);
}

const remarksDropped = new Map();

function dropPick(design) {
  remarksDropped.set(design, state.picks.get(design));
  state.picks.delete(design);
  picksElsewhere.delete(design);
  if (decided.chosen === design) decided.chosen = null;
  touched(`${pickWords(design)} is no longer picked`);
}

function touched(words) {
  unsaved = true;
  changed("picks");
  say(words[0].toUpperCase() + words.slice(1));
}

/** A text as TOML writes it, on one line; what can't be seen stands as an escape (as `src/ledger/text.rs` has it). */
const tomlText = (text) => '"' + text.replace(/\p{Surrogate}/gu, "\ufffd")
  .replace(/["\\]/g, "\\$&").replace(/\n/g, "\\n").replace(/\r/g, "\\r").replace(/\t/g, "\\t")
  .replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g, (hidden) => "\\u" + hidden.charCodeAt(0).toString(16).toUpperCase().padStart(4, "0")) + '"';
const tomlKey = (text) => (/^[A-Za-z0-9_-]+$/.test(text) ? text : tomlText(text));

/** Dimensions by which a design is found in another run: name -> "1.4 mm", in the units of the study. */
function dimensionsOf(design) {
  const row = rowOf.get(design);
  if (row === undefined) return picksElsewhere.get(design) || {};
  const told = columns.filter((column) => column.role === "variable" && Number.isFinite(column.values[row]));
  return Object.fromEntries(told.map((column) => [column.name, `${column.values[row]} ${column.unit}`.trim()]));
}

const today = () => {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part, i) => String(part).padStart(i ? 2 : 4, "0")).join("-");
};
const isDate = (text) => /^\d{4}-\d{2}-\d{2}$/.test(text) && !Number.isNaN(Date.parse(text)) && new Date(text).toISOString().startsWith(text);
const namesOf = (text) => text.split("\n").map((each) => each.trim()).filter(Boolean);

/** The decision as a file. */
function decisionText() {
  const by = namesOf(decided.by);
  const lines = [
    "# What was decided on the review page. `fretwork adopt RUN --decision FILE` and `fretwork review RUN --decision FILE` read it.",
    "format = 1", 'kind = "decision"', `study = ${tomlText(file.study)}`, `run = ${tomlText(file.run)}`, `run_fingerprint = ${tomlText(file.fingerprint)}`,
    `date = ${isDate(decided.date) ? decided.date : today()}`,
  ];
  if (by.length) lines.push(`by = [${by.map(tomlText).join(", ")}]`);
  if (decided.chosen !== null) lines.push(`chosen = ${decided.chosen}`);
  if (decided.reason.trim()) lines.push(`reason = ${tomlText(decided.reason.trim())}`);
  for (const [design, remark] of state.picks) {
    lines.push("", "[[pick]]", `design = ${design}`);
    if (remark.trim()) lines.push(`remark = ${tomlText(remark.trim())}`);
    lines.push("[pick.dimensions]", ...Object.entries(dimensionsOf(design)).map(([key, value]) => `${tomlKey(key)} = ${tomlText(value)}`));
  }
  return lines.join("\n") + "\n";
}

/** Numbers and units of dimensions: name -> value in the unit of its column; undefined where one is no number in it. */
function valuesOf(dimensions) {
  return columns.filter((column) => column.role === "variable").map((column) => {
    const [, number, unit] = String(dimensions?.[column.name] ?? "").match(/^\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*(.*?)\s*$/) || [];
    return number !== undefined && unit === column.unit ? Number(number) : undefined;
  });
}

/** The row of this page with these dimensions, or -1: dimensions are the same within what a page keeps of them. */
function rowWith(dimensions) {
  const sizes = columns.filter((column) => column.role === "variable");
  const wanted = valuesOf(dimensions);
  if (!sizes.length || wanted.includes(undefined)) return -1;
  const spans = sizes.map(({ values }) => {
    let low = Infinity, high = -Infinity;
    for (const value of values) { low = Math.min(low, value); high = Math.max(high, value); }
    return high > low ? high - low : Math.abs(low) || 1e-9;
  });
  const off = (row) => Math.max(...sizes.map(({ values }, i) => Math.abs(values[row] - wanted[i]) / spans[i]));
  let best = -1;
  for (let row = 0; row < designs.length; row++) if (off(row) <= 2e-5 && (best < 0 || off(row) < off(best))) best = row;
  return best;
}

/** What a decision says, put onto the page; returns what could not be, in words. */
function takeDecision(text) {
  let told;
  try { told = toml.parse(text); } catch (error) { throw new Error(`This is no TOML: ${String(error.message).split("\n")[0]}`); }
  if (told.kind !== "decision") throw new Error("This file is no decision.");
  if (told.format !== 1) throw new Error(`This decision is in format ${told.format}, unknown to this page.`);
  if (told.study !== file.study) throw new Error(`This decision is about the study ${clean(String(told.study))}, the page is of ${file.study}.`);
  const picks = Array.isArray(told.pick) ? told.pick : [];
  if (picks.some((pick) => !Number.isInteger(pick?.design) || pick.design < 0 || typeof (pick.remark ?? "") !== "string")) throw new Error("A [[pick]] of this file has no design number, or a remark that is no text.");
  const same = told.run_fingerprint === file.fingerprint;
  const missing = [], now = new Map();
  state.picks.clear();
  picksElsewhere.clear();
  for (const { design, remark = "", dimensions } of picks) {
    const row = same ? rowOf.get(design) : rowWith(dimensions);
    if (same && row === undefined && design < file.total) picksElsewhere.set(design, dimensions || {});
    else if (row === undefined || row < 0) { missing.push(design); continue; }
    const found = row === undefined || row < 0 ? design : designs[row];
    now.set(design, found);
    state.picks.set(found, remark);
  }
  decided.chosen = now.get(told.chosen) ?? null;
  decided.reason = typeof told.reason === "string" ? told.reason : "";
  decided.by = Array.isArray(told.by) ? told.by.filter((each) => typeof each === "string").join("\n") : "";
  decided.date = told.date instanceof Date && !Number.isNaN(told.date.getTime()) ? told.date.toISOString().slice(0, 10) : today();
  return (same ? "" : `It was made with the run ${clean(String(told.run))}; picks were found by their dimensions. `) +
    (missing.length ? `Not on this page: ${missing.map(pickWords).join(", ")}.` : "");
}

function decision(box) {
  const state_words = el("p", { class: "decision-state", role: "status" });
  const list = el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Table of picks" });
  /** A field, and on paper what is in it. */
  const field = (words, input, hint) => {
    const paper = el("p", { class: "paper-only" });
    const copy = () => { paper.textContent = input.value; };
    input.addEventListener("input", copy);
    input.refill = (value) => { input.value = value; copy(); };
    return el("label", { class: "field" }, el("span", {}, words, hint ? el("span", { class: "hint" }, " " + hint) : ""), input, paper);
  };
  const note = (key) => (event) => { decided[key] = event.target.value; unsaved = true; tell(); };
  const reason = el("textarea", { rows: "3", id: "decision-reason", oninput: note("reason") });
  const by = el("textarea", { rows: "3", id: "decision-by", oninput: note("by") });
  const date = el("input", { type: "date", id: "decision-date", oninput: note("date") });
  const open = el("input", { type: "file", accept: ".toml", id: "decision-open", class: "file-input" });
  const fields = el("div", { class: "decision-fields" }, field("Reason", reason), field("Decided by", by, "a name a line"), field("Date", date));
  const save = el("button", { type: "button", id: "decision-save", onclick: () => {
    const link = el("a", { href: URL.createObjectURL(new Blob([decisionText()], { type: "application/toml" })), download: `${file.study}-decision.toml` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
    unsaved = false;
    tell();
    say(`Saved as ${file.study}-decision.toml`);
  } }, "Save the decision");
  const drop = el("button", { type: "button", id: "decision-clear", onclick: () => {
    for (const design of [...state.picks.keys()]) remarksDropped.set(design, state.picks.get(design));
    state.picks.clear();
    picksElsewhere.clear();
    Object.assign(decided, { chosen: null, reason: "", by: "", date: today() });
    refill();
    touched("every pick and word is taken back");
  } }, "Take everything back");
  open.addEventListener("change", async () => {
    const chosen = open.files[0];
    open.value = "";
    if (!chosen) return;
    try {
      if (chosen.size > 32 << 20) throw new Error("This file is larger than any decision.");
      const remark = takeDecision(await chosen.text());
      unsaved = false;
      refill();
      changed("picks");
      tell(remark);
      say(`${state.picks.size} ${state.picks.size === 1 ? "pick" : "picks"} read. ${remark}`);
    } catch (error) {
      tell(error.message);
      say(error.message);
    }
  });

  function refill() {
    reason.refill(decided.reason);
    by.refill(decided.by);
    date.refill(decided.date);
  }

  function tell(remark = "") {
    state_words.textContent = (unsaved ? "Not saved yet: this page keeps it in memory only. " : "") + remark;
  }

  function row(design) {
    const at = rowOf.get(design);
    const words = pickWords(design);
    const choose = el("input", { type: "radio", name: "chosen", value: design, checked: decided.chosen === design, "aria-label": `Choose ${words}`,
      onchange: () => { decided.chosen = design; unsaved = true; show(); focusChoice(); say(`${words[0].toUpperCase() + words.slice(1)} is chosen`); } });
    const remark = el("textarea", { rows: "2", "aria-label": `Remark on ${words}`, oninput: (event) => {
      state.picks.set(design, event.target.value);
      copy.textContent = event.target.value;
      unsaved = true;
      tell();
    } });
    remark.value = state.picks.get(design);
    const copy = el("span", { class: "paper-only" }, remark.value);
    const title = design === 0 ? "◆ baseline" : grouped(String(design));
    return el("tr", { class: decided.chosen === design ? "chosen" : "", "data-design": design },
      el("th", { scope: "row" }, at === undefined ? title : el("button", { type: "button", class: "open", "aria-label": `Open sheet of ${words}`, onclick: () => openSheet(at) }, title)),
      el("td", { class: "words choose" }, choose, decided.chosen === design ? el("b", {}, " chosen") : ""),
      ...goals.map((column) => el("td", {}, at === undefined ? NONE : tidy(inUnits(column.values[at], column.unit)))),
      el("td", { class: "words remark-cell" }, remark, copy),
      el("td", {}, el("button", { type: "button", class: "drop", "aria-label": `Take the pick of ${words} back`, onclick: () => {
        const next = list.querySelector(`tr[data-design="${design}"]`)?.nextElementSibling?.dataset.design;
        dropPick(design);
        (list.querySelector(`tr[data-design="${next}"] button.drop`) || list.querySelector("button.drop") || list).focus();
      } }, "take back")));
  }

  const focusChoice = () => (list.querySelector("input[name=chosen]:checked") || list).focus();

  function show() {
    tell();
    if (!state.picks.size) {
      list.replaceChildren(el("p", { class: "hint" }, "No design is picked yet."));
      return;
    }
    const none = el("input", { type: "radio", name: "chosen", value: "", checked: decided.chosen === null, onchange: () => { decided.chosen = null; unsaved = true; show(); focusChoice(); say("No design is chosen"); } });
    const heads = goals.map((column) => el("th", { scope: "col" }, name(column.name), el("span", { class: "unit" }, unitWords(column.unit) || "\u00a0")));
    list.replaceChildren(el("table", { class: "figures picks" },
      el("caption", {}, `${state.picks.size} ${state.picks.size === 1 ? "design" : "designs"} picked`),
      el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "design"), el("th", { scope: "col", class: "words" }, "chosen"), ...heads, el("th", { scope: "col", class: "words" }, "remark"), el("th", { scope: "col" }, el("span", { class: "unseen" }, "take back")))),
      el("tbody", {}, ...[...state.picks.keys()].map(row))),
      el("label", { class: "choice none-chosen" }, none, " none is chosen yet"));
  }

  const tools = el("div", { class: "controls" }, save, el("label", { class: "file" }, "Open a saved decision ", open), drop);
  box.replaceChildren(list, fields, tools, state_words);
  onChange((kind) => { if (kind === "picks" || kind === "units") show(); });
  addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });

  decided.date = today();
  if (file.decision) {
    const { picks, chosen, reason, by, date } = file.decision;
    for (const { design, remark, dimensions } of picks) {
      state.picks.set(design, remark);
      if (!rowOf.has(design)) picksElsewhere.set(design, dimensions);
    }
    Object.assign(decided, { chosen, reason, by: by.join("\n"), date });
    changed("picks");
  }
  refill();
  show();
}
