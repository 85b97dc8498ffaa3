// The parts of a candidate sheet: one function each, from a sheet to a section of the page.

function measurePart(row, sheet, base) {
  const both = (s) => [...s.objectives.filter((o) => !s.measures.some((m) => m.name === o.name)), ...s.measures];
  const isGoal = (entry) => sense(entry.name) !== "";
  const list = both(sheet);
  const known = new Map(both(base).map((entry) => [entry.name, entry.value]));
  const said = (entry) => Number.isFinite(entry.value) || Number.isFinite(known.get(entry.name));
  const ordered = [...list.filter(isGoal), ...list.filter((entry) => !isGoal(entry) && said(entry))];
  const silent = list.filter((entry) => !isGoal(entry) && !said(entry)).map((entry) => entry.name);
  const table = valueTable(row, ordered, both(base), sense);
  table.querySelectorAll("tbody tr").forEach((tr, i) => tr.classList.toggle("goal", isGoal(ordered[i])));
  return part("Measures", table, silent.length ? el("p", { class: "hint" }, "Without a value here: ", name(silent.join(", ")), ".") : "");
}

function constraintPart(sheet) {
  const words = (c) => {
    if (!Number.isFinite(c.margin)) return c.met ? "met" : "broken";
    return c.met ? (c.margin < 0.02 ? "met, at its limit: " : "met, room ") + fixed(100 * c.margin, 1) + " %" : "broken by " + fixed(-100 * c.margin, 1) + " %";
  };
  return part("Constraints", figuresTable("", ["", "value", "", "limit", "unit", "margin"],
    sheet.constraints.map((c) => [
      el("span", { title: c.text }, name(c.name)), shown(c.value, c.unit), text(c.relation === "at least" ? "≥" : "≤"), shown(c.limit, c.unit), text(unitWords(c.unit), "unit"),
      text(el("span", { class: "verdict " + (c.met ? "met" : "broken") }, marginBar(c.margin), " ", (c.met ? "✓ " : "✗ ") + words(c))),
    ])));
}

function openingPairs(opening) {
  const steps = opening.curve.slice(1).map(([mm, force]) => `${withUnit(force, "N")} at ${withUnit(mm, "mm")}`);
  return [...pairOf("force held open", withUnit(opening.force, "N")), ...pairOf("force against opening", steps.join(", ")),
    ...pairOf("energy stored", withUnit(opening.energy, "N mm")), ...pairOf("safety against fatigue", figure(opening.fatigue, 3))];
}

function loadPart(sheet) {
  if (!sheet.loads.length) return "";
  const drawings = drawingNodes(sheet.design, "loads");
  return part("Load cases", el("div", { class: "loads" }, ...sheet.loads.map((load, i) => el("figure", { class: "load" },
    el("figcaption", {}, el("b", {}, name(load.name)), ": ", name(load.words)),
    drawings[i] || "",
    el("dl", { class: "short" },
      ...(load.stiffness ? pairOf("stiffness", withUnit(load.stiffness.value, load.stiffness.unit)) : []),
      ...pairOf("displacement", `${withUnit(load.displacement, "mm")} at s = ${withUnit(load.at, "mm")}`),
      ...pairOf("nominal stress", el("span", {}, withUnit(load.stress, "MPa"), ", ", name(load.place))),
      ...pairOf("safety against yield", figure(load.safety, 3)),
      ...(load.opening ? openingPairs(load.opening) : []),
      ...(load.peak ? pairOf("local peak", el("span", {}, withUnit(load.peak.stress, "MPa"), ", ", name(load.peak.place))) : []),
      ...(load.fatigue ? pairOf("fatigue safety", el("span", {}, figure(load.fatigue.safety, 3), ", ", name(load.fatigue.words))) : []))))));
}

function wallPart(sheet) {
  if (!sheet.walls.length) return "";
  return part("Walls pushed aside", unitTable("", [
    ["", "", (w) => name(w.name)], ["high", "mm", (w) => w.height, 3], ["thick", "mm", (w) => w.thickness, 3], ["high/thick", "", (w) => w.slenderness, 3],
    ["cutter", "N", (w) => w.force, 3], ["moves", "mm", (w) => w.cut, 3], ["pressed", "mm", (w) => w.press, 3], ["held at", "", (w) => text(name(w.held))],
  ], sheet.walls));
}

function screwPart(sheet) {
  if (!sheet.screws.length) return "";
  return part("Screws", unitTable("", [
    ["boss", "", (s) => name(s.name)], ["clamp", "N", (s) => s.clamp, 3], ["bears", "MPa", (s) => s.bearing, 3], ["safety", "", (s) => s.safety, 3],
    ["cone", "mm", (s) => s.cone, 3], ["cone room", "mm", (s) => s.coneRoom, 3], ["head room", "mm", (s) => s.headRoom, 3], ["stiffness", "N/mm", (s) => s.stiffness, 3],
  ], sheet.screws));
}

