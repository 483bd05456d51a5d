// Drives a browser over a report and writes what it saw as JSON; judges nothing.
// Call: node drive.mjs CHROMIUM REPORT.html FOLDER
import { readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [, , executablePath, report, folder] = process.argv;
const address = pathToFileURL(report).href;
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const args = [
  "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
];

const PAPER_WIDTH = 703; // pixels of 186 mm, which is A4 less the margins of the style

const browser = await chromium.launch({ executablePath, args });
const seen = { requests: [], console: [] };
try {
  await withPage({}, async (page) => {
    seen.headings = await page.$$eval("h1, h2, h3, h4, h5", (found) => found.map((h) => Number(h.tagName[1])));
    seen.deadLinks = await page.$$eval("a", (links) => links.map((link) => link.getAttribute("href"))
      .filter((href) => !href.startsWith("#") || !document.getElementById(href.slice(1))));
    seen.whole = await state(page);
    seen.mouse = await byMouse(page);
  });
  await withPage({}, async (page) => { seen.keyboard = await byKeyboard(page); });
  await withPage({}, async (page) => { seen.revealed = await followLink(page); });
  await withPage({ viewport: { width: 400, height: 800 } }, async (page) => { seen.ways = await waysOf(page); });
  seen.axe = {
    light: await accessibility({ colorScheme: "light" }),
    dark: await accessibility({ colorScheme: "dark" }),
    narrow: await accessibility({ colorScheme: "light", viewport: { width: 400, height: 800 } }),
    narrowDark: await accessibility({ colorScheme: "dark", viewport: { width: 400, height: 800 } }),
  };
  await withPage({ viewport: { width: 400, height: 800 } }, async (page) => {
    await openAll(page);
    seen.narrowWidth = await page.evaluate(() => document.documentElement.scrollWidth);
  });
  await withPage({ javaScriptEnabled: false }, async (page) => { seen.withoutScript = await state(page); });
  seen.shared = await shareLink();
  await withPage({}, async (page) => { seen.rows = await print(page, "report.pdf"); });
  await withPage({}, async (page) => {
    await page.selectOption("[name=family]", "services");
    seen.filteredRows = await print(page, "filtered.pdf");
  });
  await withPage({}, async (page) => {
    await page.check("#everything");
    seen.everyRow = await print(page, "everything.pdf");
  });
} finally {
  await browser.close();
}
await writeFile(join(folder, "seen.json"), JSON.stringify(seen));

async function withPage(options, use, fragment = "") {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  page.on("request", (request) => seen.requests.push(request.url().split("#")[0]));
  page.on("console", (message) => seen.console.push(message.text()));
  page.on("pageerror", (error) => seen.console.push(error.message));
  await page.goto(address + fragment);
  await use(page);
  await context.close();
}

// What of the findings is on show, and what the page says of it.
async function state(page) {
  const visible = (rows) => rows.filter((row) => !row.hidden && !row.closest("details[hidden], section[hidden]")).length;
  return {
    findings: await page.$$eval("#findings tbody[data-c]", visible),
    bands: await page.$$eval("#findings .band:not([hidden])", (found) => found.map((band) => band.dataset.b)),
    families: await page.$$eval("#findings .band:not([hidden]) .rule:not([hidden])",
      (found) => [...new Set(found.map((rule) => rule.dataset.f))].sort()),
    cards: await page.$$eval("#findings tbody[data-c]:not([hidden])",
      (found) => [...new Set(found.map((row) => row.querySelector("th").firstChild.textContent))].sort()),
    says: await page.textContent("#shown"),
    formShown: await page.isVisible("#filters"),
  };
}

async function settled(page, act) {
  await act();
  await page.waitForTimeout(400); // longer than the pause that typing is given
  return state(page);
}

async function byMouse(page) {
  const results = {};
  results.highOnly = await settled(page, async () => {
    for (const box of await page.$$("input[name=band]:not([value=high])")) await box.click();
  });
  results.cleared = await settled(page, () => page.click("button[type=reset]"));
  results.family = await settled(page, () => page.selectOption("[name=family]", "services"));
  await page.click("button[type=reset]");
  results.fails = await settled(page, () => page.selectOption("[name=outcome]", "fail"));
  results.unknowns = await settled(page, () => page.selectOption("[name=outcome]", "unknown"));
  await page.click("button[type=reset]");
  results.site = await settled(page, () => page.selectOption("[name=site]", { label: "South" }));
  await page.click("button[type=reset]");
  results.card = await settled(page, () => page.selectOption("[name=card]", { label: "north-ups-02" }));
  await page.click("button[type=reset]");
  results.text = await settled(page, () => page.fill("[name=text]", "wifi north-ups-02"));
  results.textOpens = await page.$$eval("#findings .rule:not([hidden])", (found) => found.every((rule) => rule.open));
  results.nothing = await settled(page, () => page.fill("[name=text]", "no such words"));
  await page.click("button[type=reset]");
  const cell = page.locator(".grid [role=row][data-c] [role=cell]", { has: page.locator("title", { hasText: "services: critical" }) });
  results.cell = await settled(page, () => cell.first().click());
  return results;
}

async function tabTo(page, selector) {
  for (let step = 0; step < 200; step += 1) {
    if (await page.evaluate((wanted) => document.activeElement.matches(wanted), selector)) return true;
    await page.keyboard.press("Tab");
  }
  return false;
}

async function byKeyboard(page) {
  const results = {};
  await page.keyboard.press("Tab");
  results.first = await page.evaluate(() => document.activeElement.className);
  await page.keyboard.press("Enter");
  results.afterSkip = await page.evaluate(() => document.activeElement.id);
  results.reachedBox = await tabTo(page, "input[name=band][value=critical]");
  results.noCritical = await settled(page, () => page.keyboard.press("Space"));
  results.reachedFamily = await tabTo(page, "[name=family]");
  results.firstFamily = await settled(page, () => page.keyboard.press("ArrowDown"));
  results.reachedClear = await tabTo(page, "button[type=reset]");
  results.cleared = await settled(page, () => page.keyboard.press("Enter"));
  results.reachedRule = await tabTo(page, "#findings summary");
  const isOpen = () => page.$eval("#findings summary", (summary) => summary.parentNode.open);
  const before = await isOpen();
  await page.keyboard.press("Enter");
  results.ruleToggles = before !== await isOpen();
  results.focusShows = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle);
  return results;
}

