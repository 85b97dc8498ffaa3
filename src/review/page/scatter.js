// The map of all designs: two columns across and up, a third as shade.

const MARGIN = { left: 62, right: 16, top: 26, bottom: 46 };

function scatter(box) {
  const plot = layers(box, 2, (width) => Math.min(Math.max(width * 0.66, 300), 620), () => draw());
  const [canvas, overlay] = plot.canvases;
  const [pen, over] = plot.contexts;
  let scale = null;

  canvas.setAttribute("tabindex", "0");
  canvas.setAttribute("role", "application");
  canvas.setAttribute("aria-roledescription", "scatter plot");
  canvas.setAttribute("aria-describedby", "readout");

  const feasibleRows = () => Array.from(designs.keys()).filter((row) => violation[row] === 0);

  /** Bounds of an axis: what must be seen, and of a wide cloud all but its far ends. */
  function bounds(column) {
    const must = candidates.concat(0);
    if (state.range === "front") return span(column.values, must, 0.12);
    const rows = state.range === "all" ? Array.from(designs.keys()) : feasibleRows();
    const sorted = rows.map((row) => column.values[row]).filter(Number.isFinite).sort((a, b) => a - b);
    const [low, high] = span(column.values, must, 0.05);
    if (!sorted.length) return [low, high];
    const cut = Math.floor(sorted.length / 200);
    return [Math.min(low, sorted[cut]), Math.max(high, sorted[sorted.length - 1 - cut])];
  }

  function fitScale() {
    const { width, height } = plot.size;
    const [x0, x1] = bounds(columns[state.x]), [y0, y1] = bounds(columns[state.y]);
    const across = width - MARGIN.left - MARGIN.right, up = height - MARGIN.top - MARGIN.bottom;
    const xs = columns[state.x].values, ys = columns[state.y].values;
    scale = {
      x0, x1, y0, y1,
      x: (value) => MARGIN.left + ((value - x0) / (x1 - x0)) * across,
      y: (value) => MARGIN.top + (1 - (value - y0) / (y1 - y0)) * up,
      backX: (px) => x0 + ((px - MARGIN.left) / across) * (x1 - x0),
      backY: (py) => y0 + (1 - (py - MARGIN.top) / up) * (y1 - y0),
      inside: (row) => xs[row] >= x0 && xs[row] <= x1 && ys[row] >= y0 && ys[row] <= y1,
      at: (row) => [scale.x(xs[row]), scale.y(ys[row])],
    };
  }

  function axes(colours) {
    const { width, height } = plot.size;
    const bottom = height - MARGIN.bottom, right = width - MARGIN.right;
    pen.lineWidth = 1;
    pen.strokeStyle = colours.rule;
    pen.fillStyle = colours.quiet;
    pen.textAlign = "center";
    const xTicks = ticks(scale.x0, scale.x1, width > 520 ? 7 : 4);
    for (const tick of xTicks) {
      const x = Math.round(scale.x(tick)) + 0.5;
      line(pen, [[x, MARGIN.top], [x, bottom]]);
      pen.fillText(fixed(tick, xTicks.decimals), x, bottom + 16);
    }
    pen.textAlign = "right";
    const yTicks = ticks(scale.y0, scale.y1, 6);
    for (const tick of yTicks) {
      const y = Math.round(scale.y(tick)) + 0.5;
      line(pen, [[MARGIN.left, y], [right, y]]);
      pen.fillText(fixed(tick, yTicks.decimals), MARGIN.left - 7, y + 4);
    }
    pen.strokeStyle = colours.quiet;
    line(pen, [[MARGIN.left + 0.5, MARGIN.top], [MARGIN.left + 0.5, bottom + 0.5], [right, bottom + 0.5]]);
    const [xc, yc] = [columns[state.x], columns[state.y]];
    pen.fillStyle = colours.ink;
    pen.textAlign = "right";
    pen.fillText(label(xc) + ({ least: "  ← better", most: "  better →" }[xc.sense] || ""), right, height - 8);
    pen.textAlign = "left";
    pen.fillText(label(yc) + ({ least: "  ↓ better", most: "  ↑ better" }[yc.sense] || ""), 4, 14);
  }

  function draw() {
    if (state.x === null || !plot.size.width) return;
    const colours = ink();
    const { width, height } = plot.size;
    fitScale();
    pen.clearRect(0, 0, width, height);
    axes(colours);
    const tint = shades(colours);
    const shadeColumn = state.shade === null ? null : columns[state.shade];
    const [s0, s1] = shadeColumn ? span(shadeColumn.values, candidates.concat(0), 0) : [0, 1];
    const shade = (row) => shadeColumn && Number.isFinite(shadeColumn.values[row]) ? tint((shadeColumn.values[row] - s0) / (s1 - s0 || 1)) : null;
    let outside = 0;
    for (let row = 1; row < designs.length; row++) {
      if (isCandidate[row]) continue;
      if (!scale.inside(row)) { outside++; continue; }
      const [x, y] = scale.at(row);
      if (violation[row] > 0 || Number.isNaN(violation[row])) {
        pen.globalAlpha = within[row] ? 0.42 : 0.1;
        pen.fillStyle = colours.broken;
        pen.fillRect(x - 2, y - 0.5, 4, 1);
      } else {
        pen.globalAlpha = within[row] ? 0.55 : 0.1;
        pen.fillStyle = colours.faint;
        pen.fillRect(x - 1, y - 1, 2, 2);
      }
    }
    pen.globalAlpha = 1;
    const radius = candidates.length > 600 ? 3 : 4.5;
    for (const pass of [0, 1]) {
      for (const row of candidates) {
        if (within[row] !== pass || !scale.inside(row)) continue;
        const [x, y] = scale.at(row);
        circle(pen, x, y, radius);
        pen.lineWidth = pass ? 1.2 : 1;
        pen.strokeStyle = pass ? (shadeColumn ? colours.ink : colours.paper) : colours.faint;
        if (pass) { pen.fillStyle = shade(row) || colours.front; pen.fill(); }
        pen.stroke();
      }
    }
    if (scale.inside(0)) diamond(pen, ...scale.at(0), 7.5, colours);
    legend(colours, shadeColumn, s0, s1, outside);
    canvas.setAttribute("aria-label", `${columns[state.y].name} against ${columns[state.x].name}, ${candidates.length} candidates. Arrow keys step through them, Enter opens a sheet, Shift and Enter a second one. The table below holds the same figures.`);
    drawOver();
  }

  function drawOver() {
    if (!scale) return;
    const colours = ink();
    over.clearRect(0, 0, plot.size.width, plot.size.height);
    over.font = "bold 12px " + FONT.slice(5);
    state.open.forEach((row, slot) => {
      if (row < 0 || !scale.inside(row)) return;
      const [x, y] = scale.at(row);
      over.strokeStyle = colours.pick;
      over.lineWidth = 2;
      if (slot === 0) over.strokeRect(x - 8, y - 8, 16, 16);
      else triangle(over, x, y, 11);
      halo(over, SLOTS[slot], x + 11, y - 9, colours);
    });
    if (state.hover >= 0 && scale.inside(state.hover)) {
      const [x, y] = scale.at(state.hover);
      over.strokeStyle = colours.ink;
      over.lineWidth = 1.5;
      circle(over, x, y, 8);
      over.stroke();
    }
    if (drag && drag.moved) {
      over.strokeStyle = colours.ink;
      over.lineWidth = 1;
      over.setLineDash([4, 3]);
      over.strokeRect(drag.x, drag.y, drag.toX - drag.x, drag.toY - drag.y);
      over.setLineDash([]);
    }
  }

  function legend(colours, shadeColumn, s0, s1, outside) {
    const items = [
      mark("candidate", file.hasFront ? `${grouped(String(candidates.length))} on the front` : `${candidates.length} least violating`),
      mark("baseline", "baseline" + (scale.inside(0) ? "" : " (outside the axes)")),
      mark("dominated", "dominated"),
      mark("broken", "breaks a constraint"),
    ];
    if (shadeColumn) {
      const bar = el("canvas", { class: "ramp", width: 90, height: 10, "aria-hidden": "true" });
      const brush = bar.getContext("2d"), tint = shades(colours);
      for (let i = 0; i < 90; i++) { brush.fillStyle = tint(i / 89); brush.fillRect(i, 0, 1, 10); }
      items.push(el("span", {}, name(shadeColumn.name), " ", figure(s0, 3), " ", bar, " ", figure(s1, 3) + (shadeColumn.unit ? " " + shadeColumn.unit : "")));
    }
    if (outside) items.push(el("span", {}, `${grouped(String(outside))} designs lie outside the axes`));
    document.getElementById("legend").replaceChildren(...items);
  }

  const mark = (kind, text) => {
    const sign = { candidate: "●", baseline: "◆", dominated: "▪", broken: "‒" }[kind];
    return el("span", {}, el("i", { class: "mark " + kind, "aria-hidden": "true" }, sign), " ", text);
  };

  /** The row nearest to a place on the canvas, candidates preferred. */
  function nearest(px, py) {
    let best = -1, least = 12;
    for (let row = 0; row < designs.length; row++) {
      if (!within[row] || !scale.inside(row)) continue;
      const [x, y] = scale.at(row);
      const far = Math.hypot(x - px, y - py) - (isCandidate[row] || row === 0 ? 5 : 0);
      if (far < least) { least = far; best = row; }
    }
    return best;
  }

  let drag = null;
  const place = (event) => {
    const rect = canvas.getBoundingClientRect();
    return [event.clientX - rect.left, event.clientY - rect.top];
  };
  canvas.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const [x, y] = place(event);
    drag = { x, y, toX: x, toY: y, moved: false };
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    const [x, y] = place(event);
    if (drag) {
      drag.toX = x; drag.toY = y;
      drag.moved = drag.moved || Math.hypot(x - drag.x, y - drag.y) > 6;
      if (drag.moved) { drawOver(); return; }
    }
    setHover(nearest(x, y));
  });
  canvas.addEventListener("pointerup", (event) => {
    if (!drag) return;
    const ended = drag;
    drag = null;
    if (ended.moved) return limitTo(ended);
    const row = nearest(...place(event));
    if (row >= 0) openSheet(row, event.shiftKey ? 1 : 0);
  });
  canvas.addEventListener("pointercancel", () => { drag = null; drawOver(); });
  canvas.addEventListener("pointerleave", () => { if (!drag) setHover(-1); });

  function limitTo({ x, y, toX, toY }) {
    const rounded = (value) => Number(value.toPrecision(4));
    const xs = [scale.backX(x), scale.backX(toX)].sort((a, b) => a - b).map(rounded);
    const ys = [scale.backY(y), scale.backY(toY)].sort((a, b) => a - b).map(rounded);
    setLimit(state.x, xs[0], xs[1], true);
    setLimit(state.y, ys[0], ys[1]);
  }

  canvas.addEventListener("keydown", (event) => {
    const axis = { ArrowLeft: "x", ArrowRight: "x", ArrowUp: "y", ArrowDown: "y" }[event.key];
    if (axis) {
      event.preventDefault();
      const values = columns[state[axis]].values;
      const rows = candidates.concat(isCandidate[0] ? [] : [0]).filter((row) => within[row]).sort((a, b) => values[a] - values[b] || a - b);
      const step = event.key === "ArrowRight" || event.key === "ArrowUp" ? 1 : -1;
      const now = rows.indexOf(state.hover);
      const next = now < 0 ? (step > 0 ? 0 : rows.length - 1) : Math.max(0, Math.min(rows.length - 1, now + step));
      if (rows.length) { setHover(rows[next]); say(describe(rows[next])); }
    } else if (event.key === "Enter" && state.hover >= 0) {
      event.preventDefault();
      openSheet(state.hover, event.shiftKey ? 1 : 0);
    } else if (event.key === "Escape") {
      setHover(-1);
    }
  });

  onChange((kind) => { if (kind === "limits" || kind === "view") draw(); else drawOver(); });
  return plot;
}

