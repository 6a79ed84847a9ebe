// Pictures of every page, to be looked at: on a phone, a desk and a wall, light and dark.
//   node screenshots.mjs --npm FOLDER --shots FOLDER
import { mkdirSync } from "node:fs";
import { join } from "node:path";

import { go, openPage, options, startBrowser } from "./browser.mjs";
import { startMock } from "./mock.mjs";

const only = process.env.ONLY?.split(","); // names of pages, while one works on them
const caseId = "k3f9a2b1-65536";
const pages = {
  now: "#/now",
  cases: "#/cases",
  case: `#/cases/${caseId}`,
  record: `#/cases/${caseId}/record`,
  unbound: "#/unbound",
  aside: "#/aside",
  instruments: "#/instruments",
  instrument: "#/instruments/B-0042",
  outlets: "#/outlets",
  setup: "#/setup",
};
const screens = { phone: [390, 844], desk: [1280, 900], wall: [2560, 1440] };

async function decideDialog(page) {
  await page.click("#decide");
  if (await page.locator("input[name=token]").isVisible()) {
    await page.fill("input[name=token]", "work-token");
    await page.keyboard.press("Enter");
  }
  await page.waitForSelector("input[name=disposition]");
}

async function sample(page) {
  await page.setInputFiles("#sample", {
    name: "sample.csv",
    mimeType: "text/csv",
    buffer: Buffer.from("no;date\n1;2\n"),
  });
  if (await page.locator("input[name=token]").isVisible()) {
    await page.fill("input[name=token]", "work-token");
    await page.keyboard.press("Enter");
  }
  await page.waitForSelector(".result h3");
}

const moments = {
  decide: ["case", decideDialog],
  preview: ["setup", sample],
  more: [
    "now",
    (page) =>
      page
        .locator("#more")
        .click({ timeout: 500 })
        .catch(() => {}),
  ],
};

mkdirSync(options.shots, { recursive: true });
const mock = await startMock();
const browser = await startBrowser();
for (const [screen, [width, height]] of Object.entries(screens)) {
  for (const scheme of ["light", "dark"]) {
    const { page, context } = await openPage(browser, { width, height, scheme });
    const take = async (name) =>
      page.screenshot({
        path: join(options.shots, `${name}-${screen}-${scheme}.png`),
        fullPage: !["decide", "more"].includes(name),
      });
    for (const [name, hash] of Object.entries(pages)) {
      if (only && !only.includes(name)) continue;
      if (screen === "wall" && !["now", "cases", "case"].includes(name)) continue;
      await go(page, `${mock.url}/${hash}`);
      await page.waitForTimeout(150);
      await take(name);
    }
    for (const [name, [base, act]] of Object.entries(moments)) {
      if (screen === "wall" || (only && !only.includes(name))) continue;
      mock.signOut();
      await page.goto("about:blank");
      await go(page, `${mock.url}/${pages[base]}`);
      await act(page);
      await take(name);
    }
    await context.close();
  }
}
await browser.close();
await mock.close();
