// The page put together.

function start() {
  const [first, second, third] = [...goals, ...byRank.filter((c) => c.varies && !goals.includes(c))];
  if (!designs.length || !first) {
    document.querySelector("main").prepend(el("p", { class: "warning" }, "This run holds no design."));
    return;
  }
  state.x = first.index;
  state.y = (second || first).index;
  state.shade = goals.length > 2 ? third.index : null;
  judge();

  unitSwitch(document.getElementById("units"));
  mapChoices();
  const map = scatter(document.getElementById("map"));
  mapTools(map.act);
  const plots = [map, parallel(document.getElementById("axes"))];
  limitsPanel(document.getElementById("limits"));
  table(document.getElementById("table"));
  plots.push(sheets(document.getElementById("sheets")));
  decision(document.getElementById("decision"));

  for (const box of document.querySelectorAll(".scroll:not([tabindex])")) scrollable(box);

  const readout = document.getElementById("readout");
  const read = () => { readout.textContent = state.hover >= 0 ? describe(state.hover) : "Point at a design to read it; click it for its sheet."; };
  onChange(read);
  read();

  onChange((kind) => {
    if (kind !== "open") return;
    const opened = state.open.findIndex((row, slot) => row >= 0 && row !== shownBefore[slot]);
    shownBefore = [...state.open];
    if (opened < 0) return;
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const heading = document.getElementById("sheet-" + SLOTS[opened]);
    heading.focus({ preventScroll: true });
    heading.scrollIntoView({ behavior: calm ? "auto" : "smooth", block: "start" });
  });
  let shownBefore = [...state.open];

  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => changed("view"));
  const forPaper = (on) => { printing = on; plots.forEach((plot) => (on ? plot.fitPaper() : plot.fit())); };
  addEventListener("beforeprint", () => forPaper(true));
  addEventListener("afterprint", () => forPaper(false));

  document.getElementById("about").textContent =
    `${file.study}, run ${file.run}. ${grouped(String(designs.length))} of ${grouped(String(file.total))} designs are on this page` +
    (file.leftOut ? `; ${grouped(String(file.leftOut))} dominated or infeasible ones were left out evenly to keep it small` : "") +
    `. Candidates are exact to seven digits, the others to 1/65 000 of their column. ${grouped(String(sheetsByDesign.size))} full sheets, the baseline's among them. This file makes no network request.`;
  say(`${grouped(String(candidates.length))} ${file.hasFront ? "candidates" : "least violating designs"} listed`);
}

start();