/** Beam, searched and solid figures side by side. */
function solidPart(sheet) {
  const { proof } = sheet;
  if (!proof) return "";
  const short = (value, unit) => figure(inUnits(value, unit), 4);
  const content = [figuresTable("", ["figure", "unit", "beam", "searched", "coarser", "finer", "solid", "open %"],
    proof.rows.map((r) => [name(r.name), text(unitWords(r.unit), "unit"), ...[r.beam, r.searched, r.coarser, r.finer, r.solid].map((value) => short(value, r.unit)), fixed(r.open, 1)]))];
  if (proof.peaks.length) {
    content.push(unitTable("", [["greatest stress at a hole", "", (p) => name(p.load)], ["coarser", "MPa", (p) => p.coarser, 4], ["finer", "MPa", (p) => p.finer, 4], ["where", "", (p) => text(name(p.place))]], proof.peaks));
  }
  if (proof.modes.length) content.push(el("p", {}, "Natural frequencies: ", proof.modes.map((m) => `${figure(m.hz, 4)} Hz ${m.kind}`).join(", ") + "."));
  content.push(el("p", { class: "hint" }, `Meshes: ${proof.meshes}. Solid: the finer mesh carried on to an endlessly fine one; open: what that may be off by.`),
    ...proof.remarks.map((remark) => el("p", { class: "remark" }, name(remark))));
  return part("Solid", ...content);
}

/** Figures before and after the calibration by measured parts. */
function calibrationPart(sheet) {
  const { calibration } = sheet;
  if (!calibration) return "";
  const short = (value, unit, digits) => figure(inUnits(value, unit), digits);
  return part("Calibration", figuresTable("", ["figure", "unit", "before", "after", "±"],
    calibration.rows.map((r) => [name(r.name), text(unitWords(r.unit), "unit"), short(r.before, r.unit, 4), short(r.after, r.unit, 4), short(r.error, r.unit, 2)])),
  el("p", { class: "hint" }, name(`${calibration.words[0].toUpperCase()}${calibration.words.slice(1)}. ± is one standard error, from the errors of the factors.`)));
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
  const length = (value) => or(inUnits(value, "mm"));
  return part("Operations", sum, figuresTable("", ["operation", "time s", "tool", "rev/min", unitWords("mm") + "/min", "depth " + unitWords("mm"), "width " + unitWords("mm"), "count", "cut s", "move s", "fixed s", sheet.making ? sheet.making.currency : "cost"],
    sheet.operations.map((o) => [
      el("span", {}, name(o.name), o.feature ? el("small", {}, " ", name(o.feature)) : ""),
      text(el("span", { class: "timed" }, bar(total(o) / longest), fixed(total(o), 1)), "time"),
      text(el("span", {}, name(o.tool || NONE), o.limit ? el("small", {}, " by ", name(o.limit)) : "")),
      or(o.rpm), length(o.feed), length(o.depth), length(o.width), String(o.count), or(o.cut), or(o.move), or(o.fixed), fixed(o.cost, 2),
    ]), "operations"));
}

function costPart(sheet, base) {
  const { making } = sheet;
  if (!making) return "";
  const known = sheet.design === 0 ? undefined : base.making;
  const { stock, machine, labour, tools, setup } = making.cost;
  const largest = Math.max(stock, machine, labour, tools, setup, 1e-9);
  const row = ([words, key]) => {
    const value = making.cost[key];
    const cells = [words, fixed(value, 2), key === "total" ? "" : text(bar(value / largest))];
    return known ? [...cells, fixed(known.cost[key], 2), differenceNode(value, known.cost[key], "least")] : cells;
  };
  const b = making.billet;
  return part("Cost of one part", figuresTable("", known ? ["", making.currency, "", "baseline", "difference"] : ["", making.currency, ""],
    [["stock, less chips sold", "stock"], ["machine", "machine"], ["labour", "labour"], ["wear of tools", "tools"], ["set-up, over the batch", "setup"], ["total", "total"]].map(row), "with-total"),
    el("p", { class: "hint" }, `Billet ${[b.x, b.y, b.z].map((mm) => figure(inUnits(mm, "mm"), 4)).join(" × ")} ${unitWords("mm")}, ${withUnit(b.grams, "g")}; ${fixed(100 * b.chips, 1)} % of it turns to chips and offcuts. Prices and rates are the catalogue's.`));
}

