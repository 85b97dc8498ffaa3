// The decision section of a run's page in a real browser, and its file read back by the program.
//
//   node decision.mjs PAGE PROGRAM RUN
//
// PAGE is the review page of the run folder RUN, PROGRAM the built fretwork. With SHOTS=DIR, screenshots are kept there.
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [, , pagePath, given, run] = process.argv;
const program = resolve(given);
const scratch = mkdtempSync(join(tmpdir(), "decision-"));
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
let passed = 0;
const failures = [];
function check(what, holds, detail = "") {
  if (holds) passed++;
  else { failures.push(what); console.error(`failed: ${what}${detail === "" ? "" : ` (${detail})`}`); }
}

const HOSTILE = [
  '</script><script>document.title="taken"</script>', 'quotes " and \\ and \'\'\' and """', "line one\nline two\r\n\ttab", "\u202eturned\u202c \u200f \u2066x\u2069",
  "\u0000\u0001\u001f\u007f\u0085\u2028\u2029\ufeff", "lone \ud800 half", "# no comment\n[[pick]]\ndesign = 1", "😀 é ß 中", "x".repeat(10_000), "\\u0041 \\", "] } =",
];

async function opened(path, steps, { width = 1400, ready = "#table tbody tr" } = {}) {
  const context = await browser.newContext({ viewport: { width, height: 1000 }, reducedMotion: "reduce", acceptDownloads: true });
  const page = await context.newPage();
  const complaints = [], requests = [];
  page.on("console", (message) => { if (["error", "warning"].includes(message.type())) complaints.push(message.text()); });
  page.on("pageerror", (error) => complaints.push(error.message));
  const url = pathToFileURL(resolve(path)).href;
  page.on("request", (request) => { if (request.url() !== url && !/^(data|blob):/.test(request.url())) requests.push(request.url()); });
  try {
    await page.goto(url);
    await page.locator(ready).first().waitFor();
    await steps(page);
  } catch (error) {
    check("steps can be done", false, error.message.split("\n").slice(0, 3).join(" "));
  }
  check("no request leaves", requests.length === 0, requests.join(" "));
  check("no error in the console", complaints.length === 0, complaints.join(" | "));
  await context.close();
}

const rows = (page) => page.locator("#table tbody tr:not(.baseline)");
const picks = (page) => page.locator("#decision tbody tr");
const status = (page) => page.locator("#status").innerText();
async function save(page, to) {
  const [download] = await Promise.all([page.waitForEvent("download"), page.locator("#decision-save").click()]);
  await download.saveAs(to);
  return download.suggestedFilename();
}

/** What the program says to a call: exit code, stdout, stderr. */
const call = (...args) => {
  const done = spawnSync(program, args, { cwd: scratch, encoding: "utf8" });
  return { code: done.status, out: done.stdout, err: done.stderr };
};

