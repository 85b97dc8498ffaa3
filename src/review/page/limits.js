// The reader's own limits: for each limited column a strip with two handles, and two fields.

const STRIP = { width: 300, height: 30, bins: 48 };
const STEPS = 200;

function limitsPanel(box) {
  const counts = el("p", { class: "limit-counts" });
  const list = el("div", { class: "limit-rows" });
  const add = el("select", { id: "add-limit" });
  const clear = el("button", { type: "button", onclick: () => clearLimits() }, "Clear all limits");
  box.append(counts, list, el("div", { class: "controls" }, el("label", {}, "Limit also ", add), clear));
  const rows = new Map();

  add.addEventListener("change", () => {
    if (add.value === "") return;
    const index = Number(add.value);
    offer(index);
    show();
    rows.get(index).focus();
  });

  function offer(index) {
    if (rows.has(index)) return;
    rows.set(index, limitRow(columns[index], goals.includes(columns[index]) ? null : () => { rows.delete(index); setLimit(index); show(); add.focus(); }));
    list.replaceChildren(...byRank.filter((column) => rows.has(column.index)).map((column) => rows.get(column.index).node));
  }

  function show() {
    for (const index of state.limits.keys()) offer(index);
    for (const [index, row] of rows) {
      if (row.node.parentNode && !rows.has(index)) row.node.remove();
      row.show();
    }
    for (const node of [...list.children]) if (!rows.has(Number(node.dataset.column))) node.remove();
    clear.disabled = state.limits.size === 0;
    const all = countWithin(everyRow), front = countWithin(candidates);
    counts.textContent = `${grouped(String(all))} of ${grouped(String(designs.length))} designs on this page and ${grouped(String(front))} of ${grouped(String(candidates.length))} candidates are within.`;
  }

  function fill() {
    add.replaceChildren(el("option", { value: "" }, "choose a column"),
      ...byRank.filter((column) => !rows.has(column.index)).map((column) => el("option", { value: column.index }, label(column))));
  }

  onChange((kind) => {
    if (kind === "limits") { show(); if (!state.live) fill(); }
    if (kind === "units") { for (const row of rows.values()) row.fit(); show(); fill(); }
  });
  goals.forEach((column) => offer(column.index));
  show();
  fill();
}

