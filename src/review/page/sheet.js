// Candidate sheets, laid out as drawing sheets: views, figures, title block.

function sheets(box) {
  function show() {
    const open = state.open.map((row, slot) => [row, slot]).filter(([row]) => row >= 0);
    if (!open.length) {
      box.replaceChildren(el("p", { class: "hint" }, "No sheet is open. Open one from the plot or the list, or ",
        el("button", { type: "button", onclick: () => openSheet(0) }, "open the baseline"), "."));
      return;
    }
    const [a, b] = state.open;
    box.replaceChildren(a >= 0 && b >= 0 ? besideTable(a, b) : "",
      el("div", { class: "pair-of-sheets" + (open.length > 1 ? " two" : "") }, ...open.map(([row, slot]) => sheetNode(row, slot))));
  }
  onChange((kind) => { if (kind === "open") show(); });
  show();
}

/** A table of figures from head words and rows of nodes; the first cell of a row names it. */
function figuresTable(caption, head, rows, extra = "") {
  return el("div", { class: "scroll" }, el("table", { class: "figures " + extra },
    caption ? el("caption", {}, caption) : "",
    el("thead", {}, el("tr", {}, ...head.map((words, i) => el("th", { scope: "col", class: i && rows.length && rows[0][i] instanceof HTMLElement && rows[0][i].className === "words" ? "words" : undefined }, words)))),
    el("tbody", {}, ...rows.map((cells) => el("tr", {}, el("th", { scope: "row" }, cells[0]), ...cells.slice(1).map((cell) => (cell instanceof HTMLTableCellElement ? cell : el("td", {}, cell))))))));
}

const part = (title, ...content) => el("section", { class: "part" }, el("h4", {}, title), ...content);
const text = (content, kind = "words") => el("td", { class: kind }, content);
const shown = (value) => (Number.isFinite(value) ? tidy(value) : NONE);
const sense = (columnName) => (columns.find((column) => column.name === columnName) || {}).sense || "";

/** A bar for a share of the whole; the figure stands beside it in words. */
function bar(share, kind = "") {
  const fill = el("span", { class: "fill " + kind });
  fill.style.width = Math.max(0, Math.min(100, 100 * share)) + "%";
  return el("span", { class: "bar", "aria-hidden": "true" }, fill);
}

/** Room (right of the middle) or breach (left of it), full at half the limit. */
function marginBar(margin) {
  const share = Math.max(-0.5, Math.min(0.5, margin || 0));
  const fill = el("span", { class: "fill " + (margin < 0 ? "breach" : "room") });
  fill.style.left = (margin < 0 ? 50 + 100 * share : 50) + "%";
  fill.style.width = Math.abs(100 * share) + "%";
  return el("span", { class: "bar margin", "aria-hidden": "true" }, fill);
}

function sheetNode(row, slot) {
  const title = row === 0 ? "Baseline" : "Design " + grouped(String(designs[row]));
  const id = "sheet-" + SLOTS[slot];
  const bar = el("header", { class: "sheet-bar" },
    el("h3", { id, tabindex: "-1" }, el("span", { class: "slot" }, SLOTS[slot]), " " + title, el("span", { class: "hint" }, " " + rowWords(row).replace(/^[^,]*,? ?/, ""))),
    el("button", { type: "button", onclick: () => { closeSheet(slot); document.getElementById("table").focus(); } }, "Close " + SLOTS[slot]));
  const full = hasSheet(row);
  const sheet = full ? sheetOf(row) : plainSheet(row);
  const base = sheetOf(0);
  return el("article", { class: "sheet", "aria-labelledby": id }, bar,
    full ? views(row) : el("p", { class: "remark" }, `No ${file.hasPart ? "drawing" : "sheet"} was kept for this design. The figures come from the run; \`try\` gives the full sheet.`),
    remarksPart(sheet),
    el("div", { class: "columns" },
      part("Measures", measureTable(row, sheet, base)),
      el("div", { class: "stack" },
        part("Dimensions", valueTable(row, [...sheet.variables, ...sheet.derived], [...base.variables, ...base.derived])),
        full ? constraintPart(sheet) : ""),
      ...(full && file.hasPart ? [whyPart(sheet), scatterPart(sheet), loadPart(sheet), solidPart(sheet), wallPart(sheet), screwPart(sheet), operationPart(sheet, base), costPart(sheet, base), featurePart(sheet), tolerancePart(sheet), massPart(sheet, base), rulePart(sheet), sectionPart(sheet)] : [])),
    tryLine(row), titleBlock(row, title));
}

