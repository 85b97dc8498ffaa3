// Candidate sheets of a run's page as a meeting uses them: drawings, the part in space, side by side, units, paper,
// keyboard; and the whole page by an accessibility engine, light and dark.
//
//   node sheet.mjs PATH/TO/review.html [folder for pictures]
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [file, pictures] = process.argv.slice(2);
if (!file || !existsSync(file)) {
  console.error("which page? node sheet.mjs results/yaw-ring-001/review.html");
  process.exit(2);
}
const engine = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const address = pathToFileURL(resolve(file)).href;
// WebGL on the processor: machines that test have no graphics card.
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

let passed = 0;
const failures = [];
function check(what, holds, detail = "") {
  if (holds) passed++;
  else { failures.push(what); console.error(`failed: ${what}${detail === "" ? "" : ` (${detail})`}`); }
}

const complaints = [];
const PATIENCE = 120_000; // ms; machines that test are busy at times
async function open(options = {}) {
  const context = await browser.newContext({ viewport: { width: 1400, height: 1000 }, reducedMotion: "reduce", ...options });
  context.setDefaultTimeout(PATIENCE);
  const page = await context.newPage();
  page.on("console", (message) => { if (message.type() === "error") complaints.push(message.text()); });
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("request", (request) => { if (!request.url().startsWith(address) && !/^(data|blob):/.test(request.url())) complaints.push("asked for " + request.url()); });
  await page.goto(address);
  await page.waitForSelector("#table tbody tr");
  return page;
}

/** Pixels of a canvas that differ from its first, as a share, and a number that changes with the picture. */
const picture = (page, selector) => page.locator(selector).first().evaluate((canvas) => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(async () => {
  const figure = canvas.closest(".space-box");
  figure.forPaper();
  const image = figure.querySelector(".paper-picture");
  await image.decode();
  const copy = new OffscreenCanvas(image.naturalWidth, image.naturalHeight).getContext("2d");
  copy.drawImage(image, 0, 0);
  const { data } = copy.getImageData(0, 0, image.naturalWidth, image.naturalHeight);
  let other = 0, sum = 0;
  for (let i = 0; i < data.length; i += 4) { if (data[i + 3] > 0) other++; sum = (sum * 31 + data[i] + 3 * data[i + 1] + 7 * data[i + 2]) % 1000003; }
  done({ share: other / (data.length / 4), sum });
}))));

