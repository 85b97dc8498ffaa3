// The list of candidates: sorted, within the limits, a page at a time, linked with the plots.

const PAGE_ROWS = 100;
/** While a handle is dragged the list follows this often, in ms. */
const LIST_EVERY = 120;

/** Decimals of a column as shown. */
function decimalsOf(column) {
  const key = unitSystem;
  if (column.shownDecimals?.key !== key) {
    const values = candidates.concat(0).map((row) => column.values[row]);
    column.shownDecimals = { key, decimals: decimalsIn(values, column.unit, column.decimals, column.role === "variable") };
  }
  return column.shownDecimals.decimals;
}

/** A value of a column as shown, without its unit. */
const columnFigure = (column, row) => fixed(inUnits(column.values[row], column.unit), decimalsOf(column));

function table(box) {
  const pools = [
    ["candidates", file.hasFront ? "front" : "least violating", candidates],
    ["feasible", "all feasible designs", feasibleRows],
    ["all", "all designs on this page", everyRow],
  ];
  const usual = byRank.filter((c) => goals.includes(c) || (c.role !== "derived" && c.varies)).slice(0, Math.max(16, goals.length));
  let shown = usual, first = 0, late = 0, order = null;

  const rowsPick = document.getElementById("pick-rows");
  rowsPick.append(...pools.map(([key, text]) => el("option", { value: key }, text)));
  rowsPick.addEventListener("change", () => { state.rows = rowsPick.value; order = null; show(true); });
  const figures = document.getElementById("pick-figures");
  figures.addEventListener("change", () => { state.figures = figures.value; render(); });
  const only = Object.fromEntries(["marked", "picked"].map((kind) => {
    const input = document.getElementById("only-" + kind);
    input.addEventListener("change", () => show(true));
    return [kind, input];
  }));
  const picking = () => typeof togglePick === "function";
  only.picked.closest("label").hidden = !picking();
  columnChooser(document.getElementById("pick-columns"), byRank, usual, (chosen) => { shown = byRank.filter((column) => chosen.has(column)); render(); });
  document.getElementById("save-list").addEventListener("click", () => saveList(listed(), shown));
  const pager = document.getElementById("pages");
  const turn = (words, sign, to) => el("button", { type: "button", "aria-label": words, onclick: () => { first = to(); render(); box.scrollTop = 0; say(place.textContent); } }, sign);
  const lastPage = () => Math.max(0, Math.floor((rows.length - 1) / PAGE_ROWS) * PAGE_ROWS);
  const [start, before, next, end] = [turn("First page", "«", () => 0), turn("Page before", "‹", () => first - PAGE_ROWS), turn("Next page", "›", () => first + PAGE_ROWS), turn("Last page", "»", lastPage)];
  const place = el("span", {});
  pager.append(start, before, place, next, end);

  /** Rows of the pool in the order chosen; what is not a number goes last either way. */
  function ordered() {
    const { column, down } = state.sort;
    const key = [state.rows, column, down].join();
    if (order?.key === key) return order.rows;
    const values = column === null ? designs : columns[column].values;
    const sign = down ? -1 : 1;
    const rows = pools.find(([name]) => name === state.rows)[2].filter((row) => row !== 0).sort((a, b) => {
      const [x, y] = [values[a], values[b]];
      if (Number.isNaN(x) || Number.isNaN(y)) return Number.isNaN(x) - Number.isNaN(y) || a - b;
      return x === y ? a - b : sign * (x < y ? -1 : 1);
    });
    order = { key, rows };
    return rows;
  }

  const listed = () => ordered().filter((row) => within[row] && (!only.marked.checked || isMarked[row]) && (!only.picked.checked || state.picks.has(designs[row])));
  let rows = [], left = 0;
  // Kept here: to read it while the list is drawn would lay out the whole page.
  box.addEventListener("scroll", () => { left = box.scrollLeft; }, { passive: true });

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
    return el("td", {}, columnFigure(column, row));
  }

  function tableRow(row, judged) {
    const words = row === 0 ? "the baseline" : "design " + grouped(String(designs[row]));
    const button = (kind, act, text, sign) => el("button", { type: "button", class: kind, "aria-label": text, onclick: (event) => { event.stopPropagation(); act(event); } }, sign);
    return el("tr", { "data-row": row, class: row === 0 ? "baseline" : "" },
      el("th", { scope: "row" }, row === 0 ? "◆ " : "",
        button("open", (event) => (event.shiftKey ? openBeside(row) : openSheet(row)), `Open sheet of ${words}`, row === 0 ? "baseline" : grouped(String(designs[row]))),
        button("beside", () => openBeside(row), `Open sheet of ${words} beside those open`, "beside"),
        picking() && row !== 0 ? button("pick", () => togglePick(row), `Pick ${words}`, "pick") : ""),
      ...shown.map((column) => cell(column, row)),
      judged ? el("td", {}, fixed(100 * violation[row], 1) + " %") : "");
  }

  function show(spoken) {
    first = 0;
    render();
    if (!spoken) return;
    const by = state.sort.column === null ? "design number" : columns[state.sort.column].name;
    say(`${grouped(String(rows.length))} designs listed by ${by}, ${state.sort.down ? "greatest" : "least"} first`);
  }

  function render() {
    rows = listed();
    first = Math.max(0, Math.min(first, lastPage()));
    const judged = state.rows !== "candidates" || !file.hasFront;
    const page = rows.slice(first, first + PAGE_ROWS);
    const body = el("tbody", {}, tableRow(0, judged), ...page.map((row) => tableRow(row, judged)));
    const top = el("thead", {}, el("tr", {}, head("design", "", null), ...shown.map((c) => head(c.name, unitWords(c.unit), c.index)), judged ? el("th", { scope: "col" }, "broken by") : ""));
    const which = [only.marked.checked && "marked", only.picked.checked && "picked"].filter(Boolean).join(" and ");
    const caption = el("caption", {}, `${grouped(String(rows.length))} ${which ? which + " " : ""}${rows.length === 1 ? "design" : "designs"} within the limits; the baseline on top`,
      el("span", { class: "paper-only" }, ". On paper at most 40 rows and the first 10 columns."));
    box.replaceChildren(el("table", { class: "figures list" }, caption, top, body));
    if (left) box.scrollLeft = left;
    place.textContent = rows.length ? `${grouped(String(first + 1))} to ${grouped(String(first + page.length))} of ${grouped(String(rows.length))}` : "none";
    pager.hidden = rows.length <= PAGE_ROWS;
    start.disabled = before.disabled = first === 0;
    next.disabled = end.disabled = first >= lastPage();
    marks();
  }

  function marks() {
    for (const tr of box.querySelectorAll("tr[data-row]")) {
      const row = Number(tr.dataset.row);
      const slot = state.open.indexOf(row);
      tr.classList.toggle("hover", row === state.hover);
      tr.classList.toggle("marked", isMarked[row] === 1);
      tr.classList.toggle("picked", slot >= 0);
      tr.cells[0].dataset.slot = slot >= 0 ? SLOTS[slot] : "";
      const pick = tr.querySelector("button.pick");
      if (pick) {
        const chosen = state.picks.has(designs[row]);
        pick.setAttribute("aria-pressed", String(chosen));
        pick.textContent = chosen ? "★ pick" : "☆ pick";
      }
    }
  }

  const rowAt = (event) => { const tr = event.target.closest("tr[data-row]"); return tr ? Number(tr.dataset.row) : -1; };
  box.addEventListener("pointerover", (event) => setHover(rowAt(event)));
  box.addEventListener("pointerleave", () => setHover(-1));
  box.addEventListener("click", (event) => {
    const row = rowAt(event);
    if (row >= 0 && !event.target.closest("button")) event.shiftKey ? openBeside(row) : openSheet(row);
  });
  box.addEventListener("focusin", (event) => { const row = rowAt(event); if (row >= 0) setHover(row); });
  box.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const tr = event.target.closest("tr[data-row]");
    if (!step || !tr) return;
    const other = step > 0 ? tr.nextElementSibling : tr.previousElementSibling;
    const same = other?.querySelector("." + event.target.className.split(" ")[0]);
    if (!same) return;
    event.preventDefault();
    same.focus();
  });

  /** While a handle is dragged, the list is drawn again now and then and at the end. */
  function soon(act) {
    clearTimeout(late);
    if (!state.live) return act();
    late = setTimeout(act, LIST_EVERY);
  }
  onChange((kind) => {
    if (kind === "limits") soon(() => show());
    else if (kind === "units") render();
    else if (kind === "marked" || kind === "picks") (only[kind === "marked" ? "marked" : "picked"].checked ? show() : marks());
    else if (kind === "hover" || kind === "open") marks();
  });
  state.sort = { column: goals.length ? goals[0].index : null, down: goals.length ? goals[0].sense === "most" : false };
  show();
}

