// The list of candidates: sortable, within the limits, linked with the plots.

const PAGE_ROWS = 200;

function table(box) {
  let most = PAGE_ROWS;

  const pools = [
    ["candidates", file.hasFront ? "front" : "least violating", () => candidates],
    ["feasible", "all feasible designs", () => Array.from(designs.keys()).filter((row) => violation[row] === 0)],
    ["all", "all designs on this page", () => Array.from(designs.keys())],
  ];
  const rowsPick = document.getElementById("pick-rows");
  rowsPick.append(...pools.map(([key, text]) => el("option", { value: key }, text)));
  rowsPick.addEventListener("change", () => { state.rows = rowsPick.value; most = PAGE_ROWS; show(true); });
  const figures = document.getElementById("pick-figures");
  figures.addEventListener("change", () => { state.figures = figures.value; show(); });
  const every = document.getElementById("all-columns");
  every.addEventListener("change", () => { state.everyColumn = every.checked; show(); });

  function shownColumns() {
    if (state.everyColumn) return byRank;
    return byRank.filter((c) => goals.includes(c) || (c.role !== "derived" && c.varies)).slice(0, Math.max(16, goals.length));
  }

  /** Rows in the order chosen; what is not a number goes last either way. */
  function sorted(rows) {
    const { column, down } = state.sort;
    const values = column === null ? designs : columns[column].values;
    const sign = down ? -1 : 1;
    return rows.sort((a, b) => {
      const [x, y] = [values[a], values[b]];
      if (Number.isNaN(x) || Number.isNaN(y)) return Number.isNaN(x) - Number.isNaN(y) || a - b;
      return x === y ? a - b : sign * (x < y ? -1 : 1);
    });
  }

  function head(text, unit, column) {
    const own = state.sort.column === column;
    const button = el("button", { type: "button", class: "sort", onclick: () => {
      state.sort = { column, down: own ? !state.sort.down : columns[column]?.sense === "most" };
      show(true);
      box.querySelector("th[aria-sort] button").focus();
    } }, name(text), own ? (state.sort.down ? " ▾" : " ▴") : "");
    return el("th", { scope: "col", "aria-sort": own ? (state.sort.down ? "descending" : "ascending") : undefined },
      button, el("span", { class: "unit" }, unit || "\u00a0"));
  }

  function cell(column, row) {
    if (state.figures === "differences" && row !== 0) return el("td", {}, differenceNode(column.values[row], column.values[0], column.sense));
    return el("td", {}, fixed(column.values[row], column.decimals));
  }

  function tableRow(row, shown) {
    const number = row === 0 ? "baseline" : grouped(String(designs[row]));
    const open = el("button", { type: "button", class: "open", "aria-label": `Open sheet of ${row === 0 ? "the baseline" : "design " + designs[row]}`,
      onclick: (event) => { event.stopPropagation(); openSheet(row, event.shiftKey ? 1 : 0); } }, number);
    const beside = el("button", { type: "button", class: "beside", "aria-label": `Open sheet of ${row === 0 ? "the baseline" : "design " + designs[row]} beside the first`,
      onclick: (event) => { event.stopPropagation(); openSheet(row, 1); } }, "beside");
    return el("tr", { "data-row": row, class: row === 0 ? "baseline" : "" },
      el("th", { scope: "row" }, row === 0 ? "◆ " : "", open, beside), ...shown.map((column) => cell(column, row)),
      state.rows === "candidates" && file.hasFront ? "" : el("td", {}, fixed(100 * violation[row], 1) + " %"));
  }

  function show(spoken) {
    const pool = pools.find(([key]) => key === state.rows)[2]().filter((row) => within[row] && row !== 0);
    const rows = sorted(pool);
    const shown = shownColumns();
    const listed = rows.slice(0, most);
    const body = el("tbody", {}, tableRow(0, shown), ...listed.map((row) => tableRow(row, shown)));
    const judged = state.rows === "candidates" && file.hasFront ? "" : el("th", { scope: "col" }, "broken by");
    const top = el("thead", {}, el("tr", {}, head("design", "", null), ...shown.map((c) => head(c.name, c.unit, c.index)), judged));
    const left = box.scrollLeft;
    const caption = el("caption", {}, `${grouped(String(rows.length))} ${rows.length === 1 ? "design" : "designs"} within the limits` +
      (rows.length > listed.length ? `, the first ${grouped(String(listed.length))} listed` : "") + "; the baseline on top", el("span", { class: "paper-only" }, ". On paper at most 40 rows and the first 10 columns."));
    const more = rows.length > listed.length ? el("button", { type: "button", onclick: () => { most *= 5; show(); } }, "List more") : "";
    box.replaceChildren(el("table", { class: "figures list" }, caption, top, body), more);
    box.scrollLeft = left;
    marks();
    if (spoken) {
      const by = state.sort.column === null ? "design number" : columns[state.sort.column].name;
      say(`${grouped(String(rows.length))} designs listed by ${by}, ${state.sort.down ? "greatest" : "least"} first`);
    }
  }

  function marks() {
    for (const tr of box.querySelectorAll("tr[data-row]")) {
      const row = Number(tr.dataset.row);
      tr.classList.toggle("hover", row === state.hover);
      const slot = state.open.indexOf(row);
      tr.classList.toggle("picked", slot >= 0);
      tr.cells[0].dataset.slot = slot >= 0 ? SLOTS[slot] : "";
    }
  }

  const rowAt = (event) => { const tr = event.target.closest("tr[data-row]"); return tr ? Number(tr.dataset.row) : -1; };
  box.addEventListener("pointerover", (event) => setHover(rowAt(event)));
  box.addEventListener("pointerleave", () => setHover(-1));
  box.addEventListener("click", (event) => {
    const row = rowAt(event);
    if (row >= 0 && !event.target.closest("button")) openSheet(row, event.shiftKey ? 1 : 0);
  });
  box.addEventListener("focusin", (event) => { const row = rowAt(event); if (row >= 0) setHover(row); });
  box.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const tr = event.target.closest("tr[data-row]");
    if (!step || !tr) return;
    const next = step > 0 ? tr.nextElementSibling : tr.previousElementSibling;
    if (!next) return;
    event.preventDefault();
    next.querySelector("." + event.target.className.split(" ")[0]).focus();
  });

  onChange((kind) => { if (kind === "limits") { most = PAGE_ROWS; show(); } else if (kind === "hover" || kind === "open") marks(); });
  state.sort = { column: goals.length ? goals[0].index : null, down: goals.length ? goals[0].sense === "most" : false };
  show();
}
