// Prints pages on A4 and letter, and writes what the browser saw meanwhile as JSON; judges nothing.
// Call: node paper.mjs CHROMIUM FOLDER PAGE.html…
import { readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { basename, join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [, , executablePath, folder, ...pages] = process.argv;
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const args = [
  "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
];
const SIZES = { A4: 210, Letter: 215.9 }; // widths in millimetres
const MARGINS = 24; // millimetres, both sides together
const PIXELS = 96 / 25.4; // of CSS, in a millimetre

const browser = await chromium.launch({ executablePath, args });
const seen = {};
try {
  for (const file of pages) seen[basename(file)] = await look(file);
} finally {
  await browser.close();
}
await writeFile(join(folder, "seen.json"), JSON.stringify(seen));

async function look(file) {
  const context = await browser.newContext({ viewport: { width: 1100, height: 900 } });
  const page = await context.newPage();
  const found = { requests: [], console: [], widths: {} };
  page.on("request", (request) => found.requests.push(request.url()));
  page.on("console", (message) => found.console.push(message.text()));
  page.on("pageerror", (error) => found.console.push(error.message));
  await page.goto(pathToFileURL(file).href);
  found.headings = await page.$$eval("h1, h2, h3, h4, h5", (all) => all.map((h) => Number(h.tagName[1])));
  found.links = await page.$$eval("a[href]", (links) => links.map((link) => link.getAttribute("href")));
  for (const [format, width] of Object.entries(SIZES)) {
    await page.pdf({ path: join(folder, `${basename(file, ".html")}-${format}.pdf`), format, printBackground: true, preferCSSPageSize: true });
    await page.emulateMedia({ media: "print" });
    await page.setViewportSize({ width: Math.round((width - MARGINS) * PIXELS), height: 1000 });
    found.widths[format] = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    await page.emulateMedia({ media: null }); // or the next paper would be printed as a screen
  }
  found.blocks = await page.$$eval(".step, .cautions, div.sign, .signing, .stops, .restart, .ticks li, tbody tr",
    (all) => all.filter((block) => block.checkVisibility()).map((block) => block.innerText.split("\n")));
  await page.setViewportSize({ width: 1100, height: 900 });
  await page.evaluate(axe);
  const result = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  found.axe = result.violations.map((each) => ({ id: each.id, impact: each.impact, nodes: each.nodes.slice(0, 3).map((node) => node.html.slice(0, 200)) }));
  await context.close();
  return found;
}