/** What the columns alone know of a design. */
function plainSheet(row) {
  const pick = (roles) => columns.filter((c) => roles.includes(c.role)).map((c) => ({ name: c.name, value: c.values[row], unit: c.unit }));
  return { variables: pick(["variable"]), derived: pick(["derived"]), measures: pick(["measure"]), objectives: pick(["objective"]), remarks: [] };
}

function views(row) {
  const plans = drawingNodes(designs[row], "plan");
  if (!file.hasPart) return "";
  if (!plans.length) return el("p", { class: "remark" }, "This frame cannot be built, so there is nothing to draw.");
  return el("div", { class: "views" }, el("figure", { class: "plan-box" }, ...plans, el("figcaption", {}, "Plan view")),
    el("figure", { class: "section-box" }, ...drawingNodes(designs[row], "sections"), el("figcaption", {}, "Sections, seen along the path")));
}

function valueTable(row, list, baseList, senses = () => "") {
  const known = new Map(baseList.map((entry) => [entry.name, entry.value]));
  const own = row === 0;
  return figuresTable("", own ? ["", "value", "unit"] : ["", "value", "unit", "baseline", "difference"],
    list.map((entry) => {
      const base = known.has(entry.name) ? known.get(entry.name) : NaN;
      const cells = [name(entry.name), shown(entry.value), text(entry.unit, "unit")];
      return own ? cells : [...cells, shown(base), differenceNode(entry.value, base, senses(entry.name))];
    }));
}

function measureTable(row, sheet, base) {
  const both = (s) => [...s.objectives.filter((o) => !s.measures.some((m) => m.name === o.name)), ...s.measures];
  const isGoal = (entry) => sense(entry.name) !== "";
  const list = both(sheet);
  const ordered = [...list.filter(isGoal), ...list.filter((entry) => !isGoal(entry))];
  const table = valueTable(row, ordered, both(base), sense);
  table.querySelectorAll("tbody tr").forEach((tr, i) => tr.classList.toggle("goal", isGoal(ordered[i])));
  return table;
}

function constraintPart(sheet) {
  const words = (c) => {
    if (!Number.isFinite(c.margin)) return c.met ? "met" : "broken";
    return c.met ? (c.margin < 0.02 ? "met, at its limit: " : "met, room ") + fixed(100 * c.margin, 1) + " %" : "broken by " + fixed(-100 * c.margin, 1) + " %";
  };
  return part("Constraints", figuresTable("", ["", "value", "", "limit", "unit", "margin"],
    sheet.constraints.map((c) => [
      el("span", { title: c.text }, name(c.name)), shown(c.value), text(c.relation === "at least" ? "≥" : "≤"), shown(c.limit), text(c.unit, "unit"),
      text(el("span", { class: "verdict " + (c.met ? "met" : "broken") }, marginBar(c.margin), " ", (c.met ? "✓ " : "✗ ") + words(c))),
    ])));
}

function openingPairs(opening) {
  const steps = opening.curve.slice(1).map(([mm, force]) => `${figure(force, 3)} N at ${figure(mm, 3)} mm`);
  return [...pairOf("force held open", withUnit(opening.force, "N")), ...pairOf("force against opening", steps.join(", ")),
    ...pairOf("energy stored", withUnit(opening.energy, "N mm")), ...pairOf("safety against fatigue", figure(opening.fatigue, 3))];
}