async function followLink(page) {
  await page.click("#cards summary");
  const href = await page.getAttribute("#cards .tasks a", "href");
  await page.click("#cards .tasks a");
  await page.waitForTimeout(200);
  return page.$eval(href, (target) => ({ open: target.open, inView: Math.abs(target.getBoundingClientRect().top) < innerHeight }));
}

// The pictures and tables of ways, and what the keyboard alone does with them on a narrow screen.
async function waysOf(page) {
  const ways = await page.evaluate(() => ({
    after: document.querySelector("#verdict").nextElementSibling.id,
    cards: document.querySelectorAll("details.card").length,
    pictures: document.querySelectorAll("details.card figure.ways svg[role=img]").length,
    tables: document.querySelectorAll("details.card table.waylist").length,
  }));
  await page.click("#cards details.card > summary");
  await page.focus("#cards details.card > summary");
  ways.reachedPicture = await tabTo(page, "#cards figure.ways");
  for (let step = 0; step < 5; step += 1) await page.keyboard.press("ArrowRight");
  await page.waitForTimeout(300); // scrolling is smooth
  ways.scrolled = await page.evaluate(() => document.activeElement.scrollLeft);
  ways.reachedTable = await tabTo(page, "#cards .waytable > summary");
  await page.keyboard.press("Enter");
  ways.opens = await page.$eval("#cards .waytable", (details) => details.open);
  return ways;
}

async function openAll(page) {
  await page.$$eval("details", (found) => { for (const details of found) details.open = true; });
}

async function accessibility(options) {
  let violations;
  await withPage(options, async (page) => {
    await openAll(page);
    await page.evaluate(axe);
    const result = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
    violations = result.violations.map((found) => ({
      id: found.id, impact: found.impact, nodes: found.nodes.slice(0, 3).map((node) => node.html.slice(0, 200)),
    }));
  });
  return violations;
}

// A filter in the address of one page, and what another page makes of it; then of addresses that lie.
async function shareLink() {
  const results = {};
  await withPage({}, async (page) => {
    await page.click("input[name=band][value=medium]");
    await page.selectOption("[name=site]", { label: "South" });
    await page.selectOption("[name=outcome]", "fail");
    results.sent = await settled(page, () => page.fill("[name=text]", "south-pdu"));
    results.fragment = new URL(page.url()).hash;
    await settled(page, () => page.click("button[type=reset]"));
    results.afterClear = new URL(page.url()).hash;
  });
  const open = async (fragment) => {
    let found;
    await withPage({}, async (page) => { found = await settled(page, () => {}); found.fragment = new URL(page.url()).hash; }, fragment);
    return found;
  };
  results.received = await open(results.fragment);
  results.unknownCard = await open("#findings?card=%3Cb%3Enobody%3C%2Fb%3E");
  results.broken = await open("#findings?card=%E0%A4%A&severity=%&&x=1");
  results.noFragment = await open("#%E0%A4%A");
  await withPage({}, async (page) => {
    results.followed = await settled(page, () => page.evaluate((hash) => { location.hash = hash; }, results.fragment));
  });
  return results;
}

// The report on A4, and the text of every row, list item and drawing's row as print shows it.
async function print(page, name) {
  await page.pdf({ path: join(folder, name), format: "A4", printBackground: true });
  await page.emulateMedia({ media: "print" });
  await page.setViewportSize({ width: PAPER_WIDTH, height: 1000 });
  if (await page.isChecked("#everything")) await openAll(page);
  (seen.pictures ??= []).push(await page.$$eval("main figure.ways svg", (found) => found
    .filter((svg) => svg.checkVisibility())
    .map((svg) => [...svg.querySelectorAll("text")].map((text) => text.textContent))));
  (seen.paperWidths ??= []).push(await page.evaluate(() => document.documentElement.scrollWidth));
  return page.$$eval("main tr, main .steps li", (rows) => rows.filter((row) => row.checkVisibility())
    .map((row) => ({ text: row.innerText, isFinding: Boolean(row.closest(".listed tbody, tbody[data-c]")) })));
}