/** Boxes to tick, one a column, behind a summary; `use` is told the set that is left. */
function columnChooser(box, offered, chosen, use) {
  const kept = new Set(chosen);
  const count = el("span", {});
  const tick = (column) => el("label", { class: "check" }, el("input", { type: "checkbox", checked: kept.has(column), value: column.index, onchange: (event) => {
    if (event.target.checked) kept.add(column); else kept.delete(column);
    if (!kept.size) { kept.add(column); event.target.checked = true; say("One column has to stay"); }
    told();
  } }), " ", name(column.name));
  const told = () => { count.textContent = ` (${kept.size} of ${offered.length})`; use(kept); };
  const all = el("button", { type: "button", onclick: () => { offered.forEach((column) => kept.add(column)); again(); } }, "All");
  const usual = el("button", { type: "button", onclick: () => { kept.clear(); chosen.forEach((column) => kept.add(column)); again(); } }, "The usual");
  const again = () => { for (const input of box.querySelectorAll("input")) input.checked = kept.has(columns[Number(input.value)]); told(); };
  chosen = [...chosen];
  box.append(el("summary", {}, box.dataset.words, count), el("div", { class: "ticks" }, el("div", { class: "controls" }, all, usual), ...offered.map(tick)));
  count.textContent = ` (${kept.size} of ${offered.length})`;
  box.addEventListener("keydown", (event) => { if (event.key === "Escape" && box.open) { box.open = false; box.firstElementChild.focus(); } });
  addEventListener("pointerdown", (event) => { if (!box.contains(event.target)) box.open = false; });
}

/** The rows listed and the columns shown as a file of comma-separated values (RFC 4180), in the units shown. */
function saveList(rows, shown) {
  const text = listText(rows, shown);
  const link = el("a", { href: URL.createObjectURL(new Blob([text], { type: "text/csv" })), download: `${file.run || file.study}-designs.csv` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  say(`${grouped(String(rows.length))} designs saved`);
}

function listText(rows, shown) {
  // A leading sign could be read as a formula by a spreadsheet.
  const safe = (text) => (/^[=+\-@\t\r]/.test(text) ? "'" + text : text);
  const quoted = (text) => (/[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);
  const head = (column) => quoted(safe(column.name + (column.unit ? ` [${unitWords(column.unit)}]` : "")));
  const value = (column, row) => { const number = inUnits(column.values[row], column.unit); return Number.isFinite(number) ? String(Number(number.toPrecision(7))) : ""; };
  const lines = [["design", ...shown.map(head)], ...[0, ...rows].map((row) => [designs[row], ...shown.map((column) => value(column, row))])];
  return lines.map((cells) => cells.join(",") + "\r\n").join("");
}
