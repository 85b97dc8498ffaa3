// The figures in the file, unpacked: rows of designs, columns of values.

const file = JSON.parse(document.getElementById("run-data").textContent);

/** Words of the study without the characters that turn the direction of what follows them. */
const clean = (text) => text.replace(/[\u202a-\u202e\u2066-\u2069]/g, "");
for (const key of ["study", "title", "run", "date", "tool"]) file[key] = clean(file[key]);
file.words = file.words.map(clean);

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
  return { index, name: clean(columnName), unit: clean(unit), role, values, sense: goal ? (goal[1] ? "most" : "least") : "" };
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

/** Sheets by design: see sheets.rs for the order of the fields. */
const word = (index) => file.words[index];
const namedValues = (list) => list.map(([n, value, unit]) => ({ name: word(n), value: number(value), unit: word(unit) }));

function readSheet(raw) {
  const [design, variables, derived, measures, objectives, constraints, sections, loads, plan, mass, rules, remarks, proof, walls, screws] = raw;
  return {
    design,
    variables: namedValues(variables),
    derived: namedValues(derived),
    measures: namedValues(measures),
    objectives: namedValues(objectives),
    constraints: constraints.map(([n, text, value, relation, limit, unit, met, margin]) => ({
      name: word(n), text: word(text), value: number(value), relation: word(relation), limit: number(limit),
      unit: word(unit), met: met === 1, margin: number(margin),
    })),
    sections: sections.map(([n, values, outside]) => ({ name: word(n), values: namedValues(values), outside: word(outside) })),
    loads: loads.map(([n, words, stiffness, displacement, at, stress, place, safety, opening, peak, fatigue]) => ({
      name: word(n), words: word(words), stiffness: stiffness && { value: number(stiffness[0]), unit: word(stiffness[1]) },
      displacement: number(displacement), at: number(at), stress: number(stress), place: word(place), safety: number(safety),
      peak: peak && { stress: number(peak[0]), place: word(peak[1]) },
      fatigue: fatigue && { safety: number(fatigue[0]), words: word(fatigue[1]) },
      opening: opening && { force: number(opening[0]), energy: number(opening[1]), fatigue: number(opening[2]), curve: opening[3] },
    })),
    operations: plan[0].map(([n, feature, tool, rpm, feed, depth, width, count, length, cut, move, fixedTime, limit, cost]) => ({
      name: word(n), feature: word(feature), tool: word(tool), rpm: number(rpm), feed: number(feed), depth: number(depth),
      width: number(width), count, length: number(length), cut: number(cut), move: number(move), fixed: number(fixedTime),
      limit: word(limit), cost: number(cost),
    })),
    toolChanges: plan[1],
    cycle: number(plan[2]),
    simulated: number(plan[3]),
    making: plan[4] && readMaking(plan[4]),
    mass: mass.map(([n, volume, grams]) => ({ name: word(n), volume: number(volume), grams: number(grams) })),
    rules: rules.map(([n, value, place]) => ({ name: word(n), value: number(value), place: word(place) })),
    remarks: remarks.map(word),
    proof: proof && readProof(proof),
    walls: walls.map(([n, height, thickness, slenderness, force, cut, press, held]) => ({
      name: word(n), height: number(height), thickness: number(thickness), slenderness: number(slenderness), force: number(force),
      cut: number(cut), press: number(press), held: word(held),
    })),
    screws: screws.map(([n, clamp, bearing, safety, cone, coneRoom, headRoom, stiffness]) => ({
      name: word(n), clamp: number(clamp), bearing: number(bearing), safety: number(safety), cone: number(cone),
      coneRoom: number(coneRoom), headRoom: number(headRoom), stiffness: number(stiffness),
    })),
  };
}

function readMaking([currency, cost, billet, features, tolerances]) {
  const [stock, machine, labour, tools, setup, total] = cost.map(number);
  const [x, y, z, grams, chips, bench] = billet.map(number);
  return {
    currency: word(currency), cost: { stock, machine, labour, tools, setup, total }, billet: { x, y, z, grams, chips }, bench,
    features: features.map(([n, time, money, removed]) => ({ name: word(n), time: number(time), money: number(money), removed: number(removed) })),
    tolerances: tolerances.map(([n, size, plusMinus, basis]) => ({ name: word(n), size: number(size), plusMinus: number(plusMinus), basis: word(basis) })),
  };
}

function readProof([rows, peaks, modes, meshes, remarks]) {
  return {
    rows: rows.map(([n, unit, ...values]) => {
      const [beam, searched, coarser, finer, solid, open] = values.map(number);
      return { name: word(n), unit: word(unit), beam, searched, coarser, finer, solid, open };
    }),
    peaks: peaks.map(([load, coarser, finer, place]) => ({ load: word(load), coarser: number(coarser), finer: number(finer), place: word(place) })),
    modes: modes.map(([hz, kind, share]) => ({ hz: number(hz), kind: word(kind), share: number(share) })),
    meshes: word(meshes),
    remarks: remarks.map(word),
  };
}

const rawSheets = new Map(file.sheets.map((raw) => [raw[0], raw]));
rawSheets.set(0, file.baseline);
const hasSheet = (row) => rawSheets.has(designs[row]);
const sheetOf = (row) => readSheet(rawSheets.get(designs[row]));

/** What a row is, in words. */
function rowWords(row) {
  const number = row === 0 ? "Baseline (design 0)" : "Design " + grouped(String(designs[row]));
  if (isCandidate[row] && file.hasFront) return number + ", on the front";
  if (violation[row] > 0) return number + ", breaks a constraint by " + fixed(100 * violation[row], 1) + " %";
  if (violation[row] === 0) return number + (file.hasFront ? ", dominated" : "");
  return number + ", could not be judged";
}