const page = await open();
await page.locator("#sheets button", { hasText: "open the baseline" }).click();
const sheet = page.locator("article.sheet").first();
check("a sheet opens with plan and sections", (await sheet.locator(".plan-box svg").count()) === 1 && (await sheet.locator(".section-box svg").count()) >= 1);
check("its heading has the focus", await page.evaluate(() => document.activeElement.id === "sheet-A"));
for (const title of ["Measures", "Dimensions", "Constraints", "Load cases", "Operations", "Cost of one part", "Mass", "Tolerances of the process", "Geometric rules", "Section properties", "What this sheet rests on"]) {
  check(`the sheet has “${title}”`, (await sheet.locator("h4", { hasText: title }).count()) === 1);
}
const block = await sheet.locator(".title-block dt").allInnerTexts();
// ISO 7200:2004, table 1: the mandatory data fields that an estimate can fill.
for (const field of ["Legal owner", "Identification number", "Date of issue", "Title", "Approved by", "Created by", "Document type"]) check(`title block: ${field}`, block.includes(field));
check("cautions stand on the sheet", (await sheet.locator(".caution").innerText()).includes("not a release"));
check("no figure is NaN or undefined", !/NaN|undefined|\[object/.test(await sheet.innerText()));

// The part in space.
const made = await picture(page, "canvas.space");
check("the part is drawn in space", made.share > 0.03 && made.share < 0.9, JSON.stringify(made));
await page.locator("canvas.space").focus();
await page.keyboard.press("ArrowLeft");
const turned = await picture(page, "canvas.space");
check("an arrow key turns it", turned.sum !== made.sum);
await page.keyboard.press("0");
check("0 turns it back", (await picture(page, "canvas.space")).sum === made.sum);
const shown = sheet.locator(".space-box select").first();
const states = await shown.locator("option").allInnerTexts();
check("load cases and natural frequencies can be shown", states.some((each) => each.startsWith("load")) && states.some((each) => each.startsWith("frequency")), states.join(", "));
await shown.selectOption({ label: states.find((each) => each.startsWith("load")) });
check("a load moves it", (await picture(page, "canvas.space")).sum !== made.sum);
check("the factor is said", /Movement drawn (at )?[\d.\s\u202f]+/.test(await sheet.locator(".space-words").innerText()));
check("stress has a legend of five steps", (await sheet.locator(".space-box .stress-step").count()) === 5);
await shown.selectOption({ label: states.find((each) => each.startsWith("frequency")) });
const one = await picture(page, "canvas.space");
await sheet.getByRole("button", { name: "Other side" }).click();
check("with reduced motion a vibration shows its other side", (await picture(page, "canvas.space")).sum !== one.sum);
await page.context().close();

// Motion where it is welcome.
{
  const moving = await open({ reducedMotion: "no-preference" });
  await moving.locator("#sheets button", { hasText: "open the baseline" }).click();
  await moving.locator(".space-box select").first().selectOption({ label: states.find((each) => each.startsWith("frequency")) });
  const still = await picture(moving, "canvas.space");
  await moving.waitForTimeout(150);
  check("nothing swings before it is asked to", (await picture(moving, "canvas.space")).sum === still.sum);
  await moving.getByRole("button", { name: "Swing" }).click();
  const seen = new Set();
  for (let k = 0; k < 5; k++) { await moving.waitForTimeout(130); seen.add((await picture(moving, "canvas.space")).sum); }
  check("it swings on request", seen.size > 2, [...seen].join(" "));
  await moving.getByRole("button", { name: "Stand still" }).click();
  await moving.context().close();
}

// Side by side: the baseline and four others, of which at least one more has drawings.
{
  const many = await open();
  await many.locator("#sheets button", { hasText: "open the baseline" }).click();
  const nearest = many.getByRole("button", { name: /^Open the nearest that has one/ });
  for (let k = 0; k < 4; k++) {
    await many.locator("#table button.beside").nth(3 + 7 * k).click();
    if (await nearest.count()) await nearest.first().click();
  }
  const sheets = await many.locator("article.sheet").count();
  check("five sheets are open", sheets === 5, sheets);
  const heads = await many.locator("section.beside thead th").allInnerTexts();
  check("the table has a column for each", heads.length >= 6, heads.join(", "));
  check("differences stand out", (await many.locator("section.beside td.differs").count()) > 10);
  check("plans and sections lie over one another", (await many.locator(".layered svg.drawing").count()) === 2 && (await many.locator(".layered .plan-box path").count()) >= 4);
  const lines = await many.locator(".layered .section-box path").evaluateAll((paths) => paths.map((path) => path.getAttribute("stroke-dasharray")));
  check("each has its own line", new Set(lines).size === lines.length, lines.join(" | "));
  const box = await many.locator(".layered .plan-box svg").boundingBox();
  check("drawings have a size", box.width > 150 && box.height > 80, JSON.stringify(box));
  if (pictures) await many.locator("section.beside").screenshot({ path: `${pictures}/beside.png` });

  // Units reach every sheet.
  const unitsOf = () => many.locator("article.sheet").first().locator("td.unit").allInnerTexts();
  const before = await unitsOf();
  await many.getByLabel("inches").check();
  const after = await unitsOf();
  check("inches reach the sheet", before.includes("mm") && !after.includes("mm") && after.includes("in"));
  const floor = many.locator("article.sheet").first().locator("section.part", { hasText: "Dimensions" }).first();
  check("and change its figures", /0\.0\d+/.test(await floor.innerText()));
  await many.context().close();
}

// Keyboard alone: from the top of the page to a sheet and out again.
{
  const keys = await open();
  await keys.keyboard.press("Tab");
  check("the first stop leads to the list", (await keys.evaluate(() => document.activeElement.className)) === "skip");
  await keys.keyboard.press("Enter");
  let reached = false;
  for (let k = 0; k < 40 && !reached; k++) {
    await keys.keyboard.press("Tab");
    reached = await keys.evaluate(() => document.activeElement.classList.contains("open"));
  }
  check("tabs reach a candidate", reached);
  await keys.keyboard.press("Enter");
  check("Enter opens its sheet", (await keys.locator("article.sheet").count()) === 1);
  let closed = false;
  for (let k = 0; k < 40 && !closed; k++) {
    await keys.keyboard.press("Tab");
    closed = await keys.evaluate(() => document.activeElement.textContent.startsWith("Close"));
  }
  check("tabs reach its close button", closed);
  await keys.keyboard.press("Enter");
  check("and it closes", (await keys.locator("article.sheet").count()) === 0);
  await keys.context().close();
}

// Paper: one sheet a page, drawings and the part's picture on it.
{
  const paper = await open();
  await paper.locator("#sheets button", { hasText: "open the baseline" }).click();
  const pdf = await paper.pdf({ format: "A4" });
  const pages = (pdf.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g) || []).length;
  check("it prints on a few pages", pages >= 3 && pages < 40, pages);
  await paper.context().close();
}

// The accessibility engine: WCAG 2.2 A and AA, nothing serious, with sheets open.
for (const colorScheme of ["light", "dark"]) {
  for (const width of [1400, 700]) {
    const asked = await open({ colorScheme, viewport: { width, height: 1000 } });
    await asked.locator("#sheets button", { hasText: "open the baseline" }).click();
    await asked.locator("#table button.beside").nth(2).click();
    await asked.evaluate(() => { for (const details of document.querySelectorAll("details")) details.open = true; });
    // Boxes that scroll are named once the browser has laid them out; if they never are, the engine says so.
    const named = () => [...document.querySelectorAll(".scroll")].every((box) => (box.scrollWidth <= box.clientWidth + 1 && box.scrollHeight <= box.clientHeight + 1) || box.hasAttribute("tabindex"));
    await asked.waitForFunction(named, null, { timeout: 60_000 }).catch(() => {});
    const wide = await asked.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    check(`${colorScheme}, ${width}: nothing wider than the window`, wide <= 0, wide);
    await asked.evaluate(engine);
    const { violations, passes } = await asked.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
    const serious = violations.filter(({ impact }) => impact === "serious" || impact === "critical");
    check(`${colorScheme}, ${width}: nothing serious of ${passes.length + violations.length} rules`, serious.length === 0,
      serious.map(({ id, nodes }) => `${id}: ${nodes.length} × ${nodes[0].target} ${nodes[0].failureSummary.split("\n")[1] || ""}`).join("; "));
    for (const { id, impact, nodes } of violations) if (impact !== "serious" && impact !== "critical") console.log(`  ${colorScheme}, ${width}: ${impact} ${id}, ${nodes.length} places, first ${nodes[0].target}`);
    if (pictures) await asked.screenshot({ path: `${pictures}/review-${width}-${colorScheme}.png`, fullPage: true });
    await asked.context().close();
  }
}

check("no request and no error", complaints.length === 0, complaints.slice(0, 3).join("; "));
await browser.close();
console.log(`${passed} passed, ${failures.length} failed`);
process.exit(failures.length ? 1 : 0);
