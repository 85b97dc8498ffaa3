// Every dimension at once: one upright axis a column, one line a candidate. Dragging along an axis limits it.

const MOST_AXES = 12;
const SIDE = 46;

function parallel(box) {
  const plot = layers(box, 2, (width) => (printing ? 230 : innerWidth >= 1900 ? Math.min(560, width * 0.55) : width < 700 ? 300 : 260), () => draw());
  const [pen, over] = plot.contexts;
  const [canvas] = plot.canvases;
  const shown = byRank.filter((column) => column.varies && candidates.some((row) => Number.isFinite(column.values[row]))).slice(0, MOST_AXES);
  const feasible = Array.from(designs.keys()).filter((row) => violation[row] === 0 && !isCandidate[row]);
  const sample = feasible.filter((_, i) => i % Math.max(1, Math.ceil(feasible.length / 600)) === 0);
  const spans = shown.map((column) => span(column.values, candidates.concat(0), 0.04));
  const top = 46, foot = 22;
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", "Parallel axes of " + shown.map((c) => c.name).join(", ") + ". The table of candidates holds the same figures; limits can be typed above.");

  const axisX = (i) => SIDE + (shown.length > 1 ? (i / (shown.length - 1)) * (plot.size.width - 2 * SIDE) : (plot.size.width - 2 * SIDE) / 2);
  const height = () => plot.size.height - top - foot;
  function axisY(i, value) {
    const [low, high] = spans[i];
    const share = (value - low) / (high - low);
    return top + (1 - Math.max(-0.03, Math.min(1.03, share))) * height();
  }
  const back = (i, y) => spans[i][0] + (1 - (y - top) / height()) * (spans[i][1] - spans[i][0]);

  function trail(pen, row) {
    pen.beginPath();
    let started = false;
    shown.forEach((column, i) => {
      const value = column.values[row];
      if (!Number.isFinite(value)) { started = false; return; }
      const x = axisX(i), y = axisY(i, value);
      if (started) pen.lineTo(x, y); else pen.moveTo(x, y);
      started = true;
    });
    pen.stroke();
  }

  function draw() {
    if (!plot.size.width || !shown.length) return;
    const colours = ink();
    pen.clearRect(0, 0, plot.size.width, plot.size.height);
    pen.lineWidth = 1;
    pen.strokeStyle = colours.faint;
    pen.globalAlpha = 0.1;
    for (const row of sample) if (within[row]) trail(pen, row);
    pen.globalAlpha = 0.12;
    for (const row of candidates) if (!within[row]) trail(pen, row);
    pen.strokeStyle = colours.front;
    pen.globalAlpha = candidates.length > 300 ? 0.3 : 0.6;
    for (const row of candidates) if (within[row]) trail(pen, row);
    pen.globalAlpha = 1;
    pen.strokeStyle = colours.base;
    pen.lineWidth = 2;
    pen.setLineDash([7, 4]);
    trail(pen, 0);
    pen.setLineDash([]);
    shown.forEach((column, i) => axis(column, i, colours));
    drawOver();
  }

  function axis(column, i, colours) {
    const x = Math.round(axisX(i)) + 0.5;
    pen.lineWidth = 1;
    pen.strokeStyle = colours.quiet;
    line(pen, [[x, top], [x, top + height()]]);
    pen.textAlign = "center";
    pen.fillStyle = colours.ink;
    const room = shown.length > 1 ? axisX(1) - axisX(0) - 6 : 200;
    const words = fitted(pen, column.name, room);
    pen.fillText(words, x, i % 2 && room < 90 ? 11 : 25);
    pen.fillStyle = colours.quiet;
    const [low, high] = spans[i];
    pen.fillText(figure(high, 3), x, top - 6);
    pen.fillText(figure(low, 3) + (column.unit && room > 60 ? " " + column.unit : ""), x, top + height() + 14);
    const limit = state.limits.get(column.index);
    if (!limit) return;
    const from = axisY(i, limit.most === undefined ? high : limit.most);
    const to = axisY(i, limit.least === undefined ? low : limit.least);
    pen.fillStyle = colours.pick;
    pen.globalAlpha = 0.25;
    pen.fillRect(x - 6, from, 12, Math.max(2, to - from));
    pen.globalAlpha = 1;
    pen.strokeStyle = colours.pick;
    pen.strokeRect(x - 6, from, 12, Math.max(2, to - from));
  }

  function fitted(pen, text, room) {
    if (pen.measureText(text).width <= room) return text;
    let cut = text.slice(0, 60);
    while (cut.length > 3 && pen.measureText(cut + "…").width > room) cut = cut.slice(0, -1);
    return cut + "…";
  }

  function drawOver() {
    const colours = ink();
    over.clearRect(0, 0, plot.size.width, plot.size.height);
    state.open.forEach((row, slot) => {
      if (row < 0) return;
      over.strokeStyle = colours.pick;
      over.lineWidth = 2;
      over.setLineDash(slot ? [2, 3] : []);
      trail(over, row);
      over.setLineDash([]);
      const last = shown.length - 1;
      const value = shown[last].values[row];
      if (Number.isFinite(value)) halo(over, SLOTS[slot], axisX(last) + 8 + 12 * slot, axisY(last, value) + 4, colours);
    });
    if (state.hover >= 0) {
      over.strokeStyle = colours.ink;
      over.lineWidth = 2;
      trail(over, state.hover);
    }
    if (drag) {
      over.strokeStyle = colours.ink;
      over.strokeRect(axisX(drag.axis) - 7, Math.min(drag.from, drag.to), 14, Math.abs(drag.to - drag.from));
    }
  }

  let drag = null;
  const place = (event) => {
    const rect = canvas.getBoundingClientRect();
    return [event.clientX - rect.left, event.clientY - rect.top];
  };
  const axisAt = (px) => shown.findIndex((_, i) => Math.abs(axisX(i) - px) < 14);
  canvas.addEventListener("pointerdown", (event) => {
    const [x, y] = place(event);
    const i = axisAt(x);
    if (i < 0) return;
    drag = { axis: i, from: y, to: y };
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    const [x, y] = place(event);
    canvas.style.cursor = axisAt(x) >= 0 ? "ns-resize" : "default";
    if (drag) { drag.to = y; drawOver(); }
  });
  canvas.addEventListener("pointerup", () => {
    if (!drag) return;
    const { axis: i, from, to } = drag;
    drag = null;
    if (Math.abs(to - from) < 5) return setLimit(shown[i].index);
    const rounded = (value) => Number(value.toPrecision(4));
    const [least, most] = [back(i, from), back(i, to)].sort((a, b) => a - b).map(rounded);
    setLimit(shown[i].index, least, most);
  });
  canvas.addEventListener("pointercancel", () => { drag = null; drawOver(); });

  onChange((kind) => { if (kind === "limits" || kind === "view") draw(); else drawOver(); });
  document.getElementById("axes-words").textContent =
    `Lines: candidates; dashed: baseline; faint: ${sample.length ? `${sample.length} of ${grouped(String(feasible.length))} dominated designs` : "none"}. ` +
    "Drag along an axis to limit it, click the axis to free it." +
    (byRank.filter((c) => c.varies).length > shown.length ? ` The first ${shown.length} of ${columns.length} columns: objectives, variables, measures.` : "");
  return plot;
}
