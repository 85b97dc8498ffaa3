// Candidate sheets, laid out as drawing sheets: views, figures, title block.

function sheets(box) {
  const inSpace = () => [...box.querySelectorAll(".space-box")];
  function show() {
    for (const view of inSpace()) if (view.release) view.release();
    const open = state.open.map((row, slot) => [row, slot]).filter(([row]) => row >= 0);
    if (!open.length) {
      box.replaceChildren(el("p", { class: "hint" }, "No sheet is open. Open one from the plot or the list, or ",
        el("button", { type: "button", onclick: () => openSheet(0) }, "open the baseline"), "."));
      return;
    }
    box.replaceChildren(besidePart(), el("div", { class: "pair-of-sheets" + (open.length > 1 ? " two" : "") }, ...open.map(([row, slot]) => sheetNode(row, slot))));
  }
  onChange((kind) => { if (kind === "open" || kind === "units") show(); });
  show();
  /** Canvases leave no trace on paper; pictures of them do. */
  return { fitPaper: () => { for (const view of inSpace()) if (view.forPaper) view.forPaper(); }, fit: () => {} };
}

function sheetNode(row, slot) {
  const title = row === 0 ? "Baseline" : "Design " + grouped(String(designs[row]));
  const id = "sheet-" + SLOTS[slot];
  const full = hasSheet(row);
  const sheet = full ? sheetOf(row) : plainSheet(row);
  const base = sheetOf(0);
  const mark = typeof togglePick === "function" ? pickButton(row) : "";
  const head = el("header", { class: "sheet-bar" },
    el("h3", { id, tabindex: "-1" }, el("span", { class: "slot" }, SLOTS[slot]), " " + title, el("span", { class: "hint" }, " " + rowWords(row).replace(/^[^,]*,? ?/, ""))),
    el("span", { class: "sheet-acts" }, mark,
      el("button", { type: "button", onclick: () => { closeSheet(slot); document.getElementById("table").focus(); } }, "Close " + SLOTS[slot])));
  const mechanics = full && file.hasPart ? [whyPart(sheet), scatterPart(sheet), loadPart(sheet), solidPart(sheet), calibrationPart(sheet), wallPart(sheet), screwPart(sheet),
    operationPart(sheet, base), costPart(sheet, base), featurePart(sheet), tolerancePart(sheet), massPart(sheet, base), rulePart(sheet), sectionPart(sheet), standingPart(sheet)] : [];
  return el("article", { class: "sheet", "aria-labelledby": id }, head,
    full ? views(row, sheet, title) : withoutSheet(row, slot),
    remarksPart(sheet),
    el("div", { class: "columns" },
      measurePart(row, sheet, base),
      el("div", { class: "stack" },
        part("Dimensions", valueTable(row, [...sheet.variables, ...sheet.derived], [...base.variables, ...base.derived])),
        full ? constraintPart(sheet) : ""),
      ...mechanics),
    mechanics.length ? el("p", { class: "remark caution" }, "An estimate, not a release for manufacture. Where failure can hurt someone: tests, local codes and a licensed engineer. All cautions stand at the end of this page.") : "",
    tryLine(row), titleBlock(row, title));
}

/** What to say, and where to go, where a design has no full sheet. */
function withoutSheet(row, slot) {
  const near = nearestWithSheet(row);
  return el("p", { class: "remark" }, `No ${file.hasPart ? "drawing" : "sheet"} was kept for this design. The figures come from the run; \`try\` gives the full sheet.`,
    near < 0 ? "" : el("span", {}, " ", el("button", { type: "button", onclick: () => openSheet(near, slot) }, `Open the nearest that has one: ${near === 0 ? "the baseline" : "design " + grouped(String(designs[near]))}`)));
}

/** The row with a sheet whose objectives are nearest, each as a share of its range on the front; -1 where there is none. */
function nearestWithSheet(row) {
  const spans = goals.map((goal) => [goal, span(goal.values, candidates, 0)]);
  let best = -1, least = Infinity;
  for (const design of sheetsByDesign.keys()) {
    const other = rowOf.get(design);
    if (other === undefined || other === row) continue;
    let far = 0;
    for (const [goal, [low, high]] of spans) far += ((goal.values[other] - goal.values[row]) / (high - low || 1)) ** 2;
    if (far < least) { least = far; best = other; }
  }
  return best;
}

/** The button that marks a design for the decision. */
function pickButton(row) {
  const picked = state.picks.has(designs[row]);
  return el("button", { type: "button", class: "pick-sheet", "aria-pressed": String(picked), onclick: (event) => {
    togglePick(row);
    event.target.setAttribute("aria-pressed", String(state.picks.has(designs[row])));
  } }, "Pick");
}

/** What the columns alone know of a design. */
function plainSheet(row) {
  const pick = (roles) => columns.filter((c) => roles.includes(c.role)).map((c) => ({ name: c.name, value: c.values[row], unit: c.unit }));
  return { variables: pick(["variable"]), derived: pick(["derived"]), measures: pick(["measure"]), objectives: pick(["objective"]), remarks: [] };
}

function views(row, sheet, title) {
  if (!file.hasPart) return "";
  const plans = drawingNodes(designs[row], "plan");
  if (!plans.length) return el("p", { class: "remark" }, "This frame cannot be built, so there is nothing to draw.");
  return el("div", { class: "views" }, el("figure", { class: "plan-box" }, ...plans, el("figcaption", {}, "Plan view")),
    el("figure", { class: "section-box" }, ...drawingNodes(designs[row], "sections"), el("figcaption", {}, "Sections, seen along the path")),
    spaceView(sheet, title));
}