function loadPart(sheet) {
  const drawings = drawingNodes(sheet.design, "loads");
  return part("Load cases", el("div", { class: "loads" }, ...sheet.loads.map((load, i) => el("figure", { class: "load" },
    el("figcaption", {}, el("b", {}, name(load.name)), ": ", name(load.words)),
    drawings[i] || "",
    el("dl", { class: "short" },
      ...(load.stiffness ? pairOf("stiffness", withUnit(load.stiffness.value, load.stiffness.unit)) : []),
      ...pairOf("displacement", `${withUnit(load.displacement, "mm")} at s = ${fixed(load.at, 1)} mm`),
      ...pairOf("nominal stress", el("span", {}, withUnit(load.stress, "MPa"), ", ", name(load.place))),
      ...pairOf("safety against yield", figure(load.safety, 3)),
      ...(load.opening ? openingPairs(load.opening) : []),
      ...(load.peak ? pairOf("local peak", el("span", {}, withUnit(load.peak.stress, "MPa"), ", ", name(load.peak.place))) : []),
      ...(load.fatigue ? pairOf("fatigue safety", el("span", {}, figure(load.fatigue.safety, 3), ", ", name(load.fatigue.words))) : []))))));
}

function wallPart(sheet) {
  if (!sheet.walls.length) return "";
  return part("Walls pushed aside", figuresTable("", ["", "high mm", "thick mm", "high/thick", "cutter N", "moves mm", "pressed mm", "held at"],
    sheet.walls.map((w) => [
      name(w.name), figure(w.height, 3), figure(w.thickness, 3), figure(w.slenderness, 3), figure(w.force, 3), figure(w.cut, 3), figure(w.press, 3), text(name(w.held)),
    ])));
}

function screwPart(sheet) {
  if (!sheet.screws.length) return "";
  return part("Screws", figuresTable("", ["boss", "clamp N", "bears MPa", "safety", "cone mm", "cone room mm", "head room mm", "stiffness N/mm"],
    sheet.screws.map((s) => [
      name(s.name), figure(s.clamp, 3), figure(s.bearing, 3), figure(s.safety, 3), figure(s.cone, 3), figure(s.coneRoom, 3), figure(s.headRoom, 3), figure(s.stiffness, 3),
    ])));
}

const pairOf = (key, value) => [el("dt", {}, key), el("dd", {}, value)];

/** Beam, searched and solid figures side by side. */
function solidPart(sheet) {
  const proof = sheet.proof;
  if (!proof) return "";
  const short = (value) => figure(value, 4);
  const content = [figuresTable("", ["figure", "unit", "beam", "searched", "coarser", "finer", "solid", "open %"],
    proof.rows.map((r) => [name(r.name), text(r.unit, "unit"), short(r.beam), short(r.searched), short(r.coarser), short(r.finer), short(r.solid), fixed(r.open, 1)]))];
  if (proof.peaks.length) {
    content.push(figuresTable("", ["greatest stress at a hole", "coarser MPa", "finer MPa", "where"],
      proof.peaks.map((p) => [name(p.load), short(p.coarser), short(p.finer), text(name(p.place))])));
  }
  if (proof.modes.length) {
    content.push(el("p", {}, "Natural frequencies: ",
      proof.modes.map((m) => `${figure(m.hz, 4)} Hz ${m.kind}`).join(", ") + "."));
  }
  content.push(el("p", { class: "hint" }, `Meshes: ${proof.meshes}. Solid: the finer mesh carried on to an endlessly fine one; open: what that may be off by.`),
    ...proof.remarks.map((remark) => el("p", { class: "remark" }, name(remark))));
  return part("Solid", ...content);
}

