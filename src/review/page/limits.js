// The reader's own limits: a row of two fields for each limited column.

function limitsPanel(box) {
  const offered = new Set(goals.map((column) => column.index));
  const rows = el("div", { class: "limit-rows" });
  const add = el("select", { id: "add-limit" });
  const clear = el("button", { type: "button", onclick: () => clearLimits() }, "Clear all limits");
  box.append(rows, el("div", { class: "controls" }, el("label", {}, "Limit also ", add), clear));
  add.addEventListener("change", () => {
    if (add.value === "") return;
    const index = Number(add.value);
    offered.add(index);
    show();
    rows.querySelector(`[data-column="${index}"] input`).focus();
  });

  function row(column) {
    const limit = state.limits.get(column.index) || {};
    const field = (which, text) => {
      const input = el("input", {
        type: "text", inputmode: "decimal", size: 8, autocomplete: "off",
        value: limit[which] === undefined ? "" : String(limit[which]),
        "aria-label": `${column.name} ${text}${column.unit ? ", in " + column.unit : ""}`,
        onchange: () => take(input, column.index, which),
        onkeydown: (event) => { if (event.key === "Enter") take(input, column.index, which); },
      });
      return input;
    };
    return el("div", { class: "limit", role: "group", "data-column": column.index, "aria-label": "Limits of " + column.name },
      el("span", { class: "limit-name" }, name(column.name)),
      el("span", { class: "pair" }, "≥ ", field("least", "at least")), el("span", { class: "pair" }, "≤ ", field("most", "at most")),
      el("span", { class: "unit" }, column.unit));
  }

  function take(input, index, which) {
    const value = typed(input.value);
    const bad = Number.isNaN(value);
    input.setAttribute("aria-invalid", bad ? "true" : "false");
    if (bad) return say(`“${input.value.slice(0, 30)}” is not a number; the limit stays as it was`);
    const limit = { ...state.limits.get(index), [which]: value };
    setLimit(index, limit.least, limit.most);
  }

  function show() {
    for (const index of state.limits.keys()) offered.add(index);
    const focused = document.activeElement && document.activeElement.getAttribute("aria-label");
    rows.replaceChildren(...byRank.filter((column) => offered.has(column.index)).map(row));
    if (focused) for (const input of rows.querySelectorAll("input")) if (input.getAttribute("aria-label") === focused) input.focus();
    add.replaceChildren(el("option", { value: "" }, "choose a column"),
      ...byRank.filter((column) => !offered.has(column.index)).map((column) => el("option", { value: column.index }, label(column))));
    clear.disabled = state.limits.size === 0;
  }

  onChange((kind) => { if (kind === "limits") show(); });
  show();
}
