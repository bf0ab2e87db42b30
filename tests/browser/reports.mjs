// Every sheet in a real browser: readable without a script, on a phone and a desk, light and dark, and on paper.
//
// Makes them from demo-data and from run files that strain them, and exits with 1 where one fails. DOGDAYS names the
// program, CHROMIUM the browser.
import { execFileSync, spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const here = dirname(fileURLToPath(import.meta.url));
const program = process.env.DOGDAYS ?? join(here, "../../target/debug/dogdays");
const browserPath = process.env.CHROMIUM ?? "/usr/bin/chromium";
if (!existsSync(browserPath) && !process.env.CI) {
  console.log(`skipped: there is no ${browserPath}; name a browser with CHROMIUM`);
  process.exit(0);
}
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const folder = mkdtempSync(join(tmpdir(), "sheets-"));
const faults = [];
let checks = 0;
const check = (holds, text) => {
  checks += 1;
  if (!holds) faults.push(text);
};

cpSync(join(here, "../../demo-data"), folder, { recursive: true });
const demo = readFileSync(join(folder, "run.toml"), "utf8");
const named = (name) => demo.replace("Pump housing for Orvelsby waterworks", name);
const runs = {
  "long.toml": named("A pump housing with a name that nobody shortened ".repeat(12).trim()),
  "one-word.toml": named("x".repeat(300)),
  "right-to-left.toml": named("غطاء المضخة \\u202e للمحطة — בית משאבה"),
  "cjk.toml": named("ポンプハウジング 泵壳 펌프 하우징 ".repeat(4)),
  "hostile.toml": named("<script>document.title='owned'</script><svg onload=alert(1)>&amp;"),
  "one-hour.toml": demo.replace('"121 h"', '"1 h"').replace('"2.3 kg"', '"12 g"'),
  "sixty-days.toml": demo
    .replace('"121 h"', '"60 day"')
    .replace('series = "weather.csv"', 'mean = "31 degC"\nswing = "4 K"'),
  "tropics.toml": demo.replace('series = "weather.csv"', 'series = "weather.csv"\nshift = "9 K"'),
  "spools.toml": `${demo}\n[spool]\nmass = "1 kg"\n[shop]\nhours = "Mon-Fri 08:00-18:00"\n`,
  "small.toml": demo
    .replace('name = "bench-220"', 'name = "bench-60"')
    .replace('"2.3 kg"', '"300 g"')
    .replace('"180 cm2"', '"60 cm2"'),
};
for (const [file, text] of Object.entries(runs)) writeFileSync(join(folder, file), text);

const sheets = [
  ["check", ["check", "run.toml"]],
  ["compare", ["compare", "run.toml"]],
  ["size-fan", ["size-fan", "run.toml"]],
  ["season", ["season", "run.toml", "--weather", "summer.csv"]],
  ["calibrate", ["calibrate", "run.toml", "--log", "first-day.csv"]],
  ["failures", ["check", "failures.toml"]],
  ["us", ["check", "run.toml", "--units", "us"]],
  ["no safe start", ["season", "tropics.toml", "--weather", "summer.csv", "--starts", "6 h"]],
  ...Object.keys(runs).map((file) => [file, ["check", file, "--samples", "64"]]),
];

const pages = new Map();
for (const [name, words] of sheets) {
  const file = `sheet-${pages.size}.html`;
  const made = spawnSync(resolve(program), [...words, "--report", file, "--force"], {
    cwd: folder,
    encoding: "utf8",
  });
  check([0, 10, 20, 30].includes(made.status), `${name}: ${made.status} ${made.stderr}`);
  if ([0, 10, 20, 30].includes(made.status)) pages.set(name, join(folder, file));
}

const browser = await chromium.launch({
  executablePath: browserPath,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-quic"],
});

// What is wrong with the layout of a page, in words.
const layout = () => {
  const wrong = [];
  const root = document.documentElement;
  if (root.scrollWidth > innerWidth) wrong.push(`wider than the screen by ${root.scrollWidth - innerWidth} px`);
  for (const svg of document.querySelectorAll("svg.drawing")) {
    const frame = svg.getBoundingClientRect();
    if (frame.width === 0) continue;
    const texts = [...svg.querySelectorAll("text")].map((text) => [text.textContent, text.getBoundingClientRect()]);
    for (const [words, box] of texts) {
      if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1 || box.bottom > frame.bottom + 3) {
        wrong.push(`"${words}" leaves ${svg.id}`);
      }
    }
    // A line's box has room above and below its letters: a fifth of it may be another's.
    const slack = (box) => 0.2 * box.height;
    texts.forEach(([words, a], k) => {
      for (const [other, b] of texts.slice(k + 1)) {
        const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (wide > 1 && high > slack(a) + slack(b)) wrong.push(`"${words}" and "${other}" overlap in ${svg.id}`);
      }
    });
  }
  return wrong;
};