function operationPart(sheet, base) {
  const total = (o) => o.cut + o.move + o.fixed;
  const longest = Math.max(...sheet.operations.map(total), 1e-9);
  const own = sheet.design === 0;
  const sum = el("p", { class: "sum" }, `Cycle ${withUnit(sheet.cycle, "s")}, ${sheet.toolChanges} tool changes`,
    Number.isFinite(sheet.simulated) ? `; ${withUnit(sheet.simulated, "s")} by simulation of every move` : "",
    sheet.making ? `, and ${withUnit(sheet.making.bench, "s")} at the bench to wash and measure` : "",
    own ? "" : el("span", {}, "; baseline ", withUnit(base.cycle, "s"), ", ", differenceNode(sheet.cycle, base.cycle, "least")));
  const or = (value, digits = 3) => (value === 0 ? NONE : figure(value, digits));
  return part("Operations", sum, figuresTable("", ["operation", "time s", "tool", "rev/min", "mm/min", "depth mm", "width mm", "count", "cut s", "move s", "fixed s", sheet.making ? sheet.making.currency : "cost"],
    sheet.operations.map((o) => [
      el("span", {}, name(o.name), o.feature ? el("small", {}, " ", name(o.feature)) : ""),
      text(el("span", { class: "timed" }, bar(total(o) / longest), fixed(total(o), 1)), "time"),
      text(el("span", {}, name(o.tool || NONE), o.limit ? el("small", {}, " by ", name(o.limit)) : "")),
      or(o.rpm), or(o.feed), or(o.depth), or(o.width), String(o.count), or(o.cut), or(o.move), or(o.fixed), fixed(o.cost, 2),
    ]), "operations"));
}

function costPart(sheet, base) {
  const making = sheet.making;
  if (!making) return "";
  const known = sheet.design === 0 ? undefined : base.making;
  const largest = Math.max(making.cost.stock, making.cost.machine, making.cost.labour, making.cost.tools, making.cost.setup, 1e-9);
  const row = ([words, key]) => {
    const value = making.cost[key];
    const cells = [words, fixed(value, 2), key === "total" ? "" : text(bar(value / largest))];
    return known ? [...cells, fixed(known.cost[key], 2), differenceNode(value, known.cost[key], "least")] : cells;
  };
  const b = making.billet;
  return part("Cost of one part", figuresTable("", known ? ["", making.currency, "", "baseline", "difference"] : ["", making.currency, ""],
    [["stock, less chips sold", "stock"], ["machine", "machine"], ["labour", "labour"], ["wear of tools", "tools"], ["set-up, over the batch", "setup"], ["total", "total"]].map(row), "with-total"),
    el("p", { class: "hint" }, `Billet ${figure(b.x, 4)} × ${figure(b.y, 4)} × ${figure(b.z, 3)} mm, ${figure(b.grams, 4)} g; ${fixed(100 * b.chips, 1)} % of it turns to chips and offcuts. Prices and rates are the catalogue's.`));
}

/** What a gram costs where it is removed. */
function featurePart(sheet) {
  const making = sheet.making;
  if (!making) return "";
  const each = (value, removed) => (removed > 0 ? figure(value / removed, 3) : NONE);
  return part("Features, cheapest gram first", figuresTable("", ["", "time s", making.currency, "removes g", "s/g", making.currency + "/g"],
    making.features.map((f) => [name(f.name), fixed(f.time, 1), fixed(f.money, 2), f.removed > 0 ? figure(f.removed, 3) : NONE, each(f.time, f.removed), each(f.money, f.removed)])));
}

function tolerancePart(sheet) {
  if (!sheet.making || !sheet.making.tolerances.length) return "";
  return part("Tolerances of the process", figuresTable("", ["", "mm", "± mm", "by"],
    sheet.making.tolerances.map((t) => [name(t.name), t.size > 0 ? figure(t.size, 4) : NONE, fixed(t.plusMinus, 3), text(name(t.basis))])));
}

