// What the plots share: layers that follow their box, the page's colours, scales in the units shown.

let printing = false;

const dark = matchMedia("(prefers-color-scheme: dark)");
const inks = new Map();

/** The page's colours as they are now; always the light ones on paper. */
function ink() {
  const key = [printing, dark.matches].join();
  if (!inks.has(key)) {
    const style = getComputedStyle(document.documentElement);
    const get = (name) => style.getPropertyValue((printing ? "--print-" : "--") + name).trim() || style.getPropertyValue("--" + name).trim();
    inks.set(key, Object.fromEntries(
      ["paper", "ink", "quiet", "rule", "faint", "broken", "front", "base", "pick", "shade0", "shade1", "shade2", "shade3"].map((name) => [name, get(name)]),
    ));
  }
  return inks.get(key);
}

/**
 * Layers over one another in `box`: canvases for what is many, one SVG on top for axes and what is few.
 * `draw()` is called when the size changes.
 */
function layers(box, count, ratio, draw) {
  const canvases = Array.from({ length: count }, () => el("canvas", { "aria-hidden": "true" }));
  // Paper gets a picture: browsers print a canvas of thousands of strokes empty.
  const picture = el("img", { class: "paper-picture", alt: "" });
  box.append(...canvases, picture);
  const svg = d3.select(box).append("svg");
  const contexts = canvases.map((canvas) => canvas.getContext("2d"));
  const size = { width: 0, height: 0, sharp: 1 };
  const fit = () => {
    const width = printing ? 690 : Math.max(280, Math.round(box.clientWidth));
    const height = Math.round(ratio(width));
    const sharp = Math.max(1, window.devicePixelRatio || 1) * (printing ? 2 : 1);
    for (const canvas of canvases) {
      canvas.width = Math.round(width * sharp);
      canvas.height = Math.round(height * sharp);
      canvas.style.aspectRatio = `${width} / ${height}`;
    }
    for (const context of contexts) context.setTransform(sharp, 0, 0, sharp, 0, 0);
    svg.attr("viewBox", `0 0 ${width} ${height}`);
    box.style.height = height + "px";
    Object.assign(size, { width, height, sharp });
    draw();
  };
  const fitPaper = () => {
    fit();
    contexts[0].setTransform(1, 0, 0, 1, 0, 0);
    for (const canvas of canvases.slice(1)) contexts[0].drawImage(canvas, 0, 0);
    picture.src = canvases[0].toDataURL("image/png");
  };
  let last = 0;
  new ResizeObserver(() => {
    if (Math.abs(box.clientWidth - last) < 1 || printing) return;
    last = box.clientWidth;
    fit();
  }).observe(box);
  return { canvases, contexts, svg, size, fit, fitPaper };
}

/**
 * Many small signs at once, written as pixels: tens of thousands take a few milliseconds, where a call for each
 * takes tens. Signs have a colour "#rrggbb" and a strength from 0 to 1 that grows where they lie on one another.
 */
function stamps(context, { width, height, sharp }) {
  const across = Math.round(width * sharp), up = Math.round(height * sharp);
  const image = context.createImageData(across, up);
  const pixels = new Uint32Array(image.data.buffer);
  const thin = Math.max(1, Math.round(sharp)), dot = Math.round(2 * sharp), arm = Math.round(2 * sharp);
  let colour = 0, strength = 0;
  const block = (left, top, wide, high) => {
    for (let y = Math.max(0, top); y < top + high && y < up; y++) {
      for (let i = y * across + Math.max(0, left); i < y * across + Math.min(across, left + wide); i++) {
        const before = pixels[i] >>> 24;
        pixels[i] = colour | ((before + strength * (255 - before)) << 24);
      }
    }
  };
  return {
    use: (hex, share) => {
      const [red, green, blue] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));
      colour = (blue << 16) | (green << 8) | red;
      strength = share;
    },
    square: (x, y) => block(Math.round(x * sharp - dot / 2), Math.round(y * sharp - dot / 2), dot, dot),
    cross: (x, y) => {
      const [left, top] = [Math.round(x * sharp - thin / 2), Math.round(y * sharp - thin / 2)];
      block(left - arm, top, 2 * arm + thin, thin);
      block(left, top - arm, thin, arm);
      block(left, top + thin, thin, arm);
    },
    show: () => context.putImageData(image, 0, 0),
  };
}

/** A scale of a column over the bounds `low` and `high` of the file's unit; it takes values as they are shown. */
function scaleOf(column, [low, high], range, log = false) {
  const { factor } = shownUnit(column.unit);
  return (log ? d3.scaleLog : d3.scaleLinear)([low * factor, high * factor], range);
}

/** Round values along a scale, about so many, and the words for each. */
function marksOf(scale, about) {
  let values = scale.ticks(about);
  if (scale.base && values.length > about + 2) {
    const leads = (...digits) => values.filter((value) => digits.includes(Number(value.toExponential(0)[0])));
    values = [leads(1, 2, 5), leads(1, 3), leads(1)].find((list) => list.length <= about + 2) || leads(1);
  }
  const step = values.length > 1 ? Math.abs(values[1] - values[0]) : Math.abs(values[0]) || 1;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const most = Math.max(...values.map(Math.abs), 0);
  const plain = decimals <= 5 && most < 1e7;
  const words = scale.base || !plain ? (value) => (plain ? grouped(String(Number(value.toPrecision(6)))) : figure(value, 2)) : (value) => fixed(value, decimals);
  return { values, words };
}

/** Least and greatest finite value of a column over rows; a little room at both ends. */
function span(values, rows, room = 0.05) {
  let low = Infinity, high = -Infinity;
  for (const row of rows) {
    const value = values[row];
    if (!Number.isFinite(value)) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (low > high) return [0, 1];
  const width = high - low || Math.abs(low) * 0.2 || 1;
  return [low - room * width, high + room * width];
}

/** Bounds that hold what must be seen, and of a wide cloud of rows all but its far ends. */
function wideSpan(values, must, cloud, room = 0.05) {
  const [low, high] = span(values, must, room);
  const sorted = Float64Array.from(cloud, (row) => values[row]).filter(Number.isFinite).sort();
  if (!sorted.length) return [low, high];
  return [Math.min(low, d3.quantileSorted(sorted, 0.005)), Math.max(high, d3.quantileSorted(sorted, 0.995))];
}

/** Shade of a share from 0 to 1: four inks of steadily changing lightness, in 64 steps. */
function shades(colours) {
  const stops = [colours.shade0, colours.shade1, colours.shade2, colours.shade3].map((hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16)));
  const table = Array.from({ length: 64 }, (_, i) => {
    const at = (i / 63) * 3, k = Math.min(2, Math.floor(at)), t = at - k;
    return "rgb(" + stops[k].map((a, j) => Math.round(a + t * (stops[k + 1][j] - a))).join(",") + ")";
  });
  return (share) => table[Math.max(0, Math.min(63, Math.round(share * 63)))] || table[0];
}

/** A column's name with its unit as shown. */
const label = (column) => column.name + (column.unit ? " in " + unitWords(column.unit) : "");

/** A column's value of a row with its unit, as shown. */
const valueWords = (column, row) => withUnit(column.values[row], column.unit);

/** A name that fits a plot's edge. */
const brief = (text, most) => (text.length > most ? text.slice(0, Math.max(1, most - 1)) + "…" : text);

/** Rows by what they are, worked out once. */
const everyRow = Array.from(designs.keys());
const feasibleRows = everyRow.filter((row) => violation[row] === 0);