/** What a gram costs where it is removed. */
function featurePart(sheet) {
  const { making } = sheet;
  if (!making) return "";
  const gram = unitWords("g");
  const each = (value, removed) => (removed > 0 ? figure(value / inUnits(removed, "g"), 3) : NONE);
  return part("Features, cheapest gram first", figuresTable("", ["", "time s", making.currency, "removes " + gram, "s/" + gram, making.currency + "/" + gram],
    making.features.map((f) => [name(f.name), fixed(f.time, 1), fixed(f.money, 2), f.removed > 0 ? figure(inUnits(f.removed, "g"), 3) : NONE, each(f.time, f.removed), each(f.money, f.removed)])));
}

function tolerancePart(sheet) {
  if (!sheet.making || !sheet.making.tolerances.length) return "";
  return part("Tolerances of the process", unitTable("", [
    ["", "", (t) => name(t.name)], ["size", "mm", (t) => (t.size > 0 ? t.size : NaN), 4], ["±", "mm", (t) => t.plusMinus, 2], ["by", "", (t) => text(name(t.basis))],
  ], sheet.making.tolerances));
}

function massPart(sheet, base) {
  if (!sheet.mass.length) return "";
  const sum = (of) => of.mass.reduce((total, m) => total + m.grams, 0);
  const largest = Math.max(...sheet.mass.map((m) => Math.abs(m.grams)), 1e-9);
  const known = new Map(base.mass.map((m) => [m.name, m.grams]));
  const own = sheet.design === 0;
  const rows = [...sheet.mass.map((m) => [m.name, m.grams, known.get(m.name)]), ["total", sum(sheet), sum(base)]];
  const grams = (values) => aligned(values.map((value) => fixed(inUnits(value, "g"), unitSystem === "in" ? 4 : 3)));
  const [first, second] = [grams(rows.map((row) => row[1])), grams(rows.map((row) => row[2]))];
  const barOf = ([words, value]) => (words === "total" ? "" : text(bar(Math.abs(value) / largest, value < 0 ? "less" : "")));
  return part("Mass", figuresTable("", own ? ["", unitWords("g"), ""] : ["", unitWords("g"), "", "baseline"],
    rows.map((row, i) => [name(row[0]), first[i], barOf(row), ...(own ? [] : [second[i]])]), "with-total"));
}

function rulePart(sheet) {
  return part("Geometric rules", unitTable("", [["least", "", (r) => name(r.name)], ["", "mm", (r) => r.value, 3], ["where", "", (r) => text(name(r.place || NONE))]], sheet.rules));
}

function sectionPart(sheet) {
  return part("Section properties", ...sheet.sections.map((s) => el("details", {}, el("summary", {}, name(s.name), s.outside ? " (outside the validated range)" : ""),
    s.outside ? el("p", { class: "remark" }, name(s.outside)) : "",
    figuresTable("", ["", "value", "unit"], s.values.map((v) => [name(v.name), shown(v.value, v.unit), text(unitWords(v.unit), "unit")])))));
}

function remarksPart(sheet) {
  if (!sheet.remarks.length) return "";
  return el("ul", { class: "remarks", "aria-label": "Remarks" }, ...sheet.remarks.map((remark) => el("li", {}, name(remark))));
}

/** How far the figures of a sheet may be trusted: what they rest on, and where they leave what was checked. */
function standingPart(sheet) {
  const open = sheet.proof ? Math.max(...sheet.proof.rows.map((r) => Math.abs(r.open)).filter(Number.isFinite), 0) : 0;
  const outside = sheet.sections.filter((s) => s.outside);
  const off = Number.isFinite(sheet.simulated) && sheet.cycle > 0 ? 100 * (sheet.cycle / sheet.simulated - 1) : NaN;
  const lines = [
    sheet.proof
      ? ["✓", `Solved as a solid on two meshes; what is left open is at most ${fixed(open, 1)} % of a figure.`]
      : ["!", "Not solved as a solid: stiffness, displacement, peaks and frequency are an estimate. How good it is stands under “How the search went”; `prove` solves it."],
    outside.length
      ? ["!", `${outside.map((s) => s.name).join(", ")}: outside the range in which the beam was checked.`]
      : ["✓", "Every section is within the range in which the beam was checked."],
    ...(sheet.calibration ? [["✓", `Calibrated by ${sheet.calibration.parts} measured part${sheet.calibration.parts === 1 ? "" : "s"}: figures before and after stand under “Calibration”.`]] : []),
    Number.isFinite(off) ? ["✓", `Cycle time: the estimate is ${fixed(Math.abs(off), 1)} % ${off < 0 ? "below" : "above"} a simulation of every move; the shop's own times are not in it.`] : ["!", "Cycle time: an estimate, no simulation of its moves."],
  ];
  return part("What this sheet rests on", el("ul", { class: "standing" }, ...lines.map(([mark, words]) => el("li", { class: mark === "!" ? "open" : "" }, el("span", { "aria-hidden": "true" }, mark + " "), name(words)))));
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