function massPart(sheet, base) {
  const total = sheet.mass.reduce((sum, m) => sum + m.grams, 0);
  const largest = Math.max(...sheet.mass.map((m) => Math.abs(m.grams)), 1e-9);
  const known = new Map(base.mass.map((m) => [m.name, m.grams]));
  const own = sheet.design === 0;
  return part("Mass", figuresTable("", own ? ["", "g", ""] : ["", "g", "", "baseline g"],
    [...sheet.mass.map((m) => {
      const cells = [name(m.name), fixed(m.grams, 3), text(bar(Math.abs(m.grams) / largest, m.grams < 0 ? "less" : ""))];
      return own ? cells : [...cells, known.has(m.name) ? fixed(known.get(m.name), 3) : NONE];
    }), own ? ["total", fixed(total, 3), ""] : ["total", fixed(total, 3), "", fixed(base.mass.reduce((sum, m) => sum + m.grams, 0), 3)]], "with-total"));
}

function rulePart(sheet) {
  return part("Geometric rules", figuresTable("", ["least", "mm", "where"], sheet.rules.map((r) => [name(r.name), figure(r.value, 3), text(name(r.place || NONE))])));
}

function sectionPart(sheet) {
  return part("Section properties", ...sheet.sections.map((s) => el("details", {}, el("summary", {}, name(s.name), s.outside ? " (outside the validated range)" : ""),
    s.outside ? el("p", { class: "remark" }, name(s.outside)) : "",
    figuresTable("", ["", "value", "unit"], s.values.map((v) => [name(v.name), shown(v.value), text(v.unit, "unit")])))));
}

function remarksPart(sheet) {
  if (!sheet.remarks.length) return "";
  return el("ul", { class: "remarks", "aria-label": "Remarks" }, ...sheet.remarks.map((remark) => el("li", {}, name(remark))));
}

/** The command that evaluates this design again. */
function tryLine(row) {
  if (row >= exactDesigns.length) return "";
  const quote = (word) => (/^[\w.\/=-]+$/.test(word) ? word : "'" + word.replace(/'/g, "'\\''") + "'");
  const sets = columns.filter((c) => c.role === "variable").map((c) => `--set ${quote(`${c.name}=${String(c.values[row])}${c.unit ? " " + c.unit : ""}`)}`);
  return el("details", { class: "again" }, el("summary", {}, "Evaluate this design again"), el("code", {}, name(`fretwork try ${quote(file.study + ".toml")} ${file.asks ? "--allow-command " : ""}${row === 0 ? "" : sets.join(" ")}`)));
}

/** Title block in the spirit of ISO 7200: who, what, number, date; room to sign. */
function titleBlock(row, title) {
  const field = (key, value, kind = "") => el("div", { class: kind }, el("dt", {}, key), el("dd", {}, value || "\u00a0"));
  return el("dl", { class: "title-block" },
    field("Title", name(file.title), "wide"), field("Document type", "Candidate sheet"),
    field("Identification number", name(`${file.study} / ${designs[row]}`), "wide"), field("Item", title),
    field("Created by", "fretwork " + file.tool), field("Date of issue", name(file.date)), field("Run", name(file.run)),
    field("Legal owner", ""), field("Approved by", ""), field("Status", "Estimate, not released"));
}

/** What differs between two designs: figures side by side, the lesser differences left out. */
function besideTable(a, b) {
  const shown = byRank.filter((c) => !(Object.is(c.values[a], c.values[b])) || c.sense);
  return el("div", { class: "beside" }, el("h3", {}, "A and B side by side"),
    figuresTable("Objectives, and every figure in which the two differ", ["", "unit", "A", "B", "B against A", "baseline"], shown.map((c) => [
      name(c.name), text(c.unit, "unit"), fixed(c.values[a], c.decimals), fixed(c.values[b], c.decimals), differenceNode(c.values[b], c.values[a], c.sense), fixed(c.values[0], c.decimals),
    ])));
}
