// What is told of a candidate beside its figures: why it is as it is, and how it comes out of the shop.

const rawTold = new Map(file.told.map((raw) => [raw[0], raw]));
const shares = (list) => list.map(([n, percent]) => `${word(n)} ${fixed(percent, 0)} %`).join(", ");

/** A share of parts; 100 % only where it is all of them. */
const surely = (share) => (share === 1 ? "100 %" : share > 0.9995 ? "99.9 %" : fixed(100 * share, 1) + " %");

function whyPart(sheet) {
  const raw = rawTold.get(sheet.design);
  if (!raw || !raw[1]) return "";
  const [holds, rates, near, better] = raw[1];
  const list = (lines) => el("ul", { class: "told" }, ...lines.map((line) => el("li", {}, name(word(line)))));
  const content = [el("h5", {}, "What holds it"), list(holds)];
  if (rates.length) content.push(el("h5", {}, "Exchange rates along the front"), list(rates));
  if (near.length) {
    content.push(el("h5", {}, "Nearest on the front"), el("ul", { class: "told" }, ...near.map(([design, line]) => {
      const row = designs.indexOf(design);
      const title = "#" + grouped(String(design));
      return el("li", {}, row < 0 ? title : el("button", { type: "button", class: "link", onclick: () => openSheet(row, 1) }, title + " beside"), " ", name(word(line)));
    })));
  }
  for (const [objective, steps] of better) {
    content.push(el("h5", {}, "One step better in ", name(word(objective))));
    content.push(steps.length
      ? figuresTable("", ["step", "gains", "but"], steps.map(([change, gain, verdict]) => [name(word(change)), text(name(word(gain))), text(name(word(verdict)))]), "wraps")
      : el("p", { class: "hint" }, "No single step of a dimension betters it."));
  }
  return part("Why it is as it is", ...content);
}

function scatterPart(sheet) {
  const raw = rawTold.get(sheet.design);
  if (!raw || !raw[2]) return "";
  const [samples, asked, all, figures, limits] = raw[2];
  const together = el("p", { class: "sum" }, `${surely(all[0])} of ${grouped(String(samples))} scattered copies meet every constraint`,
    ` (95 % sure: ${surely(all[1])} to ${surely(all[2])})`, asked === null ? "." : `; ${surely(asked)} were asked for.`);
  const content = [together];
  if (limits.length) {
    content.push(figuresTable("", ["constraint", "met by", "95 % sure", "room / sd", "scatter from"], limits.map(([n, formula, share, low, high, room, from]) => [
      el("span", { title: word(formula) }, name(word(n))), surely(number(share)), surely(number(low)) + " to " + surely(number(high)), fixed(number(room), 1), text(shares(from)),
    ]), "wraps"));
  } else {
    content.push(el("p", { class: "hint" }, "Every constraint has room for six standard deviations and more."));
  }
  content.push(figuresTable("", ["", "unit", "drawing", "sd", "5 %", "95 %", "mostly from"], figures.map(([n, unit, nominal, sd, low, high, from]) => [
    name(word(n)), text(word(unit), "unit"), figure(number(nominal), 4), figure(number(sd), 2), figure(number(low), 4), figure(number(high), 4), text(shares(from)),
  ]), "wraps"));
  content.push(el("p", { class: "hint" }, "Dimensions deviate as the tolerances of the process say; what one tool makes or one set-up moves deviates together. Plan and tools are the drawing's."));
  return part("As parts come out", ...content);
}