/** A design in words and units, with what it gains and loses against the baseline. */
function describe(row) {
  const shown = [...new Set([...goals, columns[state.x], columns[state.y], ...(state.shade === null ? [] : [columns[state.shade]])])];
  const parts = shown.map((column) => {
    const value = column.values[row];
    const { text, word } = difference(value, column.values[0], column.sense);
    return `${column.name} ${withUnit(value, column.unit)}` + (row === 0 || text === NONE ? "" : ` (${text}${word ? " " + word : ""})`);
  });
  return rowWords(row) + ": " + parts.join(", ");
}

function line(pen, points) {
  pen.beginPath();
  points.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y)));
  pen.stroke();
}

function circle(pen, x, y, radius) {
  pen.beginPath();
  pen.arc(x, y, radius, 0, 2 * Math.PI);
}

function diamond(pen, x, y, size, colours) {
  pen.beginPath();
  pen.moveTo(x, y - size); pen.lineTo(x + size, y); pen.lineTo(x, y + size); pen.lineTo(x - size, y);
  pen.closePath();
  pen.fillStyle = colours.base;
  pen.strokeStyle = colours.paper;
  pen.lineWidth = 1.5;
  pen.fill();
  pen.stroke();
}

function triangle(pen, x, y, size) {
  pen.beginPath();
  pen.moveTo(x, y - size); pen.lineTo(x + size, y + size * 0.75); pen.lineTo(x - size, y + size * 0.75);
  pen.closePath();
  pen.stroke();
}

/** Text that stays legible over points. */
function halo(pen, text, x, y, colours) {
  pen.lineWidth = 4;
  pen.strokeStyle = colours.paper;
  pen.strokeText(text, x, y);
  pen.fillStyle = colours.pick;
  pen.fillText(text, x, y);
}
