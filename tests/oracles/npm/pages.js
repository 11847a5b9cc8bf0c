// node pages.js CHROMIUM FILE...: one line of JSON per HTML file, what html-validate and axe-core find in it, what it
// asks the network for, and whether anything is wider than a screen of 900 or 360 pixels.
const fs = require("fs");
const path = require("path");
const { pathToFileURL } = require("url");
const { HtmlValidate } = require("html-validate");
const { chromium } = require("playwright-core");

const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const markup = new HtmlValidate({ extends: ["html-validate:recommended"], root: true });
const WIDTHS = [900, 360];

async function validated(file) {
  const report = await markup.validateString(fs.readFileSync(file, "utf8"));
  return report.results.flatMap((r) => r.messages.map((m) => `${m.ruleId}, line ${m.line}: ${m.message}`));
}

async function accessible(page) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations", "incomplete"] }));
  const told = (list) => list.flatMap((v) => v.nodes.map((n) => `${v.id}: ${v.help}: ${n.html.slice(0, 160)}`));
  return { axe: told(found.violations), undecided: told(found.incomplete), passed: found.passes.length };
}

async function wide(page) {
  const found = [];
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: 1000 });
    const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    if (over > 0) found.push(`${over} px wider than ${width} px`);
  }
  return found;
}

async function main() {
  const [executablePath, ...files] = process.argv.slice(2);
  const browser = await chromium.launch({ executablePath, args: ["--no-sandbox", "--disable-gpu"] });
  const context = await browser.newContext({ bypassCSP: true, viewport: { width: 900, height: 1000 } });
  for (const file of files) {
    const page = await context.newPage();
    const asked = [];
    page.on("request", (request) => asked.push(request.url()));
    await page.goto(pathToFileURL(path.resolve(file)).href);
    const found = { html: await validated(file), ...(await accessible(page)), wide: await wide(page) };
    console.log(JSON.stringify({ ...found, asked: asked.slice(1) }));
    await page.close();
  }
  await browser.close();
}

main().catch((error) => {
  console.error(error);
  process.exit(1);
});