const saved = join(scratch, "decision.toml");
let chosen = "";
await opened(pagePath, async (page) => {
  check("nothing is picked at first", (await page.locator("#decision").innerText()).includes("No design is picked yet"));
  const pick = (index) => rows(page).nth(index).locator("button.pick");
  for (const index of [0, 2, 5]) await pick(index).click();
  check("picks stand in the section", (await picks(page).count()) === 3);
  check("and are marked in the list", (await pick(2).getAttribute("aria-pressed")) === "true");
  check("the status line says so", /^Design [\d\u202f]+ picked$/.test(await status(page)), await status(page));
  await pick(5).click();
  check("a pick can be taken back", (await picks(page).count()) === 2);
  await pick(5).click();

  // By keyboard: choose the second, write on it.
  await page.locator("#decision input[name=chosen]").first().focus();
  await page.keyboard.press("ArrowDown");
  check("arrow keys choose", (await page.locator("#decision tr.chosen").count()) === 1 && (await page.evaluate(() => document.activeElement.checked)));
  chosen = await page.locator("#decision tr.chosen").getAttribute("data-design");
  await page.keyboard.press("Tab");
  check("Tab goes on to its remark", (await page.evaluate(() => document.activeElement.getAttribute("aria-label"))).startsWith("Remark on design"));
  await page.keyboard.type("seen by all");
  await page.locator("#decision-reason").fill("lighter, and stiff enough");
  await page.locator("#decision-by").fill("N. Author\nM. Other\n\n");
  await page.locator("#decision-date").fill("2026-11-20");
  check("it says that nothing is saved yet", (await page.locator(".decision-state").innerText()).startsWith("Not saved yet"));
  const leaves = await page.evaluate(() => { const event = new Event("beforeunload", { cancelable: true }); dispatchEvent(event); return !event.defaultPrevented; });
  check("leaving warns", !leaves);
  if (process.env.SHOTS) await page.locator("#decision").screenshot({ path: `${process.env.SHOTS}/decision.png` });
  const called = await save(page, saved);
  check("the file is named for the study", /-decision\.toml$/.test(called), called);
  check("saved is saved", !(await page.locator(".decision-state").innerText()).includes("Not saved"));
  check("leaving no longer warns", await page.evaluate(() => { const event = new Event("beforeunload", { cancelable: true }); dispatchEvent(event); return !event.defaultPrevented; }));
  check("every control of the section has a name", (await page.evaluate(() => [...document.querySelectorAll("#decision button,#decision input,#decision textarea")]
    .filter((node) => !(node.labels?.length || node.getAttribute("aria-label") || node.textContent.trim())).length)) === 0);
  await page.emulateMedia({ media: "print" });
  const paper = await page.locator("#decision").innerText();
  check("on paper stand the words, not the fields", paper.includes("seen by all") && paper.includes("lighter, and stiff enough") && paper.includes("M. Other") && !(await page.locator("#decision textarea").first().isVisible()));
});

// The program adopts it: the study stands beside the results.
const study = readFileSync(join(run, "study.toml"), "utf8");
const name = readFileSync(saved, "utf8").match(/^study = "(.*)"$/m)[1];
writeFileSync(join(scratch, `${name}.toml`), study);
const adopted = call("adopt", resolve(run), "--decision", saved, "--json");
check("the program adopts the one chosen", adopted.code === 0 && String(JSON.parse(adopted.out).design) === chosen, adopted.err + adopted.out);
const history = call("history", `${name}.toml`, "--json");
const step = history.code === 0 ? JSON.parse(history.out).revisions[0] : {};
check("with reason, people and day", step.reason === "lighter, and stiff enough" && step.by?.join() === "N. Author,M. Other" && step.date === "2026-11-20" && step.revision === "A", history.err + history.out);

// The page of the revisions.
const drawn = call("history", `${name}.toml`, "--page", "history.html");
check("the history has a page", drawn.code === 0, drawn.err);
for (const width of [700, 1400]) {
  await opened(join(scratch, "history.html"), async (page) => {
    // One revision: nothing has moved yet, so the three objectives alone are drawn.
    const objectives = await page.locator("#h-plots").locator("xpath=..").locator("figure").count();
    check("every objective has its plot, named, and its table", objectives === 3 && (await page.locator("figure svg[role=img][aria-label]").count()) === objectives && (await page.locator("figure details table").count()) === objectives);
    check(`${width} px: nothing sticks out`, await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1));
    await page.locator("figure summary").first().focus();
    await page.keyboard.press("Enter");
    check("a table opens by the keyboard", await page.locator("figure details[open] table").isVisible());
    check("the reason stands beside its step", (await page.locator("#steps").innerText()).includes("lighter, and stiff enough"));
  }, { width, ready: "figure svg" });
}

