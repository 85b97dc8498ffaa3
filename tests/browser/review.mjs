// Checks of the review page in a real browser.
//
//   node review.mjs FOLDER
//
// FOLDER holds the pages that `cargo test --test review_page` writes (target/tmp/review). The browser is the
// Chromium at CHROMIUM, or /usr/bin/chromium. With SHOTS=DIR, screenshots are kept there.
import { existsSync } from "node:fs";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const folder = resolve(process.argv[2] || "../../target/tmp/review");
const executablePath = process.env.CHROMIUM || "/usr/bin/chromium";
if (!existsSync(folder) || !existsSync(executablePath)) {
  console.error(`missing: ${existsSync(folder) ? executablePath : folder}`);
  process.exit(1);
}

const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
let passed = 0;
const failures = [];

function check(what, holds, detail = "") {
  if (holds) passed++;
  else {
    failures.push(what);
    console.error(`failed: ${what}${detail === "" ? "" : ` (${detail})`}`);
  }
}

/** Opens a page, hands it to `steps`, and checks that it asked for nothing and complained of nothing. */
async function visit(file, steps, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1400, height: 1000 }, reducedMotion: "reduce", ...options });
  const page = await context.newPage();
  const complaints = [], requests = [];
  // A driver that draws on the processor tells that it is slow; that is no complaint of the page.
  page.on("console", (message) => { if (["error", "warning"].includes(message.type()) && !message.text().includes("GL Driver Message")) complaints.push(message.text()); });
  page.on("pageerror", (error) => complaints.push(error.message));
  const url = pathToFileURL(`${folder}/${file}`).href;
  page.on("request", (request) => { if (request.url() !== url && !request.url().startsWith("data:")) requests.push(request.url()); });
  try {
    await page.goto(url);
    await steps(page);
    if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/${file}-${passed}.png`, fullPage: true });
  } catch (error) {
    check(`${file}: steps can be done`, false, error.message.split("\n")[0]);
  }
  check(`${file}: no request leaves`, requests.length === 0, requests.join(" "));
  check(`${file}: no error in the console`, complaints.length === 0, complaints.join(" | "));
  await context.close();
}

const status = (page) => page.locator("#status").innerText();
const rows = (page) => page.locator("#table tbody tr:not(.baseline)");
const figure = (text) => Number(text.replace(/\s|\u202f/g, "").replace("−", "-"));
/** Numbers of one column of the list, from the left; the first after the design's number is 0. */
const column = async (page, index) => (await rows(page).locator(`td:nth-child(${index + 2})`).allInnerTexts()).map(figure);
const ordered = (list, down) => list.every((value, i) => i === 0 || (down ? list[i - 1] >= value : list[i - 1] <= value));

await visit("plain.html", async (page) => {
  check("the title names the study", (await page.title()).startsWith("Yaw ring"));
  check("the list holds the front", (await rows(page).count()) >= 100);
  check("the footer says that designs were left out", (await page.locator("#about").innerText()).includes("left out evenly"));
  check("estimates are called estimates", (await page.locator(".cautions").innerText()).includes("Estimates, not a release for manufacture"));

  // Sorting.
  check("the list starts by the first objective", ordered(await column(page, 0), false));
  const stiffness = page.locator("#table thead th").nth(2);
  await stiffness.locator("button").click();
  check("a click on a head sorts, the better end first", ordered(await column(page, 1), true) && (await page.locator("#table th[aria-sort=descending]").count()) === 1);
  await page.locator("#table thead th").nth(2).locator("button").click();
  check("a second click turns the order", ordered(await column(page, 1), false));

  // Limits.
  const all = await page.locator("#table caption").innerText();
  const most = page.getByLabel("mass at most, in g");
  await most.fill("28");
  await most.press("Enter");
  const light = await column(page, 0);
  check("a limit leaves only what is within it", light.length > 0 && light.every((mass) => mass <= 28.005) && (await page.locator("#table caption").innerText()) !== all);
  check("the status line tells how many are left", /\d+ of \d+ candidates within the limits/.test(await status(page)));
  await most.fill("heavy");
  await most.press("Enter");
  check("a limit that is no number is refused in words", (await status(page)).includes("not a number") && (await most.getAttribute("aria-invalid")) === "true");
  await page.getByRole("button", { name: "Clear all limits" }).click();
  check("limits can be cleared", (await page.locator("#table caption").innerText()) === all);
  await page.getByLabel("Limit also").selectOption({ label: "hole in mm" });
  await page.getByLabel("hole at most, in mm").fill("2,8");
  await page.getByLabel("hole at most, in mm").press("Enter");
  check("any column can be limited, with a decimal comma too", (await column(page, 8)).every((hole) => hole <= 2.8));
  await page.getByRole("button", { name: "Clear all limits" }).click();

  // The map: a drag limits, a click opens.
  const map = page.locator("#map svg");
  const box = await map.boundingBox();
  await page.mouse.move(box.x + 200, box.y + 100);
  await page.mouse.down();
  await page.mouse.move(box.x + 500, box.y + 300, { steps: 4 });
  await page.mouse.up();
  check("a box dragged over the map marks what is in it", /^\d+ marked/.test(await page.locator("#marks").innerText()), await page.locator("#marks").innerText());
  await page.getByRole("button", { name: "Limit to the box" }).click();
  check("the box can become limits of both axes", (await page.getByLabel("mass at least, in g").inputValue()) !== "" && (await page.getByLabel("squeeze.stiffness at most, in N/mm").inputValue()) !== "");
  await page.getByRole("button", { name: "Clear all limits" }).click();
  await page.locator("#pick-shade").selectOption({ label: "frequency in Hz" });
  check("the shade is explained", (await page.locator("#legend").innerText()).includes("frequency"));

  // Keyboard: map, then sheet.
  await map.focus();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("ArrowRight");
  const spoken = await status(page);
  check("arrow keys read designs out in words and units", /on the front: mass [\d.]+ g \(.+ (better|worse)\)/.test(spoken), spoken);
  check("the readout says the same", (await page.locator("#readout").innerText()) === spoken);
  await page.keyboard.press("Enter");
  check("Enter opens the sheet and moves there", (await page.locator("article.sheet").count()) === 1 && (await page.evaluate(() => document.activeElement.id)) === "sheet-A");
  await page.getByRole("button", { name: "Close A" }).click();
  check("a sheet closes", (await page.locator("article.sheet").count()) === 0);

  // A row, then a second one beside it.
  await rows(page).nth(1).locator("td").first().click();
  const sheet = page.locator("article.sheet").first();
  check("a click on a row opens its sheet", await sheet.isVisible());
  check("the sheet draws plan, sections and load cases", (await sheet.locator("svg.plan").count()) === 1 && (await sheet.locator("svg.section").count()) >= 1 && (await sheet.locator("svg.load").count()) === 3);
  const words = await sheet.innerText();
  for (const part of ["Measures", "Constraints", "Load cases", "Operations", "Mass", "Geometric rules", "Approved by"]) check(`the sheet has: ${part}`, words.includes(part));
  for (const part of ["Why it is as it is", "What holds it", "stiff enough: 38.3", "costs 0.120 ± 0.010 g of mass", "One step better in mass", "floor 1.2 -> 1.1 mm"]) check(`the sheet says why: ${part}`, words.includes(part));
  for (const part of ["As parts come out", "93.0 % of 256 scattered copies meet every constraint", "99.0 % were asked for", "second set-up 61 %"]) check(`the sheet shows the scatter: ${part}`, words.includes(part));
  check("a neighbour on the front can be opened beside it", (await sheet.locator("button.link").count()) === 1);
  check("what is better or worse is said in words", /(better|worse)/.test(words));
  check("infinite values are a dash", /skin\s+–/.test(words));
  check("the sheet gives the command that evaluates it again", (await sheet.locator("code").textContent()).startsWith("fretwork try yaw-ring.toml --set 'outer_wall="));
  await rows(page).nth(4).locator("button.beside").click();
  check("two sheets stand side by side", (await page.locator(".pair-of-sheets.two article").count()) === 2 && (await page.locator("section.beside tbody tr").count()) > 3);
  const ids = await page.evaluate(() => [...document.querySelectorAll("[id]")].map((node) => node.id));
  check("no name is used twice", new Set(ids).size === ids.length, ids.filter((id, i) => ids.indexOf(id) !== i).slice(0, 4).join(" "));

  // Rows by keyboard, other designs, differences.
  await rows(page).first().locator("button.open").focus();
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Enter");
  check("arrow keys and Enter work in the list", (await page.locator("#table tr.picked").first().getAttribute("data-row")) === (await rows(page).nth(1).getAttribute("data-row")));
  await page.locator("#pick-rows").selectOption("all");
  await page.locator("#pick-figures").selectOption("differences");
  check("differences carry sign and word", /[+−][\d.]+ % (better|worse)/.test(await rows(page).nth(2).innerText()));
  check("long lists say how much they show", (await page.locator("#pages").innerText()).includes("1 to 100 of"));
  await page.locator("#pick-columns summary").click();
  await page.locator("#pick-columns").getByRole("button", { name: "All", exact: true }).click();
  await page.locator("#pick-columns summary").click();
  check("every column can be listed", (await page.locator("#table thead th").count()) >= 23);
  const dominated = rows(page).filter({ has: page.locator("td", { hasText: /^[1-9].* %$/ }) }).first();
  await dominated.locator("button.open").click();
  check("a design without a kept sheet still shows its figures", (await page.locator("article.sheet").first().innerText()).includes("No drawing was kept"));

  const unnamed = await page.evaluate(() => [...document.querySelectorAll("button,select,input,canvas:not([aria-hidden]),svg:not([aria-hidden])")]
    .filter((node) => !(node.labels?.length || node.getAttribute("aria-label") || node.textContent.trim())).map((node) => node.outerHTML.slice(0, 80)));
  check("every control and drawing has a name", unnamed.length === 0, unnamed.join(" "));
  const print = await page.pdf({ preferCSSPageSize: true });
  check("it prints, plots as pictures", print.length > 50_000 && print.includes("/Subtype /Image"));
});

await visit("hostile.html", async (page) => {
  check("a hostile title does nothing", (await page.title()).startsWith("</script>"));
  check("a hostile title is shown as it is", (await page.locator("h1").innerText()).startsWith("</script><script>document.title='taken'"));
  await rows(page).first().locator("button.open").click();
  check("hostile words in a sheet stay words", (await page.locator("article.sheet img:not(.paper-picture), article.sheet script").count()) === 0 && (await page.locator("article.sheet").innerText()).includes("<img src=x"));
  check("long names do not widen the page", await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1));
});

await visit("broken.html", async (page) => {
  check("it says that no design meets every constraint", (await page.locator(".head").innerText()).includes("No design meets every constraint"));
  check("and lists the least violating", (await rows(page).count()) === 40 || (await rows(page).count()) === 39);
  await page.getByRole("button", { name: "open the baseline" }).click();
  check("an infeasible baseline has its sheet", await page.locator("article.sheet").isVisible());
});

await visit("single.html", async (page) => {
  check("a front of one is listed", (await rows(page).count()) === 1);
  await rows(page).first().locator("button.open").click();
  check("and opens", await page.locator("article.sheet svg.plan").isVisible());
});

await visit("crowded.html", async (page) => {
  check("a front of two thousand is listed in pages", /1 to 100 of (1999|2.?000)/.test(await page.locator("#pages").innerText()), await page.locator("#pages").innerText());
  await page.getByRole("button", { name: "Last page" }).click();
  check("the last can be listed", (await page.locator("#pages").innerText()).includes("1901 to ") && (await rows(page).count()) >= 99, await page.locator("#pages").innerText());
});

await visit("empty.html", async (page) => {
  check("an empty run says so", (await page.locator("main").innerText()).includes("This run holds no design"));
});

// Width, colour scheme, contrast.
for (const width of [700, 1400, 2560]) {
  for (const colorScheme of ["light", "dark"]) {
    await visit("plain.html", async (page) => {
      await rows(page).first().locator("button.open").click();
      await rows(page).nth(3).locator("button.beside").click();
      check(`${width} px, ${colorScheme}: nothing sticks out`, await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1));
      const poor = await page.evaluate(poorContrast);
      check(`${width} px, ${colorScheme}: text stands out at 4.5 : 1`, poor.length === 0, poor.slice(0, 3).join(" | "));
    }, { viewport: { width, height: 1000 }, colorScheme });
  }
}

/** Texts whose contrast with what is behind them is below 4.5 : 1 (WCAG 2.2, 1.4.3). */
function poorContrast() {
  const parse = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const light = ([r, g, b]) => {
    const [x, y, z] = [r, g, b].map((c) => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const behind = (node) => {
    for (let up = node; up; up = up.parentElement) {
      const colour = parse(getComputedStyle(up).backgroundColor);
      if (colour.length === 3 || colour[3] === 1) return colour;
    }
    return [255, 255, 255];
  };
  const poor = new Set();
  for (const node of document.querySelectorAll("body *")) {
    const own = [...node.childNodes].some((child) => child.nodeType === 3 && child.textContent.trim());
    // Signs hidden from readers stand beside words that say the same.
    if (!own || !node.getClientRects().length || ["SCRIPT", "STYLE"].includes(node.tagName) || node.closest("[aria-hidden]")) continue;
    const style = getComputedStyle(node);
    const [a, b] = [light(parse(node instanceof SVGElement ? style.fill : style.color)), light(behind(node))].sort((x, y) => y - x);
    if ((a + 0.05) / (b + 0.05) < 4.5) poor.add(`${node.tagName}.${node.className.baseVal ?? node.className}: ${node.textContent.slice(0, 24)}`);
  }
  return [...poor];
}

// Two runs compared.
await visit("comparison.html", async (page) => {
  const row = (index) => page.locator("#table tbody tr").nth(index);
  const heading = () => page.locator("#detail h3").innerText();
  check("the comparison names both runs", (await page.locator(".facts").first().innerText()).includes("ring-002"));
  check("the baseline is picked first", (await heading()).startsWith("baseline"));
  check("both fronts are in each of three plots", (await page.locator(".both svg .was").count()) === 6 && (await page.locator(".both svg .is").count()) === 6);
  check("what is picked is drawn in every plot", (await page.locator(".both svg .went").count()) === 3);
  await row(2).locator("button").click();
  const number = await row(2).locator("button").innerText();
  check("a press on a number shows its figures", (await heading()).startsWith(`design ${number}:`));
  check("and says so", (await status(page)).startsWith(`design ${number}`));
  await page.keyboard.press("ArrowDown");
  const next = await row(3).locator("button").innerText();
  check("the arrow keys go through the list", (await heading()).startsWith(`design ${next}:`));
  const head = await page.locator("#detail thead th").allInnerTexts();
  check("the change is split by cause", head.join(" ") === "figure unit before after change material tools machine", head.join(" "));
  // Shares add up as printed: three digits each.
  const mass = await page.locator("#detail tbody tr").filter({ hasText: /^mass/ }).first().locator("td").allInnerTexts();
  const [change, ...shares] = mass.slice(3).map(figure);
  check("shares of the mass add up to its change", !Number.isFinite(change) || Math.abs(shares.reduce((a, b) => a + b, 0) - change) <= 0.02 * Math.abs(change) + 1e-9, mass.join(" "));
  const all = await page.locator("#table tbody tr").count();
  await page.locator("#pick-fate").selectOption("can't be made");
  const some = await page.locator("#table tbody tr").count();
  check("the list can be cut to one fate", some > 1 && some < all);
  check("all shown share it", (await page.locator("#table tbody tr:not(.baseline) .fate").allInnerTexts()).every((text) => text.includes("can't be made")));
  check("nothing is wider than the page", (await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0);
}, {});
await visit("comparison.html", async (page) => {
  check("nothing is wider than a narrow page", (await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0);
}, { viewport: { width: 700, height: 900 } });

await visit("plain.html", async (page) => {
  const drivers = page.locator("#drivers");
  check("what drives what is a table of dimensions and figures", (await drivers.locator(".shares tbody tr").count()) === 3 && (await drivers.locator(".shares thead th[scope=col]").count()) === 3);
  check("a cell says share and direction in words, not by shade alone", (await drivers.locator(".shares tbody tr").nth(1).locator("td").first().innerText()) === "0.70 +");
  const summary = drivers.locator("summary").first();
  check("the strongest dimensions stand in the summary", (await summary.innerText()).startsWith("mass: hole 0.70, floor 0.25"));
  await summary.focus();
  await page.keyboard.press("Enter");
  check("a figure opens by the keyboard", await drivers.locator("details[open] svg").first().isVisible());
  check("its drawings have names", (await drivers.locator("svg[role=img]:not([aria-label=''])").count()) === 6);
  check("its fit is told", (await drivers.locator("details[open]").innerText()).includes("floor × hole"));
  check("an open figure keeps within the window", await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
});

await browser.close();
console.log(`${passed} passed, ${failures.length} failed`);
process.exit(failures.length ? 1 : 0);