/** Strip, handles and fields of one column; `remove` takes it away again, where it may be. */
function limitRow(column, remove) {
  const bounds = wideSpan(column.values, candidates.concat(0), feasibleRows, 0.02);
  const field = (which, text, sign) => {
    const input = el("input", {
      type: "text", inputmode: "decimal", size: 8, autocomplete: "off",
      onchange: () => take(input, which), onkeydown: (event) => { if (event.key === "Enter") take(input, which); },
    });
    return { which, text, input, node: el("span", { class: "pair" }, sign + " ", input) };
  };
  const handle = (which, text) => {
    const input = el("input", { type: "range", class: "handle " + which, oninput: () => pull(input, which, true), onchange: () => pull(input, which, false) });
    return { which, text, input };
  };
  const fields = [field("least", "at least", "≥"), field("most", "at most", "≤")];
  const handles = [handle("least", "at least"), handle("most", "at most")];
  const svg = d3.select(document.createElementNS("http://www.w3.org/2000/svg", "svg")).attr("viewBox", `0 0 ${STRIP.width} ${STRIP.height}`).attr("preserveAspectRatio", "none").attr("aria-hidden", "true");
  const bars = ["every", "left"].map((kind) => svg.append("path").attr("class", kind));
  const cut = svg.append("path").attr("class", "cut-off");
  const unit = el("span", { class: "unit" });
  const node = el("div", { class: "limit", role: "group", "data-column": column.index, "aria-label": "Limits of " + column.name },
    el("span", { class: "limit-name" }, name(column.name), " ", unit), ...fields.map((each) => each.node),
    remove ? el("button", { type: "button", class: "tool", "aria-label": "No limit of " + column.name, title: "No limit of " + brief(column.name, 40), onclick: remove }, "×") : "",
    el("div", { class: "strip" }, svg.node(), ...handles.map((each) => each.input)));

  let low = 0, high = 1, step = 1;
  const shownDigits = (value) => String(Number(inUnits(value, column.unit).toPrecision(6)));

  /** Bounds and step of the handles in the units shown, all round. */
  function fit() {
    const [from, to] = bounds.map((value) => inUnits(value, column.unit));
    const rough = (to - from) / STEPS, power = 10 ** Math.floor(Math.log10(rough));
    step = power * [1, 2, 5, 10].find((lead) => lead * power >= rough * 0.999);
    const round = (value) => Number((value * step).toPrecision(10));
    low = round(Math.floor(from / step));
    high = round(Math.ceil(to / step));
    for (const { input, text } of handles) {
      Object.assign(input, { min: low, max: high, step });
      input.setAttribute("aria-label", `${column.name} ${text}, by handle`);
    }
    for (const { input, text } of fields) input.setAttribute("aria-label", `${column.name} ${text}${column.unit ? ", in " + unitWords(column.unit) : ""}`);
    unit.textContent = unitWords(column.unit);
  }

  function pull(input, which, live) {
    const limit = { ...state.limits.get(column.index) };
    const other = which === "least" ? handles[1].input : handles[0].input;
    const value = which === "least" ? Math.min(Number(input.value), Number(other.value)) : Math.max(Number(input.value), Number(other.value));
    const free = which === "least" ? value <= low + step / 2 : value >= high - step / 2;
    limit[which] = free ? undefined : fromUnits(Number(value.toPrecision(10)), column.unit);
    setLimit(column.index, limit.least, limit.most, { live });
  }

  function take(input, which) {
    const value = typed(input.value);
    const bad = Number.isNaN(value);
    input.setAttribute("aria-invalid", bad ? "true" : "false");
    if (bad) return say(`“${input.value.slice(0, 30)}” is not a number; the limit stays as it was`);
    const limit = { ...state.limits.get(column.index), [which]: value === undefined ? undefined : fromUnits(value, column.unit) };
    setLimit(column.index, limit.least, limit.most);
  }

  /** How many candidates lie where: all, and those within every limit. */
  function heights(rows) {
    const bins = d3.bin().domain([low, high]).thresholds(Array.from({ length: STRIP.bins - 1 }, (_, k) => low + ((k + 1) / STRIP.bins) * (high - low)));
    const { factor } = shownUnit(column.unit);
    return bins(rows.map((row) => column.values[row] * factor)).map((bin) => bin.length);
  }

  function show() {
    const limit = state.limits.get(column.index) || {};
    for (const { which, input } of fields) {
      if (document.activeElement === input && state.live) continue;
      input.value = limit[which] === undefined ? "" : shownDigits(limit[which]);
      input.setAttribute("aria-invalid", "false");
    }
    const at = { least: low, most: high };
    for (const { which, input } of handles) {
      if (limit[which] !== undefined) at[which] = Math.max(low, Math.min(high, inUnits(limit[which], column.unit)));
      input.value = at[which];
      input.setAttribute("aria-valuetext", limit[which] === undefined ? "no limit" : withUnit(limit[which], column.unit));
    }
    // Of two handles at one place the one with more room to go lies on top.
    handles[0].input.classList.toggle("above", at.least > (low + high) / 2);
    const all = heights(candidates);
    const left = heights(candidates.filter((row) => within[row]));
    const most = Math.max(1, ...all), wide = STRIP.width / all.length;
    const bar = (list) => list.map((count, i) => (count ? `M${(i * wide + 0.4).toFixed(2)} ${STRIP.height}h${(wide - 0.8).toFixed(2)}V${(STRIP.height * (1 - 0.95 * Math.max(0.06, count / most))).toFixed(1)}h${(0.8 - wide).toFixed(2)}z` : "")).join("");
    bars[0].attr("d", bar(all));
    bars[1].attr("d", bar(left));
    const x = (value) => ((value - low) / (high - low || 1)) * STRIP.width;
    cut.attr("d", `M0 0H${x(at.least)}V${STRIP.height}H0zM${x(at.most)} 0H${STRIP.width}V${STRIP.height}H${x(at.most)}z`);
  }

  fit();
  return { node, show, fit, focus: () => fields[0].input.focus() };
}