// Hostile words come through, and back.
const hostile = join(scratch, "hostile.toml");
await opened(pagePath, async (page) => {
  for (let i = 0; i < HOSTILE.length; i++) await rows(page).nth(i).locator("button.pick").click();
  // As a paste would: what a field keeps of a text is the browser's business.
  await page.evaluate((texts) => {
    document.querySelectorAll("#decision tbody textarea").forEach((area, i) => { area.value = texts[i]; area.dispatchEvent(new Event("input", { bubbles: true })); });
    for (const id of ["decision-reason", "decision-by"]) { const area = document.getElementById(id); area.value = texts.slice(0, 6).join(" "); area.dispatchEvent(new Event("input", { bubbles: true })); }
  }, HOSTILE);
  await page.locator("#decision tbody input[name=chosen]").first().check();
  await save(page, hostile);
  check("hostile words do nothing", (await page.title()).endsWith(": review"));
  const kept = await page.evaluate(() => [...document.querySelectorAll("#decision tbody textarea")].map((area) => area.value));
  await page.locator("#decision-clear").click();
  check("everything can be taken back", (await picks(page).count()) === 0 && (await page.locator("#decision-reason").inputValue()) === "");
  await page.locator("#decision-open").setInputFiles(hostile);
  await picks(page).first().waitFor();
  const back = await page.evaluate(() => [...document.querySelectorAll("#decision tbody textarea")].map((area) => area.value));
  const same = kept.every((text, i) => back[i] === text.replace(/\p{Surrogate}/gu, "\ufffd").trim());
  check("what was saved is read back by the page", back.length === HOSTILE.length && same, JSON.stringify(back.filter((text, i) => text !== kept[i]).map((text) => text.slice(0, 30))));
  check("a file read is not unsaved", !(await page.locator(".decision-state").innerText()).includes("Not saved"));
  for (const [file, words] of [["not toml = = ", "no TOML"], ['kind = "other"', "no decision"], ['kind = "decision"\nformat = 9', "format 9"], ['kind = "decision"\nformat = 1\nstudy = "elsewhere"', "about the study elsewhere"]]) {
    await page.locator("#decision-open").setInputFiles({ name: "x.toml", mimeType: "application/toml", buffer: Buffer.from(file) });
    await page.locator(".decision-state").filter({ hasText: words }).waitFor({ timeout: 3000 }).catch(() => {});
    check(`a wrong file is refused in words: ${words}`, (await page.locator(".decision-state").innerText()).includes(words), await page.locator(".decision-state").innerText());
  }
  check("and what stood there stays", (await picks(page).count()) === HOSTILE.length);
  check("nothing sticks out", await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1));
});
const again = call("review", resolve(run), "--decision", hostile, "--out", join(scratch, "again.html"));
check("the program reads hostile words", again.code === 0, again.err);
await opened(join(scratch, "again.html"), async (page) => {
  check("and puts them onto a page made anew", (await picks(page).count()) === HOSTILE.length && (await page.locator("#decision tr.chosen").count()) === 1);
  check("hostile words still do nothing", (await page.title()).endsWith(": review"));
  check("a page made from a decision has nothing to save", !(await page.locator(".decision-state").innerText()).includes("Not saved"));
});

// Another study, a design that is not there, a damaged file.
const text = readFileSync(saved, "utf8");
for (const [what, changed, words] of [
  ["another study", text.replace(/^study = .*$/m, 'study = "elsewhere"'), "is about the study elsewhere"],
  ["a design that is not there", text.replace(/design = \d+/, "design = 99999999").replace(/^chosen = .*$/m, ""), "the run has no design 99999999"],
  ["other dimensions", text.replace(/(\[pick\.dimensions\]\n[^"]*)"[\d.]+ mm"/, '$1"0.123 mm"'), "is not the one that was picked"],
  ["a line that is no TOML", text.replace("[[pick]]", "[[pick"), "this is no TOML"],
]) {
  writeFileSync(join(scratch, "changed.toml"), changed);
  const said = call("adopt", resolve(run), "--decision", "changed.toml");
  check(`${what} is refused with its place`, said.code === 2 && said.err.includes(words), said.err);
}
await browser.close();
rmSync(scratch, { recursive: true, force: true });
console.log(`${passed} passed, ${failures.length} failed`);
process.exit(failures.length ? 1 : 0);