// Widths of words as they were measured: the page's own font is used.
const fontIsOwn = async () => {
  await document.fonts.ready;
  return [...document.fonts].filter((font) => font.status === "loaded").length === 2;
};

// What looks for faults of the layout must find one that was made.
{
  const page = await browser.newPage();
  await page.goto(`file://${pages.get("check")}`);
  await page.evaluate(() => {
    const text = document.querySelector(".wide svg.drawing text");
    text.after(text.cloneNode(true));
  });
  check((await page.evaluate(layout)).length === 1, "an overlap that was made is not found");
  await page.close();
}

for (const [name, file] of pages) {
  const url = `file://${file}`;
  check(statSync(file).size < 2_500_000, `${name}: ${statSync(file).size} bytes`);
  for (const width of [390, 1280]) {
    for (const colorScheme of ["light", "dark"]) {
      const where = `${name}, ${width} px, ${colorScheme}`;
      const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme, bypassCSP: true });
      const page = await context.newPage();
      page.on("console", (message) => {
        if (["error", "warning"].includes(message.type())) check(false, `${where}: ${message.text()}`);
      });
      page.on("pageerror", (error) => check(false, `${where}: ${error.message}`));
      page.on("dialog", (dialog) => { check(false, `${where}: ${dialog.message()}`); dialog.dismiss(); });
      page.on("request", (request) => {
        const own = request.url().startsWith("file:") || request.url().startsWith("data:");
        check(own, `${where}: asks for ${request.url()}`);
      });
      await page.goto(url);
      check(await page.evaluate(fontIsOwn), `${where}: the font of the page was not used`);
      for (const wrong of await page.evaluate(layout)) check(false, `${where}: ${wrong}`);
      check((await page.title()) !== "owned", `${where}: a name ran as a script`);
      await page.evaluate(axe);
      const found = await page.evaluate(() => axe.run());
      for (const v of found.violations) {
        check(false, `${where}: axe ${v.impact} ${v.id}: ${v.nodes[0].html.slice(0, 160)}`);
      }
      await context.close();
    }
  }
  // Without a script, and on paper.
  const context = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 1280, height: 900 } });
  const page = await context.newPage();
  await page.goto(url);
  const text = await page.locator("body").innerText();
  check(text.includes("How to make this sheet again"), `${name}: not readable without a script`);
  for (const format of ["A4", "Letter"]) {
    const paper = join(folder, "paper.pdf");
    await page.pdf({ path: paper, format, preferCSSPageSize: false });
    const pages = Number(/Pages:\s+(\d+)/.exec(execFileSync("pdfinfo", [paper], { encoding: "utf8" }))[1]);
    check(pages >= 3 && pages <= 30, `${name}: ${pages} sheets of ${format}`);
    const printed = execFileSync("pdftotext", ["-layout", paper, "-"], { encoding: "utf8" });
    for (const words of ["signature", `Sheet ${pages} of ${pages}`, "Every value"]) {
      check(printed.includes(words), `${name} on ${format}: "${words}" is not printed`);
    }
    // Each sheet has something on it besides its number.
    printed.split("\f").slice(0, pages).forEach((sheet, k) => {
      check(sheet.trim().length > 40, `${name} on ${format}: sheet ${k + 1} is empty`);
    });
  }
  await context.close();
}
await browser.close();
rmSync(folder, { recursive: true });
for (const fault of faults) console.error(`- ${fault}`);
console.log(`${checks - faults.length} passed, ${faults.length} failed`);
process.exit(faults.length > 0 ? 1 : 0);
