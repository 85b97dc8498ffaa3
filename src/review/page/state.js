// What the reader has chosen, and who is told when it changes.

const state = {
  x: null, y: null, shade: null, size: null,
  range: "front",
  rows: "candidates",
  figures: "values",
  everyColumn: false,
  sort: { column: null, down: false },
  limits: new Map(),
  hover: -1,
  open: [-1, -1, -1, -1, -1],
  picks: new Map(),
  marked: new Set(),
};

const within = new Uint8Array(designs.length);
const listeners = [];
const SLOTS = ["A", "B", "C", "D", "E"];

/** Calls `listener` after every change, with the kind: "limits", "view", "hover" or "open". */
const onChange = (listener) => listeners.push(listener);
const changed = (kind) => { for (const listener of listeners) listener(kind); };

function say(text) {
  document.getElementById("status").textContent = text;
}

/** Which rows are within every limit; a value that is missing is outside. */
function judge() {
  within.fill(1);
  for (const [index, { least, most }] of state.limits) {
    const { values } = columns[index];
    for (let row = 0; row < within.length; row++) {
      const value = values[row];
      if (Number.isNaN(value) || (least !== undefined && value < least) || (most !== undefined && value > most)) within[row] = 0;
    }
  }
}

function setLimit(index, least, most, quiet) {
  if (least === undefined && most === undefined) state.limits.delete(index);
  else state.limits.set(index, { least, most });
  judge();
  if (!quiet) {
    changed("limits");
    sayLimits();
  }
}

function clearLimits() {
  state.limits.clear();
  judge();
  changed("limits");
  sayLimits();
}

function sayLimits() {
  const left = candidates.filter((row) => within[row]).length;
  say(`${grouped(String(left))} of ${grouped(String(candidates.length))} candidates within the limits`);
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

/** Opens a sheet beside those that are open: in the first free slot after A, else in the last. */
function openBeside(row) {
  const free = state.open.findIndex((open, slot) => slot > 0 && open < 0);
  openSheet(row, free < 0 ? state.open.length - 1 : free);
}

function closeSheet(slot) {
  state.open[slot] = -1;
  changed("open");
  say(`Sheet ${SLOTS[slot]} closed`);
}
