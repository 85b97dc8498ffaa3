// Around the map: its keys and buttons, the columns it shows, what its signs mean.

const RADII = [2.5, 9];

/** Keys of the map: arrows walk the candidates, others zoom, mark and limit. */
function mapKeys(event, act, show) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  const acts = {
    "+": act.closer, "=": act.closer, "-": act.farther, "0": act.whole, l: act.limitToBox,
    m: () => { if (state.hover >= 0) turnMark(state.hover); },
    Escape: () => { setHover(-1); if (state.marked.size) act.unmark(); },
    Enter: () => { if (state.hover >= 0) event.shiftKey ? openBeside(state.hover) : openSheet(state.hover); },
  };
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (steps && event.shiftKey) act.move(-60 * steps[0], -60 * steps[1]);
  else if (steps) walk(steps[0] ? "x" : "y", steps[0] - steps[1], show);
  else if (acts[key]) acts[key]();
  else return;
  event.preventDefault();
}

/** Marks a design, or takes its mark away. */
function turnMark(row) {
  setMarked(state.marked.has(row) ? [...state.marked].filter((other) => other !== row) : [...state.marked, row]);
}

/** One step along an axis through candidates and baseline, spoken. */
function walk(way, step, show) {
  const { values } = columns[state[way]];
  const rows = candidates.concat(isCandidate[0] ? [] : [0]).filter((row) => within[row]).sort((a, b) => values[a] - values[b] || a - b);
  if (!rows.length) return;
  const now = rows.indexOf(state.hover);
  const row = rows[now < 0 ? (step > 0 ? 0 : rows.length - 1) : Math.max(0, Math.min(rows.length - 1, now + step))];
  show(row);
  setHover(row);
  say(describe(row));
}

/** A design in words and units, with what it gains and loses against the baseline. */
function describe(row) {
  const shown = [...new Set([...goals, ...[state.x, state.y, state.shade, state.size].filter((index) => index !== null).map((index) => columns[index])])];
  const parts = shown.map((column) => {
    const { text, word } = difference(column.values[row], column.values[0], column.sense);
    return `${column.name} ${valueWords(column, row)}` + (row === 0 || text === NONE ? "" : ` (${text}${word ? " " + word : ""})`);
  });
  return rowWords(row) + ": " + parts.join(", ");
}

/** Whether a column's figures may stand on a logarithmic axis, and gain by it. */
function suitsLog(column) {
  const [low, high] = d3.extent(candidates.concat(0), (row) => column.values[row]);
  return low > 0 && high >= 2 * low;
}

/** The selects above the map. */
function mapChoices() {
  const selects = ["x", "y", "shade", "size"].map((key) => [key, document.getElementById("pick-" + key)]);
  const logs = [["x", "logX"], ["y", "logY"]].map(([way, key]) => [way, key, document.getElementById("log-" + way)]);
  const range = document.getElementById("pick-range");
  const fill = () => {
    for (const [key, select] of selects) {
      const none = key === "x" || key === "y" ? [] : [el("option", { value: "", selected: state[key] === null }, "none")];
      select.replaceChildren(...none, ...byRank.map((column) => el("option", { value: column.index, selected: column.index === state[key] }, label(column))));
    }
    for (const [way, key, box] of logs) {
      box.disabled = !suitsLog(columns[state[way]]);
      if (box.disabled) state[key] = false;
      box.checked = state[key];
    }
  };
  for (const [key, select] of selects) select.addEventListener("change", () => { state[key] = select.value === "" ? null : Number(select.value); fill(); changed("view"); });
  for (const [, key, box] of logs) box.addEventListener("change", () => { state[key] = box.checked; changed("view"); });
  range.addEventListener("change", () => { state.range = range.value; changed("view"); });
  onChange((kind) => { if (kind === "units") fill(); });
  fill();
}

