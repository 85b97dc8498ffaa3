// The map of all designs: two columns across and up, a third as shade, a fourth as size.
//
// A drag marks designs or moves the picture; points are on canvas, axes and the few that stand out are SVG.

const MARGIN = { left: 62, right: 16, top: 26, bottom: 46 };
const CLOSER = 1.5;
/** A star of five points about the origin. */
const STAR = "M" + Array.from({ length: 10 }, (_, i) => { const r = i % 2 ? 3.4 : 8.5, a = (i * Math.PI) / 5; return `${(r * Math.sin(a)).toFixed(2)} ${(-r * Math.cos(a)).toFixed(2)}`; }).join("L") + "Z";

function scatter(box) {
  const plot = layers(box, 2, (width) => Math.min(Math.max(width * 0.66, 300), 620), () => draw());
  const { svg, size } = plot;
  const [cloud, front] = plot.contexts;
  const px = new Float32Array(designs.length), py = new Float32Array(designs.length);
  const seen = new Uint8Array(designs.length);
  const legend = mapLegend(document.getElementById("legend"));
  let base = null, scale = null, moved = d3.zoomIdentity, boxed = null, asked = 0, grid = null;

  svg.attr("tabindex", 0).attr("role", "application").attr("aria-roledescription", "scatter plot").attr("aria-describedby", "readout").attr("class", "map");
  const groups = Object.fromEntries(["down", "along", "brush", "few"].map((kind) => [kind, svg.append("g").attr("class", kind)]));
  const titles = { x: svg.append("text").attr("class", "axis-title").attr("text-anchor", "end"), y: svg.append("text").attr("class", "axis-title").attr("x", 4).attr("y", 14) };
  groups.few.attr("aria-hidden", "true");

  const area = () => [[MARGIN.left, MARGIN.top], [size.width - MARGIN.right, size.height - MARGIN.bottom]];
  const must = candidates.concat(0);
  const known = new Map();

  /** Bounds of an axis in the file's unit: what must be seen, and of a wide cloud all but its far ends. */
  function bounds(column, log) {
    const key = [column.index, state.range, log].join();
    if (!known.has(key)) {
      const { values } = column;
      let [low, high] = state.range === "front" ? span(values, must, 0.12) : wideSpan(values, must, state.range === "all" ? everyRow : feasibleRows);
      if (log) low = Math.max(low, 0.94 * d3.extent(must, (row) => values[row])[0]);
      known.set(key, [low, high]);
    }
    return known.get(key);
  }

  function place() {
    const [[left, top], [right, bottom]] = area();
    const [xc, yc] = [columns[state.x], columns[state.y]];
    base = { x: scaleOf(xc, bounds(xc, state.logX), [left, right], state.logX), y: scaleOf(yc, bounds(yc, state.logY), [bottom, top], state.logY) };
    scale = { x: moved.rescaleX(base.x), y: moved.rescaleY(base.y) };
    const fx = shownUnit(xc.unit).factor, fy = shownUnit(yc.unit).factor;
    for (let row = 0; row < designs.length; row++) {
      const x = scale.x(xc.values[row] * fx), y = scale.y(yc.values[row] * fy);
      px[row] = x;
      py[row] = y;
      seen[row] = x >= left && x <= right && y >= top && y <= bottom;
    }
  }

  function axes() {
    const [[left], [right, bottom]] = area();
    const across = marksOf(scale.x, size.width > 520 ? 7 : 4), up = marksOf(scale.y, 6);
    groups.down.attr("transform", `translate(0,${bottom})`).call(d3.axisBottom(scale.x).tickValues(across.values).tickFormat(across.words).tickSizeInner(5).tickSizeOuter(0));
    groups.along.attr("transform", `translate(${left},0)`).call(d3.axisLeft(scale.y).tickValues(up.values).tickFormat(up.words).tickSizeInner(5).tickSizeOuter(0));
    grid = { across: across.values.map(scale.x), up: up.values.map(scale.y) };
    const words = (column, log, signs) => label(column) + (log ? ", log scale" : "") + (signs[column.sense] || "");
    titles.x.attr("x", right).attr("y", size.height - 8).text(brief(words(columns[state.x], state.logX, { least: "  ← better", most: "  better →" }), 70));
    titles.y.text(brief(words(columns[state.y], state.logY, { least: "  ↓ better", most: "  ↑ better" }), 70));
  }

  /** Dominated designs as squares, those that break a constraint as crosses; the grid goes under them. */
  function drawCloud(colours) {
    const signs = stamps(cloud, size);
    for (const [kept, feasible, share] of [[0, false, 0.14], [0, true, 0.14], [1, false, 0.5], [1, true, 0.65]]) {
      signs.use(feasible ? colours.faint : colours.broken, share);
      const sign = feasible ? signs.square : signs.cross;
      for (let row = 1; row < designs.length; row++) {
        if (seen[row] && within[row] === kept && !isCandidate[row] && (violation[row] === 0) === feasible) sign(px[row], py[row]);
      }
    }
    signs.show();
    const [[left, top], [right, bottom]] = area();
    cloud.globalCompositeOperation = "destination-over";
    cloud.fillStyle = colours.rule;
    for (const x of grid.across) cloud.fillRect(Math.round(x), top, 1, bottom - top);
    for (const y of grid.up) cloud.fillRect(left, Math.round(y), right - left, 1);
    cloud.globalCompositeOperation = "source-over";
  }

  /** Marked designs, candidates, and the line of the best trades between the two columns shown. */
  function drawFront(colours) {
    front.clearRect(0, 0, size.width, size.height);
    const { tint, radius } = legend.looks(colours);
    front.strokeStyle = colours.quiet;
    front.lineWidth = 1;
    front.setLineDash([3, 3]);
    stair(front);
    front.setLineDash([]);
    const some = state.marked.size > 0;
    front.fillStyle = colours.quiet;
    front.globalAlpha = 0.8;
    for (const row of state.marked) if (seen[row] && !isCandidate[row] && within[row]) front.fillRect(px[row] - 1.5, py[row] - 1.5, 3, 3);
    for (const [kept, marked] of [[0, 0], [0, 1], [1, 0], [1, 1]]) {
      const strong = kept && (marked || !some);
      front.globalAlpha = strong ? 1 : kept ? 0.45 : 0.8;
      for (const row of candidates) {
        if (within[row] !== kept || isMarked[row] !== marked || !seen[row]) continue;
        front.beginPath();
        front.arc(px[row], py[row], radius(row), 0, 2 * Math.PI);
        if (kept) {
          front.fillStyle = tint(row) || colours.front;
          front.fill();
        }
        front.lineWidth = (strong && marked ? 2 : 1.1) * (candidates.length > 600 ? 0.65 : 1);
        front.strokeStyle = !kept ? colours.faint : marked ? colours.ink : state.shade !== null ? colours.quiet : colours.paper;
        front.stroke();
      }
    }
    front.globalAlpha = 1;
  }

  /** Where nothing feasible is better in both columns; only between two objectives. */
  function stair(pen) {
    const [xc, yc] = [columns[state.x], columns[state.y]];
    if (!file.hasFront || xc === yc || !xc.sense || !yc.sense) return;
    const sign = (column) => (column.sense === "most" ? -1 : 1);
    const rows = candidates.filter((row) => Number.isFinite(px[row]) && Number.isFinite(py[row]))
      .sort((a, b) => sign(xc) * (xc.values[a] - xc.values[b]) || sign(yc) * (yc.values[a] - yc.values[b]));
    const [[left, top], [right, bottom]] = area();
    pen.save();
    pen.beginPath();
    pen.rect(left, top, right - left, bottom - top);
    pen.clip();
    pen.beginPath();
    let least = Infinity, before = null;
    for (const row of rows) {
      const value = sign(yc) * yc.values[row];
      if (value >= least) continue;
      least = value;
      if (before === null) pen.moveTo(px[row], sign(yc) > 0 ? top : bottom);
      else pen.lineTo(px[row], py[before]);
      pen.lineTo(px[row], py[row]);
      before = row;
    }
    if (before !== null) pen.lineTo(sign(xc) > 0 ? right : left, py[before]);
    pen.stroke();
    pen.restore();
  }

  /** Baseline, revisions, open sheets and what is pointed at. */
  function drawFew() {
    const marks = [];
    const add = (kind, x, y, path, letter) => {
      const [[left, top], [right, bottom]] = area();
      if (x >= left && x <= right && y >= top && y <= bottom) marks.push({ kind, x, y, path, letter });
    };
    for (const revision of file.revisions || []) {
      const [x, y] = ["x", "y"].map((way) => { const { index, unit } = columns[state[way]]; return revision.values[index] === null ? NaN : scale[way](inUnits(revision.values[index], unit)); });
      add("revision", x, y, "M0-6L6 0L0 6L-6 0Z", revision.letter);
    }
    add("baseline", px[0], py[0], "M0-7.5L7.5 0L0 7.5L-7.5 0Z");
    for (const design of state.picks.keys()) { const row = rowOf.get(design); if (row !== undefined) add("chosen", px[row], py[row], STAR); }
    state.open.forEach((row, slot) => { if (row >= 0) add("opened", px[row], py[row], "M-8-8H8V8H-8Z", SLOTS[slot]); });
    if (state.hover >= 0) add("pointed", px[state.hover], py[state.hover], "M-9 0A9 9 0 1 1 9 0A9 9 0 1 1-9 0Z");
    const nodes = groups.few.selectAll("g").data(marks).join((enter) => {
      const node = enter.append("g");
      node.append("path");
      node.append("text").attr("x", 10).attr("y", -8);
      return node;
    });
    nodes.attr("class", (mark) => mark.kind).attr("transform", (mark) => `translate(${mark.x},${mark.y})`);
    nodes.select("path").attr("d", (mark) => mark.path);
    nodes.select("text").text((mark) => mark.letter || "");
  }

  function draw() {
    if (state.x === null || !size.width) return;
    const colours = ink();
    place();
    axes();
    drawCloud(colours);
    drawFront(colours);
    drawFew();
    placeBox();
    let outside = 0;
    for (let row = 1; row < designs.length; row++) outside += 1 - seen[row];
    legend.show(colours, outside, seen[0]);
    svg.attr("aria-label", `${columns[state.y].name} against ${columns[state.x].name}, ${candidates.length} candidates. Arrow keys step through them, Enter opens a sheet, Shift and Enter one beside it; M marks, plus, minus and 0 zoom, Shift and arrows move the picture, L limits to the box. The table below holds the same figures.`);
  }

  /** Draws before the next picture, however often it is asked. */
  function drawSoon() {
    cancelAnimationFrame(asked);
    asked = requestAnimationFrame(draw);
  }

  /** The row nearest to a place on the plot, candidates preferred. */
  function nearest(x, y) {
    let best = -1, least = 12;
    for (let row = 0; row < designs.length; row++) {
      if (!within[row] || !seen[row]) continue;
      const far = Math.hypot(px[row] - x, py[row] - y) - (isCandidate[row] || row === 0 ? 5 : 0);
      if (far < least) { least = far; best = row; }
    }
    return best;
  }

  // Marking by a box.
  const brush = d3.brush().filter((event) => !event.ctrlKey && !event.metaKey && !event.button && dragMarks()).on("brush end", brushed);

  /** The box in the units of the file, so that it stays where it is when the picture moves. */
  function brushed(event) {
    if (!event.sourceEvent || event.sourceEvent.type === "zoom") return;
    if (!event.selection) {
      const [x, y] = d3.pointer(event.sourceEvent, svg.node());
      if (boxed && nearest(x, y) >= 0) return placeBox();
      if (state.marked.size) unmark();
      boxed = null;
      return;
    }
    const [[x0, y0], [x1, y1]] = event.selection;
    const back = (way, value) => fromUnits(scale[way].invert(value), columns[state[way]].unit);
    boxed = { x: [back("x", x0), back("x", x1)], y: [back("y", y1), back("y", y0)], columns: [state.x, state.y] };
    const rows = everyRow.filter((row) => within[row] && seen[row] && px[row] >= x0 && px[row] <= x1 && py[row] >= y0 && py[row] <= y1);
    setMarked(rows, event.type !== "end");
  }

  function placeBox() {
    brush.extent(area());
    groups.brush.call(brush);
    if (boxed && (boxed.columns[0] !== state.x || boxed.columns[1] !== state.y)) boxed = null;
    const at = (way) => boxed[way].map((value) => scale[way](inUnits(value, columns[state[way]].unit)));
    const corners = boxed && [at("x"), at("y")];
    const [[left, top], [right, bottom]] = area();
    const keep = (value, low, high) => Math.max(low, Math.min(high, value));
    groups.brush.call(brush.move, corners && [[keep(corners[0][0], left, right), keep(corners[1][1], top, bottom)], [keep(corners[0][1], left, right), keep(corners[1][0], top, bottom)]]);
  }

  function unmark() {
    boxed = null;
    setMarked([]);
    placeBox();
  }

  function limitToBox() {
    if (!boxed) return say("Drag a box over the plot first");
    const rounded = (value, unit) => fromUnits(Number(inUnits(value, unit).toPrecision(4)), unit);
    for (const way of ["x", "y"]) {
      const { index, unit } = columns[state[way]];
      const [least, most] = boxed[way].map((value) => rounded(value, unit)).sort((a, b) => a - b);
      setLimit(index, least, most, { quiet: true });
    }
    unmark();
    changed("limits");
    sayLimits();
  }

  // Zoom. A turn of the wheel that began outside the plot goes on scrolling the page.
  let passing = 0;
  addEventListener("wheel", (event) => {
    if (!box.contains(event.target) || event.timeStamp < passing) passing = event.timeStamp + 250;
  }, { passive: true, capture: true });
  const zoom = d3.zoom().scaleExtent([0.25, 400])
    .filter((event) => (event.type === "wheel" ? event.timeStamp >= passing : event.type.startsWith("touch") ? event.touches.length > 1 || !dragMarks() : !event.button && !dragMarks()))
    .on("zoom", (event) => { moved = event.transform; drawSoon(); });
  svg.call(zoom).on("dblclick.zoom", null);
  const act = {
    closer: () => svg.call(zoom.scaleBy, CLOSER),
    farther: () => svg.call(zoom.scaleBy, 1 / CLOSER),
    whole: () => svg.call(zoom.transform, d3.zoomIdentity),
    move: (x, y) => svg.call(zoom.translateBy, x / moved.k, y / moved.k),
    unmark, limitToBox,
  };

  svg.on("pointermove.point", (event) => { if (!event.buttons) setHover(nearest(...d3.pointer(event, svg.node()))); });
  svg.on("pointerleave.point", () => setHover(-1));
  svg.on("click.point", (event) => {
    const row = nearest(...d3.pointer(event, svg.node()));
    if (row < 0) return;
    if (event.ctrlKey || event.metaKey) turnMark(row);
    else if (event.shiftKey) openBeside(row);
    else openSheet(row);
  });
  svg.on("keydown.walk", (event) => mapKeys(event, act, (row) => {
    if (!seen[row]) {
      const at = (way) => base[way](inUnits(columns[state[way]].values[row], columns[state[way]].unit));
      svg.call(zoom.translateTo, at("x"), at("y"));
    }
  }));

  let pair = "";
  onChange((kind) => {
    if (kind === "view") {
      const now = [state.x, state.y, state.logX, state.logY, state.range].join();
      if (now !== pair) { pair = now; svg.call(zoom.transform, d3.zoomIdentity); }
      draw();
    } else if (kind === "units") draw();
    else if (kind === "limits") { const colours = ink(); drawCloud(colours); drawFront(colours); }
    else if (kind === "marked") drawFront(ink());
    else if (kind === "hover" || kind === "open") drawFew();
    else if (kind === "picks") draw();
  });
  return { ...plot, act };
}
