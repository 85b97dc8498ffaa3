// What the reader has chosen, and who is told when it changes.

const SLOTS = ["A", "B", "C", "D", "E"];

const state = {
  /** Columns across, up, as shade and as size; the last two may be none. */
  x: null, y: null, shade: null, size: null,
  logX: false, logY: false,
  range: "front",
  rows: "candidates",
  figures: "values",
  sort: { column: null, down: false },
  /** The reader's own limits: column -> { least, most }, in the unit of the file. */
  limits: new Map(),
  /** Rows marked in the plot. */
  marked: new Set(),
  /** Picks of the meeting: design -> remark. */
  picks: new Map(),
  hover: -1,
  /** Rows whose sheets are open, by slot; -1 is an empty slot. */
  open: SLOTS.map(() => -1),
  /** Whether a handle is being dragged, so that slow views may wait for its end. */
  live: false,
};

startUnits(columns.map((column) => column.unit));

const within = new Uint8Array(designs.length);
const isMarked = new Uint8Array(designs.length);
const listeners = [];
const waiting = new Set();

/** Calls `listener` after every change, with its kind: "limits", "view", "hover", "open", "marked", "picks", "units". */
const onChange = (listener) => listeners.push(listener);
const changed = (kind) => { for (const listener of listeners) listener(kind); };

/** As `changed`, once before the next picture however often it is called. */
function changedSoon(kind) {
  if (!waiting.size) requestAnimationFrame(() => {
    const kinds = [...waiting];
    waiting.clear();
    kinds.forEach(changed);
  });
  waiting.add(kind);
}

function say(text) {
  document.getElementById("status").textContent = text;
}

/** Which rows are within every limit; a value that is missing is outside. */
function judge() {
  within.fill(1);
  for (const [index, { least = -Infinity, most = Infinity }] of state.limits) {
    const { values } = columns[index];
    for (let row = 0; row < within.length; row++) if (!(values[row] >= least && values[row] <= most)) within[row] = 0;
  }
}

/** Limits a column, or frees it where both ends are undefined. While `live`, views are told once a picture. */
function setLimit(index, least, most, { quiet = false, live = false } = {}) {
  if (least === undefined && most === undefined) state.limits.delete(index);
  else state.limits.set(index, { least, most });
  state.live = live;
  judge();
  if (quiet) return;
  if (live) return changedSoon("limits");
  changed("limits");
  sayLimits();
}

function clearLimits() {
  state.limits.clear();
  judge();
  changed("limits");
  sayLimits();
}

const countWithin = (rows) => rows.reduce((sum, row) => sum + within[row], 0);

function sayLimits() {
  say(`${grouped(String(countWithin(candidates)))} of ${grouped(String(candidates.length))} candidates within the limits`);
}

/** Marks these rows and no others; `quiet` says nothing aloud. */
function setMarked(rows, quiet = false) {
  state.marked = new Set(rows);
  isMarked.fill(0);
  for (const row of state.marked) isMarked[row] = 1;
  if (quiet) return changedSoon("marked");
  changed("marked");
  say(state.marked.size ? `${grouped(String(state.marked.size))} ${state.marked.size === 1 ? "design" : "designs"} marked` : "No design is marked");
}

function setHover(row) {
  if (row === state.hover) return;
  state.hover = row;
  changed("hover");
}

/** Opens the sheet of a row in a slot: 0 is A. */
function openSheet(row, slot = 0) {
  state.open[slot] = row;
  changed("open");
  say(`${rowWords(row)}: sheet ${SLOTS[slot]} open`);
}

/** Opens the sheet of a row beside those that are open, in place of the last where all slots are full. */
function openBeside(row) {
  const known = state.open.indexOf(row);
  const free = state.open.indexOf(-1, 1);
  openSheet(row, known >= 0 ? known : free > 0 ? free : SLOTS.length - 1);
}

function closeSheet(slot) {
  state.open[slot] = -1;
  changed("open");
  say(`Sheet ${SLOTS[slot]} closed`);
}
