// Tables of figures, whose units follow the reader's choice, and the small bars beside them.

/** A table of figures from head words and rows of nodes; the first cell of a row names it. */
function figuresTable(caption, head, rows, extra = "") {
  return scrollable(el("div", { class: "scroll" }, el("table", { class: "figures " + extra },
    caption ? el("caption", {}, caption) : "",
    el("thead", {}, el("tr", {}, ...head.map((words, i) => (words === "" ? el("td", {}) : el("th", { scope: "col", class: i && rows.length && rows[0][i] instanceof HTMLElement && rows[0][i].className === "words" ? "words" : undefined }, words))))),
    el("tbody", {}, ...rows.map((cells) => el("tr", {}, el("th", { scope: "row" }, cells[0]), ...cells.slice(1).map((cell) => (cell instanceof HTMLTableCellElement ? cell : el("td", {}, cell)))))))));
}

const wide = new ResizeObserver((boxes) => {
  for (const { target } of boxes) {
    const scrolls = target.scrollWidth > target.clientWidth + 1 || target.scrollHeight > target.clientHeight + 1;
    const heading = target.closest("section, article");
    const words = (target.querySelector("caption") || (heading && heading.querySelector("h2, h3, h4")) || target).textContent.slice(0, 80);
    for (const [key, value] of [["tabindex", "0"], ["role", "region"], ["aria-label", "Table: " + words]]) {
      if (scrolls) target.setAttribute(key, value); else target.removeAttribute(key);
    }
  }
});

/** A box that may scroll: reached by the keyboard, with a name, where it does. */
function scrollable(box) {
  wide.observe(box);
  return box;
}

/**
 * A table of rows from columns: `[head, unit, figure of a row, digits]` for figures, `[head, "", node of a row]` for
 * anything else. Figures are shown in the reader's units with their points in line.
 */
function unitTable(caption, columns, rows, extra = "") {
  const cells = columns.map(([, unit, of, digits]) => {
    const values = rows.map(of);
    if (digits === undefined) return values;
    const { factor } = shownUnit(unit);
    return aligned(values.map((value) => (Number.isFinite(value) ? figure(value * factor, digits) : NONE)));
  });
  const heads = columns.map(([head, unit]) => (unit ? [head, unitWords(unit)].filter(Boolean).join(" ") : head));
  return figuresTable(caption, heads, rows.map((_, i) => cells.map((column) => column[i])), extra);
}

const part = (title, ...content) => el("section", { class: "part" }, el("h4", {}, title), ...content);
const text = (content, kind = "words") => el("td", { class: kind }, content);
const pairOf = (key, value) => [el("dt", {}, key), el("dd", {}, value)];
const sense = (columnName) => (columns.find((column) => column.name === columnName) || {}).sense || "";

/** A value as shown, without its unit. */
const shown = (value, unit = "") => (Number.isFinite(value) ? tidy(inUnits(value, unit)) : NONE);

/** A bar for a share of the whole; the figure stands beside it in words. */
function bar(share, kind = "") {
  const fill = el("span", { class: "fill " + kind });
  fill.style.width = Math.max(0, Math.min(100, 100 * share)) + "%";
  return el("span", { class: "bar", "aria-hidden": "true" }, fill);
}

/** Room (right of the middle) or breach (left of it), full at half the limit. */
function marginBar(margin) {
  const share = Math.max(-0.5, Math.min(0.5, margin || 0));
  const fill = el("span", { class: "fill " + (margin < 0 ? "breach" : "room") });
  fill.style.left = (margin < 0 ? 50 + 100 * share : 50) + "%";
  fill.style.width = Math.abs(100 * share) + "%";
  return el("span", { class: "bar margin", "aria-hidden": "true" }, fill);
}

/** Values of a sheet with the baseline's and the difference between them. */
function valueTable(row, list, baseList, senses = () => "") {
  const known = new Map(baseList.map((entry) => [entry.name, entry.value]));
  const own = row === 0;
  const base = (entry) => (known.has(entry.name) ? known.get(entry.name) : NaN);
  const figures = aligned(list.map((entry) => shown(entry.value, entry.unit)));
  const bases = aligned(list.map((entry) => shown(base(entry), entry.unit)));
  return figuresTable("", own ? ["", "value", "unit"] : ["", "value", "unit", "baseline", "difference"],
    list.map((entry, i) => {
      const cells = [name(entry.name), figures[i], text(unitWords(entry.unit), "unit")];
      return own ? cells : [...cells, bases[i], differenceNode(entry.value, base(entry), senses(entry.name))];
    }));
}
