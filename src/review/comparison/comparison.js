// The lists of two compared runs, and the candidate picked: its figures, its way in the plots.

const file = JSON.parse(document.getElementById("compared").textContent);
const all = [file.baseline, ...file.candidates];
const THEN = { stays: "would have stayed", beaten: "beaten", "breaks a constraint": "breaks a constraint", "can't be made": "can't be made" };
const SIGNS = { stays: "=", beaten: "↓", "breaks a constraint": "✕", "can't be made": "∅" };
let picked = 0;

const say = (text) => { document.getElementById("status").textContent = text; };
const change = (value, size) => !Number.isFinite(value) ? NONE : Math.abs(value) <= 1e-9 * Math.abs(size) ? "0" : (value > 0 ? "+" : "") + figure(value, 3);
const number = (value) => (value === null ? NaN : value === "inf" ? Infinity : value === "-inf" ? -Infinity : value);
const heads = (columns) => columns.map((column) => el("th", { scope: "col" }, name(column.name), el("span", { class: "unit" }, column.unit || "\u00a0")));
const called = (candidate) => (candidate === file.baseline ? "baseline" : "design " + grouped(String(candidate.design)));

function fateCell(fate, why, words = fate) {
  const cell = el("td", { class: "words fate " + (fate === "stays" ? "stays" : "off") }, el("b", { "aria-hidden": "true" }, SIGNS[fate]), words);
  if (why) cell.append(": ", name(why));
  return cell;
}

const nearCell = (near) => el("td", { class: "words" }, !near ? NONE : near[1] === 0 ? `${grouped(String(near[0]))}, the same` : `${grouped(String(near[0]))}, ${fixed(100 * near[1], 1)} % off`);

/** The list of earlier candidates, the baseline on top. */
function list() {
  const box = document.getElementById("table");
  const pick = document.getElementById("pick-fate");
  const fates = Object.keys(SIGNS).filter((fate) => file.candidates.some((each) => each.fate === fate));
  pick.append(el("option", { value: "" }, "all"), ...fates.map((fate) => el("option", { value: fate }, fate)));
  const row = (candidate, index) => el("tr", { "data-row": index, class: index ? "" : "baseline" },
    el("th", { scope: "row" }, el("button", { type: "button", class: "open", onclick: () => choose(index) }, index ? grouped(String(candidate.design)) : "◆ baseline")),
    fateCell(candidate.fate, candidate.why), nearCell(candidate.nearest), ...candidate.variables.map((value) => el("td", {}, tidy(number(value)))));
  const show = () => {
    const shown = all.map((candidate, index) => [candidate, index]).filter(([candidate, index]) => !index || !pick.value || candidate.fate === pick.value);
    const part = file.candidates.length < file.of ? `, spread over all ${grouped(String(file.of))}` : "";
    box.replaceChildren(el("table", { class: "figures list" },
      el("caption", {}, `${grouped(String(shown.length - 1))} candidates${part}; the baseline on top`),
      el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "design"), el("th", { scope: "col", class: "words" }, "under the later conditions"),
        el("th", { scope: "col", class: "words" }, "nearest later candidate"), ...heads(file.variables))),
      el("tbody", {}, ...shown.map(([candidate, index]) => row(candidate, index)))));
    mark();
  };
  pick.addEventListener("change", () => { show(); say(`${box.querySelectorAll("tbody tr").length - 1} candidates listed`); });
  box.addEventListener("click", (event) => {
    const tr = event.target.closest("tr[data-row]");
    if (tr && !event.target.closest("button")) choose(Number(tr.dataset.row));
  });
  box.addEventListener("keydown", (event) => {
    const step = { ArrowDown: "nextElementSibling", ArrowUp: "previousElementSibling" }[event.key];
    const next = step && event.target.closest("tr[data-row]")?.[step];
    if (!next) return;
    event.preventDefault();
    next.querySelector("button").focus();
    choose(Number(next.dataset.row));
  });
  show();
}

function mark() {
  for (const tr of document.querySelectorAll("#table tr[data-row]")) {
    const own = Number(tr.dataset.row) === picked;
    tr.classList.toggle("picked", own);
    tr.querySelector("button").setAttribute("aria-pressed", String(own));
  }
}