/** Buttons of the map, and what is marked. */
function mapTools(act) {
  const button = (words, sign, run) => el("button", { type: "button", class: "tool", "aria-label": words, title: words, onclick: run }, sign);
  document.getElementById("map-zoom").append(button("Closer", "+", act.closer), button("Farther", "−", act.farther), button("Whole picture", "Whole", act.whole));
  // Always there, so that the plot does not move away under a drag.
  const words = el("span", {});
  const acts = [el("button", { type: "button", onclick: act.limitToBox }, "Limit to the box"), el("button", { type: "button", onclick: act.unmark }, "Clear marks")];
  // A way to mark that needs no drag: limits can be typed.
  const all = el("button", { type: "button", onclick: () => setMarked(candidates.filter((row) => within[row])) }, "Mark candidates within the limits");
  document.getElementById("marks").replaceChildren(words, ...acts, all);
  const show = () => {
    const count = state.marked.size, front = candidates.reduce((sum, row) => sum + isMarked[row], 0);
    words.textContent = count ? `${grouped(String(count))} marked, ${grouped(String(front))} of them ${file.hasFront ? "on the front" : "least violating"}` : "No design is marked";
    for (const button of acts) button.disabled = count === 0;
  };
  onChange((kind) => { if (kind === "marked") show(); });
  show();
}

/** What the signs, shades and sizes of the map mean, and what they are for a row. */
function mapLegend(box) {
  const ends = (index) => (index === null ? [0, 1] : span(columns[index].values, candidates.concat(0), 0));
  const share = (index, [low, high], row) => (columns[index].values[row] - low) / (high - low || 1);
  const plain = candidates.length > 600 ? 3 : 4.5;
  // Area, not width, follows the value.
  const size = (part) => Math.sqrt(RADII[0] ** 2 + Math.max(0, Math.min(1, part)) * (RADII[1] ** 2 - RADII[0] ** 2));

  function looks(colours) {
    const tints = shades(colours), shadeEnds = ends(state.shade), sizeEnds = ends(state.size);
    return {
      tint: (row) => { const part = state.shade === null ? NaN : share(state.shade, shadeEnds, row); return Number.isFinite(part) ? tints(part) : null; },
      radius: (row) => { const part = state.size === null ? NaN : share(state.size, sizeEnds, row); return Number.isFinite(part) ? size(part) : plain; },
    };
  }

  const mark = (kind, sign, text) => el("span", {}, el("i", { class: "mark " + kind, "aria-hidden": "true" }, sign), " ", text);
  const shownAt = (column, value) => figure(inUnits(value, column.unit), 3);

  function ramp(colours) {
    const column = columns[state.shade], [low, high] = ends(state.shade), tints = shades(colours);
    const bar = el("canvas", { class: "ramp", width: 90, height: 10, "aria-hidden": "true" });
    const pen = bar.getContext("2d");
    for (let i = 0; i < 90; i++) { pen.fillStyle = tints(i / 89); pen.fillRect(i, 0, 1, 10); }
    return el("span", {}, name(column.name), " ", shownAt(column, low), " ", bar, " ", shownAt(column, high), column.unit ? " " + unitWords(column.unit) : "");
  }

  function sizes() {
    const column = columns[state.size], [low, high] = ends(state.size);
    const dot = (part) => {
      const svg = d3.select(document.createElementNS("http://www.w3.org/2000/svg", "svg")).attr("class", "dot-size").attr("viewBox", "-10 -10 20 20").attr("aria-hidden", "true");
      svg.append("circle").attr("r", size(part));
      return svg.node();
    };
    return el("span", {}, name(column.name), " ", dot(0), " ", shownAt(column, low), " ", dot(1), " ", shownAt(column, high), column.unit ? " " + unitWords(column.unit) : "");
  }

  function show(colours, outside, baselineSeen) {
    const between = file.hasFront && state.x !== state.y && columns[state.x].sense && columns[state.y].sense;
    box.replaceChildren(...[
      mark("candidate", "●", file.hasFront ? `${grouped(String(candidates.length))} on the front` : `${candidates.length} least violating`),
      between && mark("line", "╌", "best of these two"),
      mark("baseline", "◆", "baseline" + (baselineSeen ? "" : " (outside the axes)")),
      (file.revisions || []).length > 0 && mark("revision", "◇", "adopted revisions, by letter"),
      state.picks.size > 0 && mark("chosen", "★", "picked"),
      mark("dominated", "▪", "dominated"),
      mark("broken", "+", "breaks a constraint"),
      state.shade !== null && ramp(colours),
      state.size !== null && sizes(),
      outside > 0 && el("span", {}, `${grouped(String(outside))} designs lie outside the axes`),
    ].filter(Boolean));
  }
  return { looks, show };
}

/** Whether a drag marks designs, rather than moving the picture. */
const dragMarks = () => document.getElementById("drag-marks").checked;
