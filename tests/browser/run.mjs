// Opens the review page of a run in headless Chromium and uses it as a reader would.
//
//   node run.mjs results/yaw-ring-001/review.html [folder for pictures]

import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [page_file, pictures] = process.argv.slice(2);
if (!page_file) {
  console.error("which page? node run.mjs results/yaw-ring-001/review.html");
  process.exit(2);
}
const address = pathToFileURL(resolve(page_file)).href;

let passed = 0;
let failed = 0;
function check(what, holds) {
  if (holds) passed += 1;
  else failed += 1;
  console.log(`${holds ? "ok    " : "FAILED"} ${what}`);
}

const context = await chromium.launchPersistentContext(mkdtempSync(join(tmpdir(), "review-")), {
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  headless: true,
  viewport: { width: 1400, height: 1000 },
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const page = context.pages()[0];
const requests = [];
const errors = [];
page.on("request", (request) => requests.push(request.url()));
page.on("pageerror", (error) => errors.push(String(error)));
page.on("console", (message) => {
  if (message.type() === "error") errors.push(message.text());
});

await page.goto(address);
await page.waitForSelector("#table tbody tr");

const outside = requests.filter((url) => url !== address && !url.startsWith("data:"));
check(`no request but the page itself (${outside.join(", ")})`, outside.length === 0);
check(`no error in the console (${errors.join("; ")})`, errors.length === 0);

// The list: sorted by the first objective, sortable by any column from the keyboard.
const column = async (n) => (await page.$$eval(`#table tbody tr:not(.baseline) td:nth-child(${n})`, (cells) => cells.map((cell) => cell.textContent))).map((text) => Number(text.replace(/[\s\u202f]/g, "").replace("−", "-")));
const rising = (values) => values.every((value, i) => i === 0 || values[i - 1] <= value);
const first = await column(2);
check(`${first.length} candidates listed, best first`, first.length > 1 && rising(first));
await page.focus("#table thead th:nth-child(3) button");
await page.keyboard.press("Enter");
const second = await column(3);
check("sorted by another column from the keyboard", rising(second) || rising([...second].reverse()));

// A limit leaves fewer rows, and says so aloud.
const count = async () => Number((await page.textContent("#table caption")).replace(/[\s\u202f]/g, "").match(/^\d+/)[0]);
const before = await count();
const middle = [...first].sort((a, b) => a - b)[Math.floor(first.length / 2)];
await page.fill("#limits .limit input[aria-label*='at most']", String(middle));
await page.keyboard.press("Enter");
const after = await count();
check(`a limit leaves ${after} of ${before}`, after > 0 && after < before);
await page.click("text=Clear all limits");
check("limits cleared", (await count()) === before);

// Another axis for the plot.
const choices = await page.$$eval("#pick-x option", (options) => options.map((option) => option.value));
await page.selectOption("#pick-x", choices[choices.length - 1]);
check("another axis chosen", (await page.inputValue("#pick-x")) === choices[choices.length - 1]);

// A sheet by click, another beside it, closed again.
await page.click("#table tbody tr.baseline button.open");
await page.waitForSelector("article.sheet");
check("a sheet opens", (await page.$$("article.sheet")).length === 1);
check("it has a plan, a section and load cases", (await page.$$("article.sheet svg.plan")).length > 0 && (await page.$$("article.sheet svg.section")).length > 0 && (await page.$$("article.sheet svg.load")).length > 0);
const words = await page.textContent("article.sheet");
check("no figure is NaN or undefined", !/NaN|undefined|Infinity/.test(words));
await page.focus("#table tbody tr:nth-child(4) button.beside");
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.querySelectorAll("article.sheet").length === 2);
check("two sheets side by side", true);
if (pictures) await page.screenshot({ path: join(pictures, "two-sheets.png"), fullPage: true });
await page.click("text=Close B");
check("the second closed again", (await page.$$("article.sheet")).length === 1);

// Every control has a name; nothing is wider than the window from 700 to 2560 pixels.
const unnamed = await page.$$eval("button, input, select", (controls) => controls.filter((control) => !(control.textContent.trim() || control.getAttribute("aria-label") || control.closest("label"))).length);
check("every control has a name", unnamed === 0);
for (const width of [700, 1400, 2560]) {
  await page.setViewportSize({ width, height: 1000 });
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  check(`fits ${width} pixels`, wide <= 1);
  if (pictures) await page.screenshot({ path: join(pictures, `${width}.png`), fullPage: true });
}
check(`still no request and no error (${errors.join("; ")})`, errors.length === 0 && requests.every((url) => url === address || url.startsWith("data:")));

await context.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed ? 1 : 0);