function choose(index) {
  picked = index;
  mark();
  detail();
  way();
  const candidate = all[index];
  say(`${called(candidate)}: ${candidate.fate}${candidate.why ? ", " + candidate.why : ""}`);
}

/** Figures of the candidate picked: before, after, and the change by cause. */
function detail() {
  const candidate = all[picked];
  const causes = file.causes.length > 1 ? file.causes : [];
  const rows = file.figures.map((column, k) => {
    const [before, after] = [number(candidate.before[k]), number(candidate.after[k])];
    const goal = file.objectives.some((each) => each.figure === k);
    return el("tr", { class: goal ? "goal" : "" }, el("th", { scope: "row" }, name(column.name)), el("td", { class: "unit" }, column.unit),
      el("td", {}, figure(before)), el("td", {}, figure(after)), el("td", {}, change(after - before, before)),
      ...causes.map((_, c) => el("td", {}, change(number(candidate.shares[k][c]), before))));
  });
  const sized = file.variables.map((column, k) => el("div", {}, el("dt", {}, name(column.name)), el("dd", {}, withUnit(number(candidate.variables[k]), column.unit))));
  document.getElementById("detail").replaceChildren(
    el("h3", {}, called(candidate), ": ", candidate.fate, candidate.why ? ": " : "", candidate.why ? name(candidate.why) : ""),
    el("dl", { class: "facts" }, ...sized),
    el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Figures of the candidate picked" }, el("table", { class: "figures" },
      el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "figure"), el("th", { scope: "col", class: "words" }, "unit"), el("th", { scope: "col" }, "before"),
        el("th", { scope: "col" }, "after"), el("th", { scope: "col" }, "change"), ...causes.map((cause) => el("th", { scope: "col" }, cause)))),
      el("tbody", {}, ...rows))));
}

/** Where the candidate picked was and goes, in every plot. */
function way() {
  const candidate = all[picked];
  for (const svg of document.querySelectorAll(".both svg")) {
    svg.querySelector(".went")?.remove();
    const [x, y] = [svg.dataset.x, svg.dataset.y].map((place) => file.places.indexOf(Number(place)));
    const [xs, ys] = [svg.dataset.spanX, svg.dataset.spanY].map((text) => text.split(" ").map(Number));
    const place = (figures) => {
      const at = [[figures[x], xs], [figures[y], ys]].map(([value, [low, high, from, to]]) => from + ((number(value) - low) / (high - low)) * (to - from));
      return at.every(Number.isFinite) ? at.map((each) => each.toFixed(2)).join(" ") : "";
    };
    const [was, goes] = [place(candidate.before), place(candidate.after)];
    if (!was) continue;
    const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    path.setAttribute("class", "went");
    path.setAttribute("d", `M${was}m-1.6-1.6h3.2v3.2h-3.2z` + (goes ? `M${was}L${goes}m-1.2-1.2l2.4 2.4m0-2.4l-2.4 2.4` : ""));
    svg.append(path);
  }
}

/** Candidates that only the later run has. */
function newcomers() {
  const box = document.getElementById("new");
  if (!file.newcomers.length) return box.replaceChildren(el("p", {}, "None."));
  const part = file.newcomers.length < file.new_of ? ` of ${grouped(String(file.new_of))}, evenly chosen` : "";
  box.replaceChildren(el("table", { class: "figures list" }, el("caption", {}, `${grouped(String(file.newcomers.length))} new candidates${part}`),
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "design"), el("th", { scope: "col", class: "words" }, "in the earlier run"),
      el("th", { scope: "col", class: "words" }, "nearest earlier candidate"), ...heads(file.variables))),
    el("tbody", {}, ...file.newcomers.map((each) => el("tr", {}, el("th", { scope: "row" }, grouped(String(each.design))), fateCell(each.fate, each.why, THEN[each.fate]),
      nearCell(each.nearest), ...each.variables.map((value) => el("td", {}, tidy(number(value)))))))));
}

list();
newcomers();
detail();
way();
