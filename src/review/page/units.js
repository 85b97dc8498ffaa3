// Millimetre or inch: every figure with a unit passes through here on its way to the reader.
//
// Factors are exact: inch, foot, pound and pound-force as NIST SP 811 (2008), appendix B defines them,
// the others made of them.

const INCH = 25.4; // mm
const POUND = 453.59237; // g
const POUND_FORCE = 4.4482216152605; // N
const PSI = (POUND_FORCE / (INCH * INCH)) * 1e3; // kPa

/** Metric unit, its fellow in inches, and how many of the metric one make one of the other. */
const PAIRS = [
  ["mm", "in", INCH], ["cm", "in", INCH / 10], ["m", "ft", (12 * INCH) / 1e3], ["um", "thou", INCH], ["µm", "thou", INCH],
  ["g", "oz", POUND / 16], ["kg", "lb", POUND / 1e3], ["mg", "oz", (POUND / 16) * 1e3], ["t", "lb", POUND / 1e6],
  ["N", "lbf", POUND_FORCE], ["kN", "lbf", POUND_FORCE / 1e3], ["mN", "ozf", (POUND_FORCE / 16) * 1e3],
  ["MPa", "ksi", PSI], ["GPa", "ksi", PSI / 1e3], ["kPa", "psi", PSI], ["Pa", "psi", PSI * 1e3],
  ["J", "ft lbf", ((12 * INCH) / 1e3) * POUND_FORCE],
];
const TO_INCH = new Map(PAIRS.map(([metric, inch, size]) => [metric, [inch, 1 / size]]));
const TO_METRIC = new Map([
  ["in", ["mm", INCH]], ["thou", ["µm", INCH]], ["ft", ["m", (12 * INCH) / 1e3]], ["oz", ["g", POUND / 16]], ["lb", ["kg", POUND / 1e3]],
  ["lbf", ["N", POUND_FORCE]], ["ozf", ["N", POUND_FORCE / 16]], ["psi", ["kPa", PSI]], ["ksi", ["MPa", PSI]],
]);

let unitSystem = "mm";
const unitsRead = new Map();

/**
 * A unit as it is shown: `factor` to multiply values by, `unit` in words, and `digits`, how many decimals more
 * (or fewer) a value needs there to say as much. A unit that is not known stays as it is.
 */
function shownUnit(unit) {
  const key = unitSystem + " " + unit;
  if (!unitsRead.has(key)) unitsRead.set(key, readUnit(unit || "", unitSystem === "in" ? TO_INCH : TO_METRIC));
  return unitsRead.get(key);
}

/** Factors of a unit changed one by one: "N mm/rad", "kg/m^3", "N/(mm rad)". */
function readUnit(unit, table) {
  let factor = 1, below = false, inGroup = false, words = "";
  for (const [piece, symbol, , power] of unit.matchAll(/([^\s\d^*·/()²³⁴-]+)(\^?(-?\d+)|[²³⁴])?|./gu)) {
    if (symbol) {
      const [other, size] = table.get(symbol) || [symbol, 1];
      const exponent = power === undefined ? { "²": 2, "³": 3, "⁴": 4 }[piece.at(-1)] || 1 : Number(power);
      factor *= size ** (below ? -exponent : exponent);
      words += other + piece.slice(symbol.length);
      if (!inGroup) below = false;
    } else {
      if (piece === "/") below = true;
      if (piece === "(") inGroup = true;
      if (piece === ")") inGroup = below = false;
      words += piece;
    }
  }
  const raised = words.replace(/\^([2-9])(?!\d)/g, (_, power) => "⁰¹²³⁴⁵⁶⁷⁸⁹"[power]);
  return { factor, unit: raised, digits: Math.round(-Math.log10(factor)) };
}

/** A value of a unit as shown. */
const inUnits = (value, unit) => value * shownUnit(unit).factor;

/** What was shown, back in the unit of the file. */
const fromUnits = (value, unit) => value / shownUnit(unit).factor;

/** A unit in words, as shown. */
const unitWords = (unit) => shownUnit(unit).unit;

/** Changes to "mm" or "in", for this page and the next time it is opened in this window. */
function setUnits(system) {
  unitSystem = system === "in" ? "in" : "mm";
  try { sessionStorage.setItem("units", unitSystem); } catch { /* a page that may keep nothing starts anew */ }
}

/** What to start with: what was chosen in this window, else what most lengths of the study are in. */
function startUnits(units) {
  let kept = null;
  try { kept = sessionStorage.getItem("units"); } catch { /* as above */ }
  const inches = units.filter((unit) => /^(in|thou|ft)\b/.test(unit)).length;
  unitSystem = kept || (inches > units.filter((unit) => /^(mm|cm|m|um|µm)\b/.test(unit)).length ? "in" : "mm");
}

/** The switch of units. */
function unitSwitch(box) {
  const choice = (system, words) => el("label", { class: "choice" },
    el("input", { type: "radio", name: "units", value: system, checked: unitSystem === system, onchange: () => { setUnits(system); changed("units"); say(`Figures in ${words}`); } }), words);
  box.replaceChildren(el("fieldset", { class: "choices" }, el("legend", {}, "Units"), choice("mm", "millimetres"), choice("in", "inches")));
}
