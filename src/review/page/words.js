// Numbers and elements: what every other file writes with.

const NONE = "–";
const SPACE = "\u202f";

/** An element with attributes and children; text stays text. */
function el(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...children.filter((child) => child !== undefined && child !== ""));
  return node;
}

/** Text from the study, kept apart from the writing direction around it. */
const name = (text) => el("bdi", {}, text);

/** Digits in groups of three, a true minus sign. */
function grouped(text) {
  const [whole, part] = text.replace("-", "").split(".");
  const groups = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, SPACE) : whole;
  return (text.startsWith("-") ? "−" : "") + groups + (part ? "." + part : "");
}

/** A number with fixed decimals; a dash where there is none. */
function fixed(value, decimals) {
  if (!Number.isFinite(value)) return NONE;
  const text = value.toFixed(decimals);
  return grouped(Number(text) === 0 ? text.replace("-", "") : text);
}

/** A number with so many significant digits. */
function figure(value, digits = 4) {
  if (!Number.isFinite(value)) return NONE;
  if (value === 0) return "0";
  const exponent = Math.floor(Math.log10(Math.abs(value)));
  if (exponent < -5 || exponent > 11) return value.toExponential(digits - 1).replace("-", "−");
  return fixed(value, Math.max(0, Math.min(10, digits - 1 - exponent)));
}

/** A figure for a sheet: short where it is a short number, else four digits. */
function tidy(value) {
  const short = String(Number(value.toFixed(3)));
  return Math.abs(value - Number(short)) < 1e-9 && short.replace(/[-.]/g, "").length <= 4 ? grouped(short) : figure(value);
}

/** Digits a person typed: point or comma, spaces, any minus sign. Empty is undefined, nonsense NaN. */
function typed(text) {
  const plain = text.replace(/[\s\u202f]/g, "").replace("−", "-").replace(",", ".");
  return plain === "" ? undefined : Number(plain);
}

/** A value with its unit, both as shown. */
function withUnit(value, unit) {
  if (!Number.isFinite(value)) return NONE;
  const shown = unitWords(unit);
  return tidy(inUnits(value, unit)) + (shown ? " " + shown : "");
}

/**
 * Figures in one column whose points are to stand in line: each is filled up with spaces as wide as a digit
 * (U+2007) and a point (U+2008). What is no figure stays, and words after a figure stay after it.
 */
function aligned(figures) {
  const parts = figures.map((text) => text.match(/^([^\d]*[\d\u202f]+)(?:\.(\d+))?(.*)$/su));
  const most = Math.max(0, ...parts.map((part) => (part && part[2] ? part[2].length : 0)));
  return figures.map((text, i) => {
    if (!parts[i]) return text;
    const [, whole, decimals, rest] = parts[i];
    const fill = "\u2007".repeat(most - (decimals ? decimals.length : 0));
    return whole + (decimals ? "." + decimals : most ? "\u2008" : "") + fill + rest;
  });
}

/** Decimals that show four digits of the largest value of a list. */
function decimalsFor(values) {
  let most = 0;
  for (const value of values) if (Number.isFinite(value)) most = Math.max(most, Math.abs(value));
  return most === 0 ? 0 : Math.max(0, Math.min(6, 3 - Math.floor(Math.log10(most))));
}

/**
 * Decimals of a column as shown, from those its values have in the unit of the file: four digits of the largest;
 * a dimension (`exact`) keeps what it has, up to the four that shops read in inches.
 */
function decimalsIn(values, unit, decimals, exact) {
  const { factor, digits } = shownUnit(unit);
  if (factor === 1) return decimals;
  const shown = decimalsFor(values.map((value) => value * factor));
  return exact ? Math.min(4, Math.max(shown, decimals + digits)) : shown;
}

/**
 * How a value stands to the baseline's: text, and "better", "worse" or "" by the sense "least" or "most".
 */
function difference(value, base, sense) {
  if (!Number.isFinite(value) || !Number.isFinite(base)) return { text: NONE, word: "" };
  const change = value - base;
  const share = change / Math.abs(base);
  if (Math.abs(change) <= 1e-9 * Math.abs(base) || change === 0) return { text: "=", word: "" };
  const sign = change > 0 ? "+" : "−";
  const percent = Math.abs(100 * share);
  const text = base === 0 || percent >= 1000
    ? sign + figure(Math.abs(change), 3)
    : percent < 0.05 ? sign + "<0.1 %" : sign + fixed(percent, 1) + " %";
  if (!sense) return { text, word: "" };
  return { text, word: (change > 0) === (sense === "most") ? "better" : "worse" };
}

/** A difference as an element: sign and word, the colour only beside them. */
function differenceNode(value, base, sense) {
  const { text, word } = difference(value, base, sense);
  return el("span", { class: "difference " + word }, text, word && el("i", {}, " " + word));
}
