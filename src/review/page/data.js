// The figures in the file, unpacked: rows of designs, columns of values.

/** Words of the study without the characters that turn the direction of what follows them. */
const clean = (text) => text.replace(/[\u202a-\u202e\u2066-\u2069]/g, "");

/** A packed block of the file: base64, deflated, JSON. */
async function unpacked(id) {
  const inflated = new Blob([bytes(document.getElementById(id).textContent)]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  return JSON.parse(clean(await new Response(inflated).text()));
}

const [file, sheetData, drawingData] = await Promise.all(["run-data", "sheet-data", "drawing-data"].map(unpacked));

const number = (value) => (value === null ? NaN : value === "inf" ? Infinity : value === "-inf" ? -Infinity : value);

function bytes(text) {
  const raw = atob(text);
  const out = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) out[i] = raw.charCodeAt(i);
  return out;
}

/** One column: the exact rows, then the cloud. */
function unpack({ exact, cloud }) {
  const head = new Float32Array(bytes(exact).buffer);
  const data = bytes(cloud.data);
  const codes = cloud.list ? data : new Uint16Array(data.buffer);
  const values = new Float64Array(head.length + codes.length);
  // Single precision shown with seven digits: 3.2 stays 3.2.
  head.forEach((value, i) => { values[i] = Number(value.toPrecision(7)); });
  const list = cloud.list && cloud.list.map(number);
  const low = number(cloud.low), high = number(cloud.high);
  const value = (code) => {
    if (code > 65532) return [-Infinity, Infinity, NaN][code - 65533];
    const share = code / 65532;
    return cloud.log ? low * Math.pow(high / low, share) : low + (high - low) * share;
  };
  codes.forEach((code, i) => { values[head.length + i] = list ? list[code] : value(code); });
  return values;
}

const exactDesigns = new Uint32Array(bytes(file.rows.exact).buffer);
const cloudDesigns = new Uint32Array(bytes(file.rows.cloud).buffer);

/** Number of the design in each row; row 0 is the baseline. */
const designs = new Uint32Array([...exactDesigns, ...cloudDesigns]);
const rowOf = new Map();
designs.forEach((design, row) => rowOf.set(design, row));

const violation = unpack(file.rows.columns[file.columns.length]);
const columns = file.columns.map(([columnName, unit, role], index) => {
  const goal = file.goals.find(([column]) => column === index);
  const values = unpack(file.rows.columns[index]);
  return { index, name: columnName, unit, role, values, sense: goal ? (goal[1] ? "most" : "least") : "" };
});
const goals = file.goals.map(([column]) => columns[column]);
const candidates = file.candidates.map((design) => rowOf.get(design));
const isCandidate = new Uint8Array(designs.length);
for (const row of candidates) isCandidate[row] = 1;

for (const column of columns) {
  const shown = candidates.concat(0).map((row) => column.values[row]);
  const short = (value) => String(Number(value.toFixed(3))).split(".")[1] || "";
  column.decimals = column.role === "variable"
    ? Math.max(...shown.map((value) => (Number.isFinite(value) ? short(value).length : 0)), 0)
    : decimalsFor(shown);
  column.varies = varies(column.values);
}

function varies(values) {
  for (const value of values) if (!Object.is(value, values[0])) return true;
  return false;
}

/** Columns in the order people want them: objectives, variables, the rest. */
const byRank = [
  ...goals,
  ...columns.filter((c) => !goals.includes(c) && c.role === "variable"),
  ...columns.filter((c) => !goals.includes(c) && c.role !== "variable" && c.role !== "derived"),
  ...columns.filter((c) => !goals.includes(c) && c.role === "derived"),
];

/** Sheets by design, as sheets.rs wrote them; a figure that is not finite is null or a word, never a number. */
const sheetsByDesign = new Map(sheetData.sheets.map((sheet) => [sheet.design, sheet]));
const toldByDesign = new Map(sheetData.told.map((told) => [told.design, told]));
const hasSheet = (row) => sheetsByDesign.has(designs[row]);
const sheetOf = (row) => sheetsByDesign.get(designs[row]);

/** What a row is, in words. */
function rowWords(row) {
  const number = row === 0 ? "Baseline (design 0)" : "Design " + grouped(String(designs[row]));
  if (isCandidate[row] && file.hasFront) return number + ", on the front";
  if (violation[row] > 0) return number + ", breaks a constraint by " + fixed(100 * violation[row], 1) + " %";
  if (violation[row] === 0) return number + (file.hasFront ? ", dominated" : "");
  return number + ", could not be judged";
}
