// Checks how the page takes fields along the path apart, without a browser: node field.mjs
//
// Places by plane geometry: an arc of radius r about its centre, a straight line.
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const folder = join(dirname(fileURLToPath(import.meta.url)), "../../src/review/page");
const source = readFileSync(join(folder, "field.js"), "utf8");
const { poseAt, readField } = new Function(`"use strict"; ${source}; return { poseAt, readField };`)();

let passed = 0;
const failures = [];
function check(what, holds) {
  if (holds) passed++;
  else { failures.push(what); console.error(`failed: ${what}`); }
}
const near = (a, b) => Math.abs(a - b) < 1e-9;
const at = (pose, x, y, heading) => near(pose.x, x) && near(pose.y, y) && near(pose.heading, heading);

// A ring of 40 mm about the origin from the x axis on, and a line of 30 mm followed by a quarter to the right.
const turn = 2 * Math.PI;
const ring = { closed: true, length: 40 * turn, pieces: [[40, 0, Math.PI / 2, 40 * turn, 1 / 40]] };
for (const angle of [0, 0.7, 3, 6, 7, -1]) {
  const once = ((angle % turn) + turn) % turn;
  check(`ring at ${angle}`, at(poseAt(ring, 40 * angle), 40 * Math.cos(angle), 40 * Math.sin(angle), Math.PI / 2 + once));
}
const bent = { closed: false, length: 30 + 5 * Math.PI, pieces: [[0, 0, 0, 30, 0], [30, 0, 0, 5 * Math.PI, -0.1]] };
check("on the line", at(poseAt(bent, 12), 12, 0, 0));
check("end of the quarter", at(poseAt(bent, 30 + 5 * Math.PI), 40, -10, -Math.PI / 2));
check("before the start", at(poseAt(bent, -2), -2, 0, 0));

const field = readField({
  s: [0, 1200, 1800],
  move: { unit: 0.5, curves: [[0, 2, -3], [0, 0, 0], [4, 0, 0]] },
  turn: { unit: 0.001, curves: [[1, 1, 1], [0, 0, 0], [0, 0, 0]] },
  strips: ["floor", "rib 1"],
  stress: { unit: 2, curves: [[5, -1, 0], [null, 3, null]] },
}, bent);
check("stations", JSON.stringify(field.s) === "[0,12,30]");
check("places", JSON.stringify(field.at) === "[[0,0,0],[12,0,0],[30,0,0]]");
check("movements", JSON.stringify(field.move) === "[[0,0,2],[1,0,2],[-0.5,0,2]]");
check("turns", near(field.turn[2][0], 0.003));
check("stresses, none where a strip does not stand", JSON.stringify(field.stress) === "[[10,null],[8,6],[8,null]]");
check("a mode has no stress", readField({ s: [0], move: { unit: 1, curves: [[0], [0], [1]] }, turn: { unit: 1, curves: [[0], [0], [0]] } }, bent).stress === undefined);

console.log(`${passed} checks passed, ${failures.length} failed`);
process.exit(failures.length ? 1 : 0);
