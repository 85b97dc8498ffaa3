// Many columns at once: one upright axis a column, one line a candidate.
//
// A drag along an axis limits it; an axis' name is dragged to move it and pressed to turn it over.

const MOST_AXES = 12;
const SIDE = 48;
const LINES_A_PICTURE = 500;

function parallel(box) {
  const plot = layers(box, 2, (width) => (printing ? 240 : innerWidth >= 1900 ? Math.min(560, width * 0.55) : width < 700 ? 330 : 300), () => draw());
  const { svg, size } = plot;
  const [back, kept] = plot.contexts;
  const offered = byRank.filter((column) => column.varies && candidates.some((row) => Number.isFinite(column.values[row])));
  let order = offered.slice(0, MOST_AXES);
  const turned = new Set();
  const spans = new Map(offered.map((column) => [column, span(column.values, candidates.concat(0), 0.04)]));
  const others = feasibleRows.filter((row) => !isCandidate[row] && row !== 0);
  let scales = [], ys = [], xs = [];

  svg.attr("role", "group").attr("aria-label", "Parallel axes. The table of candidates holds the same figures; limits can also be set above.").attr("class", "parallel");
  const few = svg.append("g").attr("class", "few").attr("aria-hidden", "true");
  const axes = svg.append("g");
  const top = 62, foot = 34;
  const room = () => (order.length > 1 ? (size.width - 2 * SIDE) / (order.length - 1) : size.width - 2 * SIDE);
  const axisX = (i) => SIDE + (order.length > 1 ? i * room() : room() / 2);

  function place() {
    const bottom = size.height - foot;
    xs = order.map((_, i) => axisX(i));
    scales = order.map((column) => scaleOf(column, spans.get(column), turned.has(column) ? [top, bottom] : [bottom, top]));
    ys = order.map((column, i) => {
      const { factor } = shownUnit(column.unit), zero = scales[i](0), slope = (scales[i](1) - zero) * factor;
      const out = new Float32Array(designs.length);
      for (let row = 0; row < out.length; row++) out[row] = Math.max(top - 6, Math.min(bottom + 6, zero + slope * column.values[row]));
      return out;
    });
  }

  function trail(pen, row) {
    let started = false;
    for (let i = 0; i < xs.length; i++) {
      const y = ys[i][row];
      if (Number.isNaN(y)) { started = false; continue; }
      if (started) pen.lineTo(xs[i], y); else pen.moveTo(xs[i], y);
      started = true;
    }
  }

  /** Draws lines on a layer, some each picture, out of sight until all are there; a later call waits for its turn. */
  function inTurns(pen, list) {
    const hidden = document.createElement("canvas"), brush = hidden.getContext("2d");
    let todo = null, at = 0, again = false;
    const begin = () => {
      const { width, height, sharp } = size;
      hidden.width = width * sharp;
      hidden.height = height * sharp;
      brush.setTransform(sharp, 0, 0, sharp, 0, 0);
      todo = list();
      at = 0;
      again = false;
    };
    const step = () => {
      if (!todo) return;
      const end = printing ? todo.length : Math.min(todo.length, at + LINES_A_PICTURE);
      for (; at < end; at++) {
        const [row, style] = todo[at];
        if (brush.strokeStyle !== style.colour) brush.strokeStyle = style.colour;
        brush.globalAlpha = style.alpha;
        brush.lineWidth = style.width;
        brush.beginPath();
        trail(brush, row);
        brush.stroke();
      }
      if (at < todo.length) return requestAnimationFrame(step);
      todo = null;
      pen.clearRect(0, 0, size.width, size.height);
      if (hidden.width && hidden.height) pen.drawImage(hidden, 0, 0, size.width, size.height);
      if (again) { begin(); step(); }
    };
    return () => {
      if (todo && !printing) { again = true; return; }
      begin();
      step();
    };
  }

  /** What limits leave as it is: every feasible design, faint. */
  const drawBack = inTurns(back, () => {
    const colours = ink();
    const style = { colour: colours.faint, alpha: Math.max(0.02, Math.min(0.16, 100 / Math.max(1, others.length))), width: 1 };
    const front = { colour: colours.faint, alpha: 0.14, width: 1 };
    return [...others.map((row) => [row, style]), ...candidates.map((row) => [row, front])];
  });

  /** Candidates within the limits, and what is marked. */
  const drawKept = inTurns(kept, () => {
    const colours = ink();
    const some = state.marked.size > 0;
    const plain = { colour: colours.front, alpha: (some ? 0.4 : 1) * Math.max(0.06, Math.min(0.6, 160 / candidates.length)), width: 1 };
    const marked = { colour: colours.front, alpha: Math.max(0.1, Math.min(0.85, 160 / state.marked.size)), width: 1.3 };
    const dominated = { colour: colours.quiet, alpha: 0.3, width: 1 };
    const of = (row) => [row, isMarked[row] ? marked : plain];
    const first = [...state.marked].filter((row) => !isCandidate[row] && within[row] && violation[row] === 0).slice(0, 2000).map((row) => [row, dominated]);
    const front = candidates.filter((row) => within[row]);
    return [...first, ...front.filter((row) => !isMarked[row]).map(of), ...front.filter((row) => isMarked[row]).map(of)];
  });

  function drawFew() {
    const path = (row) => { const pen = pathWords(); trail(pen, row); return pen.words(); };
    const last = order.length - 1;
    const lines = [{ kind: "baseline", row: 0 }];
    state.open.forEach((row, slot) => { if (row >= 0) lines.push({ kind: "opened slot" + slot, row, letter: SLOTS[slot], shift: 8 + 12 * slot }); });
    if (state.hover >= 0) lines.push({ kind: "pointed", row: state.hover });
    const nodes = few.selectAll("g").data(lines).join((enter) => { const node = enter.append("g"); node.append("path"); node.append("text"); return node; });
    nodes.attr("class", (line) => line.kind);
    nodes.select("path").attr("d", (line) => path(line.row));
    nodes.select("text").text((line) => (line.letter && Number.isFinite(ys[last][line.row]) ? line.letter : "")).attr("x", (line) => xs[last] + (line.shift || 0)).attr("y", (line) => (Number.isFinite(ys[last][line.row]) ? ys[last][line.row] + 4 : 0));
  }

  const brush = d3.brushY().on("brush end", function brushed(event, column) {
    if (!event.sourceEvent) return;
    const live = event.type !== "end";
    if (!event.selection) return setLimit(column.index, undefined, undefined, { live });
    const scale = scales[order.indexOf(column)];
    const [least, most] = event.selection.map((y) => fromUnits(Number(scale.invert(y).toPrecision(4)), column.unit)).sort((a, b) => a - b);
    setLimit(column.index, least, most, { live });
  });

  function drawAxes() {
    const bottom = size.height - foot, wide = room() > 100;
    // Names of narrow axes stand in two or three rows.
    const lines = wide ? 1 : room() > 66 ? 2 : 3;
    const groups = axes.selectAll("g.upright").data(order, (column) => column.index).join((enter) => {
      const group = enter.append("g").attr("class", "upright");
      group.append("g").attr("class", "scale").attr("aria-hidden", "true");
      group.append("g").attr("class", "brush").attr("aria-hidden", "true");
      group.append("text").attr("class", "title").attr("tabindex", 0).attr("role", "button").on("click", (_, column) => turn(column)).on("keydown", titleKeys).call(drag);
      group.append("text").attr("class", "unit").attr("aria-hidden", "true");
      return group;
    }).order();
    groups.attr("transform", (_, i) => `translate(${xs[i]},0)`);
    groups.select("g.scale").each(function scale(column) {
      const axis = scales[order.indexOf(column)], ends = axis.domain();
      const marks = marksOf(axis, 4);
      const words = wide ? marks.words : (value) => figure(value, 3);
      d3.select(this).call(d3.axisLeft(axis).tickValues(wide ? marks.values : ends).tickFormat(words).tickSize(wide ? 4 : 0).tickPadding(3));
      // Between narrow axes the two ends stand above and below.
      d3.select(this).selectAll(".tick text").attr("text-anchor", wide ? "end" : "middle").attr("x", wide ? -7 : 0).attr("dy", (value) => (wide ? "0.32em" : axis(value) < size.height / 2 ? "-0.5em" : "1.2em"));
    });
    brush.extent([[-9, top], [9, bottom]]);
    groups.select("g.brush").call(brush);
    placeLimits();
    const fits = Math.max(4, Math.floor((lines * room() - 8) / 7.2));
    groups.select("text.title").attr("y", (_, i) => 42 - 15 * (i % lines)).text((column) => (turned.has(column) ? "↓ " : "") + brief(column.name, fits))
      .attr("aria-label", (column, i) => `${label(column)}, axis ${i + 1} of ${order.length}${turned.has(column) ? ", turned over" : ""}. Enter turns it over, left and right move it.`);
    groups.select("text.unit").attr("y", size.height - 4).text((column) => brief(unitWords(column.unit), 12));
  }

  function placeLimits() {
    axes.selectAll("g.upright").each(function limit(column, i) {
      const set = state.limits.get(column.index);
      const [low, high] = scales[i].domain(), { least, most } = set || {};
      const at = (value, end) => scales[i](value === undefined ? end : Math.max(low, Math.min(high, inUnits(value, column.unit))));
      const ends = set && [at(least, low), at(most, high)].sort((a, b) => a - b);
      d3.select(this).select("g.brush").call(brush.move, ends && (ends[1] - ends[0] < 2 ? [ends[0] - 1, ends[0] + 1] : ends));
    });
  }

  function draw() {
    if (!size.width || !order.length) return;
    place();
    drawAxes();
    drawBack();
    drawKept();
    drawFew();
  }

  function turn(column) {
    if (!turned.delete(column)) turned.add(column);
    draw();
    say(`${column.name} ${turned.has(column) ? "turned over: its least is on top" : "as usual: its greatest is on top"}`);
  }

  function moveTo(column, place) {
    const now = order.indexOf(column), next = Math.max(0, Math.min(order.length - 1, place));
    if (now === next) return draw();
    order.splice(next, 0, ...order.splice(now, 1));
    draw();
    say(`${column.name} is axis ${next + 1} of ${order.length}`);
  }

  function titleKeys(event, column) {
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (step) moveTo(column, order.indexOf(column) + step);
    else if (event.key === "Enter" || event.key === " ") turn(column);
    else return;
    event.preventDefault();
    axes.selectAll("text.title").filter((other) => other === column).node().focus();
  }

  const drag = d3.drag().on("drag", function dragged(event) {
    d3.select(this.parentNode).raise().attr("transform", `translate(${d3.pointer(event.sourceEvent, svg.node())[0]},0)`);
  }).on("end", (event, column) => {
    const [x] = d3.pointer(event.sourceEvent, svg.node());
    if (Math.abs(x - xs[order.indexOf(column)]) > 6) moveTo(column, Math.round((x - SIDE) / room()));
    else draw();
  });

  /** The candidate whose line runs nearest to a place. */
  function nearest(x, y) {
    const i = xs.findIndex((right, k) => k > 0 && x <= right);
    if (i < 1 || x < xs[0]) return -1;
    const share = (x - xs[i - 1]) / (xs[i] - xs[i - 1]);
    let best = -1, least = 6;
    for (const row of [0, ...candidates]) {
      if (!within[row]) continue;
      const far = Math.abs(ys[i - 1][row] * (1 - share) + ys[i][row] * share - y);
      if (far < least) { least = far; best = row; }
    }
    return best;
  }
  svg.on("pointermove.point", (event) => { if (!event.buttons) setHover(nearest(...d3.pointer(event, svg.node()))); });
  svg.on("pointerleave.point", () => setHover(-1));
  svg.on("click.point", (event) => {
    if (event.target.closest(".title") || event.target.closest(".brush")) return;
    const row = nearest(...d3.pointer(event, svg.node()));
    if (row >= 0) event.shiftKey ? openBeside(row) : openSheet(row);
  });

  columnChooser(document.getElementById("pick-axes"), offered, order, (chosen) => {
    order = [...order.filter((column) => chosen.has(column)), ...offered.filter((column) => chosen.has(column) && !order.includes(column))];
    draw();
  });
  onChange((kind) => {
    if (kind === "limits") { placeLimits(); drawKept(); }
    else if (kind === "marked") drawKept();
    else if (kind === "units") draw();
    else if (kind === "view") { drawBack(); drawKept(); }
    else if (kind === "hover" || kind === "open") drawFew();
  });
  document.getElementById("axes-words").textContent =
    `Lines: candidates; dashed: baseline; faint: ${others.length ? `${grouped(String(others.length))} dominated designs` : "none"}. ` +
    "Drag along an axis to limit it, click the axis to free it. Drag an axis' name to move it, press it to turn the axis over.";
  return plot;
}

/** A path written as text, with the two calls of a canvas that lines need. */
function pathWords() {
  let words = "";
  return { moveTo: (x, y) => { words += `M${x.toFixed(1)} ${y.toFixed(1)}`; }, lineTo: (x, y) => { words += `L${x.toFixed(1)} ${y.toFixed(1)}`; }, words: () => words };
}
