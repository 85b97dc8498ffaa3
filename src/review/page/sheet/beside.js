// Up to four candidates and the baseline side by side: what differs in figures, and their drawings over one another.

/** Rows compared: what is open, with the baseline before it, each with its letter or word. */
function compared() {
  const open = state.open.map((row, slot) => ({ row, words: SLOTS[slot], style: "v" + (slot + 1) })).filter(({ row }) => row >= 0);
  return open.some(({ row }) => row === 0) ? open : [{ row: 0, words: "baseline", style: "v0" }, ...open];
}

function besidePart() {
  const all = compared();
  if (all.length < 3 && state.open.filter((row) => row >= 0).length < 2) return "";
  return el("section", { class: "beside", "aria-labelledby": "h-beside" }, el("h3", { id: "h-beside" }, "Side by side"),
    overlay(all), besideTable(all));
}

/** Objectives, and every figure in which not all agree; what differs from the baseline stands out. */
function besideTable(all) {
  const rows = byRank.filter((c) => c.sense || all.some(({ row }) => !Object.is(c.values[row], c.values[all[0].row])));
  const cell = (c, row, first) => {
    const shownFigure = fixed(inUnits(c.values[row], c.unit), decimalsIn(all.map((each) => c.values[each.row]), c.unit, c.decimals, c.role === "variable"));
    if (row === first) return shownFigure;
    const { text: change, word } = difference(c.values[row], c.values[first], c.sense);
    const same = change === "=";
    return el("td", { class: same ? "same" : "differs" }, shownFigure, el("small", { class: "difference " + word }, same ? " =" : " " + change + (word ? " " + word : "")));
  };
  const { row: first, words } = all[0];
  return figuresTable(`Objectives, and every figure in which they differ; differences are from ${first === 0 ? "the baseline" : "sheet " + words}`,
    ["", "unit", ...all.map((each) => `${each.words} ${each.row === 0 && each.words !== "baseline" ? "(baseline)" : each.row === 0 ? "" : "#" + grouped(String(designs[each.row]))}`.trim())],
    rows.map((c) => [name(c.name), text(unitWords(c.unit), "unit"), ...all.map(({ row }) => cell(c, row, first))]));
}

const OVERLAY_LINES = ["", "7 1.2", "2.6 1", "0.9 0.9", "6 1 0.9 1", "4 1 0.8 1 0.8 1"]; // of the baseline and the slots, mm on paper

/** Plan and section of all over one another, each in its own line. */
function overlay(all) {
  const drawn = all.filter(({ row }) => hasSheet(row) && sheetOf(row).shape);
  if (drawn.length < 2) return "";
  const shapes = drawn.map(({ row, style }) => ({ shape: sheetOf(row).shape, style }));
  const keys = el("p", { class: "hint layered-keys" }, ...drawn.flatMap(({ words, style, row }) => [lineSample(style), ` ${words}${row === 0 && words !== "baseline" ? " (baseline)" : ""}   `]));
  const lessDrawn = all.length - drawn.length;
  return el("div", {}, el("div", { class: "views layered" },
    el("figure", { class: "plan-box" }, overlayPlan(shapes), el("figcaption", {}, "Plans over one another")),
    el("figure", { class: "section-box" }, overlaySection(shapes), el("figcaption", {}, "Sections over one another, seen along the path"))),
    keys, lessDrawn ? el("p", { class: "hint" }, `${lessDrawn} of them ${lessDrawn === 1 ? "has" : "have"} no sheet on this page and ${lessDrawn === 1 ? "is" : "are"} not drawn.`) : "");
}

function svgEl(tag, attributes, ...children) {
  const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.append(...children);
  return node;
}

const dash = (style) => ({ class: "over " + style, "stroke-dasharray": OVERLAY_LINES[Number(style[1])] || "none" });
const lineSample = (style) => svgEl("svg", { viewBox: "0 0 18 3", class: "line-sample", "aria-hidden": "true" }, svgEl("path", { d: "M0 1.5H18", ...dash(style) }));

/** An SVG around paths given in mm with y upward, scaled so that it is so many mm of paper wide at most. */
function drawingAround(paths, label, mostWide, mostHigh) {
  const points = paths.flatMap(({ loops }) => loops.flat());
  const [left, right] = [Math.min(...points.map((p) => p[0])), Math.max(...points.map((p) => p[0]))];
  const [low, high] = [Math.min(...points.map((p) => p[1])), Math.max(...points.map((p) => p[1]))];
  const scale = Math.min(mostWide / (right - left || 1), mostHigh / (high - low || 1));
  const short = (value) => String(Number(value.toFixed(2)));
  const place = ([x, y]) => `${short(2 + (x - left) * scale)} ${short(2 + (high - y) * scale)}`;
  const width = (right - left) * scale + 4, height = (high - low) * scale + 4;
  const svg = svgEl("svg", { class: "drawing", viewBox: `0 0 ${short(width)} ${short(height)}`, width: short(width) + "mm", height: short(height) + "mm", role: "img", "aria-label": label });
  for (const { loops, open, style } of paths) svg.append(svgEl("path", { d: loops.map((loop) => "M" + loop.map(place).join("L") + (open ? "" : "Z")).join(""), ...dash(style) }));
  return svg;
}

/** Edges of the strips and the holes of a part in the plan. */
function overlayPlan(shapes) {
  const round = Array.from({ length: 20 }, (_, i) => (2 * Math.PI * i) / 20);
  const paths = shapes.flatMap(({ shape, style }) => {
    const path = pathOf(shape);
    const lines = [], circles = [];
    for (const [s0, s1, section] of shape.segments) {
      const strips = shape.sections[section];
      const edges = new Set(strips.flatMap((strip) => [strip.y0, strip.y1]).map((y) => y.toFixed(4)));
      for (const y of edges) lines.push(path.stations(s0, s1).map((s) => path.point(s, Number(y), 0).slice(0, 2)));
    }
    const circle = ([x, y], d) => circles.push(round.map((t) => [x + (d / 2) * Math.cos(t), y + (d / 2) * Math.sin(t)]));
    for (const row of shape.holes) if (row.axis === "z") for (const [s, w] of row.at) circle(path.point(s, w, 0), row.d);
    for (const bore of shape.bores) circle(path.point(bore.s, 0, 0), bore.d);
    return [{ loops: lines, open: true, style }, ...(circles.length ? [{ loops: circles, open: false, style }] : [])];
  });
  return drawingAround(paths, "Plans of the open designs over one another", 150, 120);
}

/** Strips of the frame's own section; seen along the path, so that what lies left of it is at the left. */
function overlaySection(shapes) {
  const paths = shapes.map(({ shape, style }) => ({ style, loops: shape.sections[0].map(({ y0, y1, z0, z1 }) => [[-y1, z0], [-y0, z0], [-y0, z1], [-y1, z1]]) }));
  return drawingAround(paths, "Sections of the open designs over one another", 90, 80);
}
