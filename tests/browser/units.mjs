// Checks the page's units without a browser: node units.mjs
//
// Factors: NIST Special Publication 811 (2008), appendix B.8 and B.9; values with all their digits are exact there.
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const folder = join(dirname(fileURLToPath(import.meta.url)), "../../src/review/page");
const source = ["words.js", "units.js"].map((file) => readFileSync(join(folder, file), "utf8")).join("");
const page = new Function(`"use strict"; const sessionStorage = undefined; ${source}; return { shownUnit, inUnits, fromUnits, unitWords, setUnits, startUnits, aligned, decimalsIn, withUnit, used: () => unitSystem };`)();

let passed = 0;
const failures = [];
function check(what, holds) {
  if (holds) passed++;
  else { failures.push(what); console.error(`failed: ${what}`); }
}
/** Equal to so many digits of the published figure. */
const near = (value, wanted, share = 1e-9) => Math.abs(value - wanted) <= share * Math.abs(wanted);

page.setUnits("in");
// Metric unit, one of it in inch units times the published factor of the inch unit gives 1.
const published = [
  ["mm", "in", 25.4, "inch (in) = 2.54 E-02 m, exact"],
  ["m", "ft", 0.3048, "foot (ft) = 3.048 E-01 m, exact"],
  ["mm^2", "in²", 645.16, "square inch = 6.4516 E-04 m2, exact"],
  ["mm^3", "in³", 16387.064, "cubic inch = 1.638706 E-05 m3"],
  ["mm^4", "in⁴", 416231.4, "inch to the fourth power = 4.162314 E-07 m4"],
  ["g", "oz", 28.34952, "ounce, avoirdupois = 2.834952 E-02 kg"],
  ["kg", "lb", 0.45359237, "pound, avoirdupois = 4.535924 E-01 kg; 0.453 592 37 exact"],
  ["N", "lbf", 4.4482216152605, "pound-force = 4.448 221 615 260 5 N, exact"],
  ["N/mm", "lbf/in", 0.1751268, "pound-force per inch = 1.751268 E+02 N/m"],
  ["N mm", "lbf in", 112.9848, "pound-force inch = 1.129848 E-01 N m"],
  ["MPa", "ksi", 6.894757, "ksi = 6.894757 E+06 Pa"],
  ["kPa", "psi", 6.894757, "psi = 6.894757 E+03 Pa"],
  ["mm/min", "in/min", 25.4, "inch, exact; minutes stay"],
  ["kg/m^3", "lb/ft³", 16.01846, "pound per cubic foot = 1.601846 E+01 kg/m3"],
  ["J", "ft lbf", 1.355818, "foot pound-force = 1.355818 E+00 J"],
];
for (const [unit, words, size, source] of published) {
  check(`${unit} in ${words}: ${source}`, page.unitWords(unit) === words && near(page.inUnits(size, unit), 1, 5e-7));
}
for (const [unit, size] of [["mm", 25.4], ["N", 4.4482216152605], ["kg", 0.45359237]]) {
  check(`${unit}: exact to the last digits`, near(page.inUnits(size, unit), 1, 1e-15));
}
// By hand: 1 N/(mm rad) = (1 / 4.4482216152605) lbf x 25.4 per inch and radian.
check("factors in parentheses are all below", near(page.inUnits(1, "N/(mm rad)"), 25.4 / 4.4482216152605) && page.unitWords("N/(mm rad)") === "lbf/(in rad)");
check("a negative power is one below", near(page.inUnits(1, "mm^-1"), 25.4) && near(page.inUnits(1, "1/mm"), 25.4));
check("after one factor below, the next is above again", near(page.inUnits(1, "N/s mm"), 1 / 4.4482216152605 / 25.4));
for (const unit of ["", "s", "Hz", "deg", "°", "%", "EUR", "rev/min", "furlong", "<b>", "/", "(("]) {
  check(`\`${unit}\` stays`, page.shownUnit(unit).factor === 1 && page.unitWords(unit) === unit);
}
check("money for a gram turns with the gram", near(page.inUnits(1, "EUR/g"), 28.349523125) && page.unitWords("EUR/g") === "EUR/oz");
check("there and back", near(page.fromUnits(page.inUnits(3.2, "N/mm"), "N/mm"), 3.2, 1e-15));
check("a length has one decimal more in inches, as ASME Y14.5 (2018) dimensions have", page.shownUnit("mm").digits === 1);
check("a value with its unit", page.withUnit(25.4, "mm") === "1 in" && page.withUnit(NaN, "mm") === "–");
check("drill sizes keep a ten-thousandth of an inch", page.decimalsIn([2.5, 2.7], "mm", 1, true) === 4);

page.setUnits("mm");
check("metric stays metric", page.shownUnit("N/mm").factor === 1 && page.unitWords("mm^3") === "mm³");
for (const [unit, words, size] of [["in", "mm", 25.4], ["lbf/in", "N/mm", 0.1751268], ["ksi", "MPa", 6.894757], ["oz", "g", 28.34952]]) {
  check(`a study in inches can be read in millimetres: ${unit}`, page.unitWords(unit) === words && near(page.inUnits(1, unit), size, 5e-7));
}
page.startUnits(["in", "in", "lbf"]);
check("a study in inches starts in inches", page.used() === "in");
page.startUnits(["mm", "in", "mm"]);
check("one in millimetres starts in millimetres", page.used() === "mm");

// Figures one over the other: U+2007 is as wide as a digit, U+2008 as a full stop (The Unicode Standard 16.0, table 6-2).
const set = page.aligned(["1.25", "300", "–", "4.5 %"]);
check("points stand in line", set.join("|") === "1.25|300\u2008\u2007\u2007|–|4.5\u2007 %");

console.log(`units: ${passed} passed, ${failures.length} failed`);
process.exit(failures.length ? 1 : 0);
