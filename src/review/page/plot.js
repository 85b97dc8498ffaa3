// What both canvas plots need: a sharp canvas that follows its box, the page's colours, round axis values.

let printing = false;

/** The page's colours as they are now; always the light ones on paper. */
function ink() {
  const style = getComputedStyle(document.documentElement);
  const get = (key) => style.getPropertyValue((printing ? "--print-" : "--") + key).trim() || style.getPropertyValue("--" + key).trim();
  return Object.fromEntries(
    ["paper", "ink", "quiet", "rule", "faint", "broken", "front", "base", "pick", "shade0", "shade1", "shade2", "shade3"].map((key) => [key, get(key)]),
  );
}

const FONT = '12px "Helvetica Neue", Arial, "Liberation Sans", sans-serif';

/** Layers of canvas over one another in `box`; `draw()` is called when the size changes. */
function layers(box, count, ratio, draw) {
  const canvases = Array.from({ length: count }, (_, i) => el("canvas", i ? { "aria-hidden": "true" } : {}));
  box.append(...canvases);
  const contexts = canvases.map((canvas) => canvas.getContext("2d"));
  const size = { width: 0, height: 0 };
  const fit = () => {
    const width = printing ? 690 : Math.max(280, Math.round(box.clientWidth));
    const height = Math.round(ratio(width));
    const scale = Math.max(1, window.devicePixelRatio || 1) * (printing ? 2 : 1);
    for (const canvas of canvases) {
      canvas.width = width * scale;
      canvas.height = height * scale;
      canvas.style.aspectRatio = `${width} / ${height}`;
    }
    for (const context of contexts) {
      context.setTransform(scale, 0, 0, scale, 0, 0);
      context.font = FONT;
    }
    box.style.height = height + "px";
    Object.assign(size, { width, height });
    draw();
  };
  // Paper gets a picture: browsers print a canvas of thousands of strokes empty.
  const picture = el("img", { class: "paper-picture", alt: "" });
  box.append(picture);
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
  return { canvases, contexts, size, fit, fitPaper };
}

/** Round values between two bounds. */
function ticks(low, high, about = 5) {
  const rough = (high - low) / about;
  if (!(rough > 0) || !Number.isFinite(rough)) return [];
  const power = Math.pow(10, Math.floor(Math.log10(rough)));
  const step = power * [1, 2, 5, 10].find((lead) => lead * power >= rough * 0.999);
  const out = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step && out.length < 30; k++) out.push(k * step);
  out.decimals = Math.max(0, Math.min(8, -Math.floor(Math.log10(step) + 1e-9)));
  return out;
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

/** Shade of a share from 0 to 1: four inks of steadily changing lightness. */
function shades(colours) {
  const stops = [colours.shade0, colours.shade1, colours.shade2, colours.shade3].map((hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16)));
  const table = Array.from({ length: 64 }, (_, i) => {
    const at = (i / 63) * 3, k = Math.min(2, Math.floor(at)), t = at - k;
    return "rgb(" + stops[k].map((a, j) => Math.round(a + t * (stops[k + 1][j] - a))).join(",") + ")";
  });
  return (share) => table[Math.max(0, Math.min(63, Math.round(share * 63)))] || table[0];
}

const label = (column) => column.name + (column.unit ? " in " + column.unit : "");
