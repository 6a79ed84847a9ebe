// A browser for the tests: whatever it complains of fails the test.
import assert from "node:assert/strict";
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";
import { parseArgs } from "node:util";

// --npm FOLDER has node_modules; --chromium is the browser's program; --shots FOLDER gets screenshots; --girdled is the
// program under test.
const text = { type: "string" };
export const options = parseArgs({ options: { npm: text, chromium: text, shots: text, girdled: text } }).values;

const require = createRequire(resolve(options.npm ?? ".", "package.json"));
const { chromium } = require("playwright-core");
const axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

export async function startBrowser() {
  const executablePath = options.chromium ?? "/usr/bin/chromium";
  return chromium.launch({ executablePath, args: process.getuid() === 0 ? ["--no-sandbox"] : [] });
}

// While one works on the pages: GIRDLE_PAGES=daemon/api/console has them taken from there, and not from the program.
const ownPages = process.env.GIRDLE_PAGES;

function takeFromFolder(route) {
  const path = join(ownPages, new URL(route.request().url()).pathname.slice("/console/".length));
  return existsSync(path) ? route.fulfill({ path }) : route.continue();
}

// A page whose console errors, exceptions and violations of the content policy are kept in `complaints`. `allow`: texts
// of those that a test provokes.
export async function openPage(browser, { width = 1280, height = 900, scheme = "light", allow = [], ...more } = {}) {
  // axe is put in by the debugger, which the page's own policy for scripts does not bind.
  const context = await browser.newContext({
    viewport: { width, height },
    colorScheme: scheme,
    reducedMotion: "reduce",
    ...more,
  });
  if (ownPages !== undefined) await context.route(/\/console\//, takeFromFolder);
  const page = await context.newPage();
  page.setDefaultTimeout(15_000);
  const complaints = [];
  page.on("console", (message) => {
    if (message.type() !== "error" && message.type() !== "warning") return;
    if (!allow.some((text) => message.text().includes(text))) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(`${error.message} ${error.stack}`));
  await page.addInitScript(() => {
    document.addEventListener("securitypolicyviolation", (event) =>
      console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`),
    );
  });
  return { page, context, complaints, expectQuiet: () => assert.deepEqual(complaints, []) };
}

export async function go(page, url) {
  await page.goto(url);
  await settled(page);
}

// Until a page of the console has shown all that it fetched at first.
export async function settled(page) {
  await page.waitForFunction(
    () => document.querySelector("main h1") !== null && document.querySelector("main[aria-busy]") === null,
  );
}

// Rules of WCAG 2.2 A and AA, and axe's own good practice.
export async function expectAccessible(page, where) {
  await page.evaluate(axeSource);
  const { violations } = await page.evaluate(() =>
    globalThis.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }),
  );
  const found = violations.flatMap(({ id, nodes }) =>
    nodes.map((node) => `${id}: ${node.html} ${node.failureSummary}`),
  );
  assert.deepEqual(found, [], `axe-core finds faults on ${where}`);
}

// WCAG 2.2, 1.4.10: at 320 px nothing scrolls sideways but what must keep its two dimensions.
export async function expectNoSidewaysScroll(page, where) {
  const {
    wide,
    window: width,
    culprits,
  } = await page.evaluate(() => ({
    wide: document.documentElement.scrollWidth,
    window: document.documentElement.clientWidth,
    culprits: [...document.querySelectorAll("body *")]
      .filter(
        (e) =>
          e.closest(".scroll, pre, .unseen, .paper section") === null &&
          e.getBoundingClientRect().right > document.documentElement.clientWidth + 1,
      )
      .map((e) => `${e.tagName}.${e.className}`)
      .slice(0, 8),
  }));
  assert.ok(wide <= width, `${where} is ${wide} px wide in a window of ${width} px: ${culprits}`);
}

// WCAG 2.2, 2.5.8 asks for 24 px; a thumb at a counter for 44.
export async function expectLargeTargets(page, where) {
  const small = await page.evaluate(() =>
    [
      ...document.querySelectorAll(
        "button, .button, nav a, input, select, textarea, summary, .row, .tiles a, .recent a",
      ),
    ]
      .filter((e) => e.checkVisibility() && e.closest(".drop") === null && e.type !== "radio")
      .map((e) => ({ what: e.outerHTML.slice(0, 120), height: e.getBoundingClientRect().height }))
      .filter(({ height }) => height < 43.5),
  );
  assert.deepEqual(small, [], `too small for a thumb on ${where}`);
}
