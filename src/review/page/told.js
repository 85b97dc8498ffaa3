// What is told of a candidate beside its figures: why it is as it is, and how it comes out of the shop.

const shares = (list) => list.map((from) => `${from.name} ${fixed(from.percent, 0)} %`).join(", ");

/** A share of parts; 100 % only where it is all of them. */
const surely = (share) => (share === 1 ? "100 %" : share > 0.9995 ? "99.9 %" : fixed(100 * share, 1) + " %");

function whyPart(sheet) {
  const { why } = toldByDesign.get(sheet.design) || {};
  if (!why) return "";
  const list = (lines) => el("ul", { class: "told" }, ...lines.map((line) => el("li", {}, name(line))));
  const content = [el("h5", {}, "What holds it"), list(why.holds)];
  if (why.rates.length) content.push(el("h5", {}, "Exchange rates along the front"), list(why.rates));
  if (why.near.length) {
    content.push(el("h5", {}, "Nearest on the front"), el("ul", { class: "told" }, ...why.near.map(({ design, words }) => {
      const row = designs.indexOf(design);
      const title = "#" + grouped(String(design));
      return el("li", {}, row < 0 ? title : el("button", { type: "button", class: "link", onclick: () => openBeside(row) }, title + " beside"), " ", name(words));
    })));
  }
  for (const { objective, steps } of why.better) {
    content.push(el("h5", {}, "One step better in ", name(objective)));
    content.push(steps.length
      ? figuresTable("", ["step", "gains", "but"], steps.map(({ change, gain, verdict }) => [name(change), text(name(gain)), text(name(verdict))]), "wraps")
      : el("p", { class: "hint" }, "No single step of a dimension betters it."));
  }
  return part("Why it is as it is", ...content);
}

function scatterPart(sheet) {
  const { scatter } = toldByDesign.get(sheet.design) || {};
  if (!scatter) return "";
  const { samples, asked, all, figures, limits } = scatter;
  const together = el("p", { class: "sum" }, `${surely(all.share)} of ${grouped(String(samples))} scattered copies meet every constraint`,
    ` (95 % sure: ${surely(all.low)} to ${surely(all.high)})`, asked === null ? "." : `; ${surely(asked)} were asked for.`);
  const content = [together];
  if (limits.length) {
    content.push(figuresTable("", ["constraint", "met by", "95 % sure", "room / sd", "scatter from"], limits.map((limit) => [
      el("span", { title: limit.text }, name(limit.name)), surely(limit.share), surely(limit.low) + " to " + surely(limit.high), fixed(limit.room, 1), text(shares(limit.from)),
    ]), "wraps"));
  } else {
    content.push(el("p", { class: "hint" }, "Every constraint has room for six standard deviations and more."));
  }
  content.push(figuresTable("", ["", "unit", "drawing", "sd", "5 %", "95 %", "mostly from"], figures.map((row) => [
    name(row.name), text(row.unit, "unit"), figure(row.nominal, 4), figure(row.sd, 2), figure(row.low, 4), figure(row.high, 4), text(shares(row.from)),
  ]), "wraps"));
  content.push(el("p", { class: "hint" }, "Dimensions deviate as the tolerances of the process say; what one tool makes or one set-up moves deviates together. Plan and tools are the drawing's."));
  return part("As parts come out", ...content);
}
