// Every page and every action, against mock.mjs: what is asked of the service, what a person reads; axe-core without
// findings in light, dark and the pseudo-language; 320 px without sideways scrolling; by keyboard alone.
//   node pages.mjs --npm FOLDER [--chromium PROGRAM]
import assert from "node:assert/strict";

import {
  expectAccessible,
  expectLargeTargets,
  expectNoSidewaysScroll,
  go,
  openPage,
  settled,
  startBrowser,
} from "./browser.mjs";
import { check, finish } from "./checks.mjs";
import { startMock } from "./mock.mjs";

const caseId = "k3f9a2b1-65536";
const pages = {
  now: "#/now",
  cases: "#/cases",
  case: `#/cases/${caseId}`,
  record: `#/cases/${caseId}/record`,
  "a stock number": "#/subjects/R1099",
  unbound: "#/unbound",
  aside: "#/aside",
  instruments: "#/instruments",
  instrument: "#/instruments/B-0042",
  outlets: "#/outlets",
  setup: "#/setup",
  "a page that failed": "#/cases/nothing",
};
const emptyPages = ["now", "cases", "unbound", "aside", "instruments", "outlets", "setup"];
const refused = ["Failed to load resource"]; // what the browser says of a 4xx that a test provokes

const browser = await startBrowser();

// A page of its own for each check, so that nothing hangs over.
async function on(options, work) {
  const mock = await startMock(options.mock);
  const opened = await openPage(browser, options);
  try {
    await work({
      ...opened,
      mock,
      open: async (name, search = "") => {
        await go(opened.page, `${mock.url}/${search}${pages[name] ?? name}`);
      },
    });
    opened.expectQuiet();
  } finally {
    await opened.context.close();
    await mock.close();
  }
}

async function signIn(page, token) {
  await page.fill("dialog input[name=token]", token);
  await page.keyboard.press("Enter");
}

const told = (page, text) => page.locator("#told", { hasText: text }).waitFor({ timeout: 15_000 });

// --- how each page is

for (const scheme of ["light", "dark"]) {
  await check(`axe-core finds no fault on any page, ${scheme}`, () =>
    on({ scheme, allow: refused }, async ({ page, open }) => {
      for (const name of Object.keys(pages)) {
        await open(name);
        await expectAccessible(page, name);
      }
    }),
  );
}

await check("the dialogs have no fault either", () =>
  on({ allow: refused }, async ({ page, open }) => {
    await open("case");
    await page.click("#decide");
    await expectAccessible(page, "signing in");
    await signIn(page, "work-token");
    await page.locator("input[name=disposition]").first().waitFor();
    await expectAccessible(page, "deciding");
  }),
);

// WCAG 2.2, 1.4.10 (reflow): 320 CSS px. The pseudo-language is longer than any that may come.
await check("320 px are wide enough, in the pseudo-language too, and a thumb hits everything", () =>
  on({ width: 320, height: 640, allow: refused }, async ({ page, open }) => {
    for (const search of ["", "?lang=qps"]) {
      for (const name of Object.keys(pages)) {
        await open(name, search);
        await expectNoSidewaysScroll(page, `${name} ${search}`);
        await expectLargeTargets(page, `${name} ${search}`);
      }
    }
    await page.click("#more");
    await expectNoSidewaysScroll(page, "the open menu");
  }),
);

await check("on a wall of 2560 px nothing is wider than the screen", () =>
  on({ width: 2560, height: 1440 }, async ({ page, open }) => {
    for (const name of ["now", "cases", "case"]) {
      await open(name);
      await expectNoSidewaysScroll(page, name);
    }
  }),
);

// What is not from the catalogue is data: it says translate="no", or its language, or is a <time>.
function plainTexts() {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const { parentElement: parent, data } = walker.currentNode;
    if (!/[A-Za-z]{2}/.test(data) || parent.closest("[translate=no], [lang], time, script, noscript") !== null)
      continue;
    found.push(data.trim());
  }
  for (const name of ["aria-label", "title", "placeholder", "alt", "data-column"]) {
    for (const element of document.querySelectorAll(`[${name}]`)) {
      const value = element.getAttribute(name);
      if (/[A-Za-z]{2}/.test(value) && !value.includes("⟦")) found.push(`${name}: ${value}`);
    }
  }
  return found;
}

await check("every word comes from the catalogue", () =>
  on({ allow: refused }, async ({ page, open }) => {
    for (const name of Object.keys(pages)) {
      await open(name, "?lang=qps");
      assert.deepEqual(await page.evaluate(plainTexts), [], name);
    }
    await expectAccessible(page, "the pseudo-language");
    await open("case", "?lang=qps");
    await page.click("#decide");
    assert.deepEqual(await page.evaluate(plainTexts), [], "signing in");
    await signIn(page, "work-token");
    await page.locator("input[name=disposition]").first().waitFor();
    assert.deepEqual(await page.evaluate(plainTexts), [], "deciding");
  }),
);

await check("every page says the notice, has one heading of the first rank, and a name of its own", () =>
  on({ allow: refused }, async ({ page, open }) => {
    const titles = new Set();
    for (const name of Object.keys(pages)) {
      await open(name);
      assert.match(await page.textContent(".notice"), /^Screening result, not an identification report/, name);
      assert.equal(await page.locator("h1").count(), 1, name);
      titles.add(await page.title());
    }
    assert.equal(titles.size, Object.keys(pages).length);
  }),
);

await check("a shop where nothing happened yet has pages that say so", () =>
  on({ mock: { isEmpty: true } }, async ({ page, open }) => {
    for (const name of emptyPages) {
      await open(name);
      assert.ok((await page.locator(".empty").count()) > 0, name);
      await expectAccessible(page, `empty ${name}`);
    }
  }),
);

await check("a change of page moves the focus to its heading", () =>
  on({}, async ({ page, open }) => {
    await open("now");
    await page.click("nav a[data-section=cases]");
    await page.waitForFunction(
      () => document.activeElement?.tagName === "H1" && document.activeElement.textContent === "Cases",
    );
  }),
);

// --- Now

await check("Now tells what to do with the stone on each bench, and goes on by itself", () =>
  on({}, async ({ page, mock, open }) => {
    await open("now");
    const bench = page.locator("article.bench", { has: page.locator("h2", { hasText: "counter-4" }) });
    assert.equal(await bench.locator(".stock").textContent(), "R1044");
    assert.equal((await bench.locator(".order").textContent()).trim(), "Measure once more");
    const known = mock.day.cases.find(({ line }) => line.key === "R1044");
    const line = {
      ...known.line,
      disposition: "release",
      reason: { code: "as_declared", text: "The runs agree with what was declared." },
      readings: { valid: 2, void: 0, discounted: 0, required: 2 },
    };
    await page.locator("#live", { hasText: "Live" }).waitFor();
    mock.send({ decided: [{ bench: "counter-4", instrument: "D-0003", case: line }] });
    await bench.locator(".order", { hasText: "May go on as declared" }).waitFor({ timeout: 15_000 });
    assert.equal(await bench.locator(".recent li:visible").count(), 0, "the same stone does not stand below itself");
    mock.send({
      decided: [
        {
          bench: "counter-4",
          instrument: "D-0003",
          case: { ...line, id: "new-1", key: "R2000", last_measured_at: new Date().toISOString() },
        },
      ],
    });
    await bench.locator(".stock", { hasText: "R2000" }).waitFor({ timeout: 15_000 });
    assert.match(await bench.locator(".recent li:visible").first().textContent(), /R1044.*May go on/);
  }),
);

await check("what a person decided at a desk does not take a bench's place", () =>
  on({}, async ({ page, mock, open }) => {
    await open("now");
    await page.locator("#live", { hasText: "Live" }).waitFor();
    const { line } = mock.day.cases.find(({ line: one }) => one.key === "R1043");
    mock.send({
      decided: [
        {
          bench: "counter-4",
          instrument: "D-0003",
          case: {
            ...line,
            key: "R0001",
            id: "old",
            by_hand: { who: "Kim", why: "seen" },
            last_measured_at: new Date().toISOString(),
          },
        },
        {
          bench: "counter-2",
          instrument: "B-0042",
          case: { ...line, disposition: "hold", by_hand: { who: "Kim", why: "seen" } },
        },
      ],
    });
    await page
      .locator("article.bench", { hasText: "counter-2" })
      .locator(".order", { hasText: "Hold" })
      .waitFor({ timeout: 15_000 });
    assert.equal(
      await page.locator("article.bench", { hasText: "counter-4" }).locator(".stock").textContent(),
      "R1044",
    );
  }),
);

await check("panels stand in rows of about the same length", () =>
  on({ width: 2560, height: 1440 }, async ({ page, open }) => {
    await open("now");
    const tops = await page.locator("article.bench").evaluateAll((all) => all.map((one) => one.offsetTop));
    assert.equal(tops.length, 6);
    assert.equal(new Set(tops.slice(0, 3)).size, 1);
    assert.equal(new Set(tops).size, 2, "three and three");
  }),
);

await check("a reading without a stock number asks for one", () =>
  on({}, async ({ page, open }) => {
    await open("now");
    const bench = page.locator("article.bench", { hasText: "No bench" });
    assert.match(await bench.textContent(), /Which stone\?.*Give the reading its stock number/);
    await bench.locator(".stock a").click();
    await page.locator("h1", { hasText: "No number" }).waitFor();
  }),
);

await check("what waits for a person is counted, and leads there", () =>
  on({}, async ({ page, open }) => {
    await open("now");
    const tiles = await page.locator(".tiles li").allTextContents();
    assert.deepEqual(tiles, [
      "2on hold",
      "1not to be sold as declared",
      "2for the laboratory",
      "1reading without a number",
      "4set aside unread",
      "1message stuck",
    ]);
    await page.click("#waits-hold");
    await page.locator("h1", { hasText: "Cases" }).waitFor();
    await settled(page);
    assert.deepEqual(await page.locator(".rows .key").allTextContents(), ["R1051", "QS-2026-000317-B"]);
  }),
);

await check("it says when it is not live and since when, comes back, and fetches what it missed", () =>
  on({ allow: ["Failed to load resource", "ERR_"] }, async ({ page, mock, open }) => {
    await open("now");
    await page.locator("#live", { hasText: "Live" }).waitFor();
    mock.die();
    await page.locator(".lost", { hasText: /Not live since \d\d:\d\d/ }).waitFor({ timeout: 15_000 });
    assert.match(await page.textContent("#live"), /Not live since/);
    await expectAccessible(page, "not live");
    Object.assign(mock.day.cases.find(({ line }) => line.key === "R1044").line, { disposition: "hold" });
    mock.rise();
    await page
      .locator("article.bench", { hasText: "counter-4" })
      .locator(".order", { hasText: "Hold" })
      .waitFor({ timeout: 20_000 });
    await page.locator("#live", { hasText: /^Live$/ }).waitFor({ timeout: 20_000 });
    assert.equal(await page.locator(".lost > *").count(), 0);
  }),
);

// --- Cases

await check("a case is found as one types, and the address keeps what was typed", () =>
  on({}, async ({ page, open }) => {
    await open("cases");
    await page.locator("#q").pressSequentially("R1048", { delay: 20 });
    await page.waitForFunction(() => document.querySelectorAll(".rows li").length === 2);
    assert.deepEqual((await page.locator(".rows .key").allTextContents()).sort(), ["R1048#1", "R1048#2"]);
    assert.match(page.url(), /#\/cases\?q=R1048$/);
    await page.selectOption("#disposition", "reject");
    await page.waitForFunction(() => document.querySelectorAll(".rows li").length === 1);
    await page.click(".rows a");
    await page.locator("h1", { hasText: "R1048#2" }).waitFor();
    await page.goBack();
    await page.waitForFunction(() => document.querySelector("#q")?.value === "R1048");
  }),
);

await check("a scanner's line and its Enter open the case", () =>
  on({}, async ({ page, open }) => {
    await open("cases");
    await page.fill("#q", "R1043");
    await page.keyboard.press("Enter");
    await page.locator("h1", { hasText: "R1043" }).waitFor();
  }),
);

await check("a stock number that was never measured tells what the inventory declares", () =>
  on({ allow: refused }, async ({ page, open }) => {
    await open("cases");
    await page.fill("#q", "R1099");
    await page.locator("a", { hasText: "R1099 has no case" }).click();
    await page.locator(".page-subject", { hasText: "Not measured yet" }).waitFor();
    assert.match(await page.textContent("main"), /Carat.*0\.71/);
  }),
);

await check("a case tells its story, why, and what would change it", () =>
  on({}, async ({ page, open }) => {
    await open("case");
    const text = await page.textContent("main");
    for (const part of [
      "Send to the laboratory",
      "The runs disagree",
      "2 of 2 runs",
      "Declared:",
      "B-0042 says: natural",
      "no further evidence",
      "corrected by a newer record of the same run",
      "Rule 4 of policy default, version 1",
      "With a reading that says anything else",
      "97.312 % probable that it is natural (91.2 to 99.9999 %)",
      "natural diamond",
      "stuck, given up",
      "It would say:",
    ]) {
      assert.ok(text.includes(part), `the case does not tell "${part}"`);
    }
    const moments = await page.locator(".time-line li").count();
    assert.equal(moments, 3 + 1 + 2 + 4);
  }),
);

await check("who may only look is asked for a token, and told when it is wrong or does too little", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("case");
    await page.click("#decide");
    await signIn(page, "nonsense");
    await page.locator("dialog [role=alert]", { hasText: "no token is like this" }).waitFor();
    await signIn(page, "look-token");
    await told(page, "with this token you may: look. This needs: work.");
    assert.equal(await page.locator("dialog").count(), 0);
    assert.match(await page.textContent("header"), /desk-2 · look/);
    await page.click("#sign");
    await page.locator("#sign", { hasText: "Sign in" }).waitFor();
    assert.deepEqual(
      mock.posts.map(({ path }) => path),
      ["session", "session"],
    );
  }),
);

await check("deciding by hand works with the keyboard alone, and comes back to where it began", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("now");
    const tabTo = async (selector) => {
      for (let i = 0; i < 60; i += 1) {
        await page.keyboard.press("Tab");
        if (await page.evaluate((wanted) => document.activeElement.matches(wanted), selector)) return;
      }
      assert.fail(`Tab does not come to ${selector}`);
    };
    await page.keyboard.press("Tab");
    assert.equal(
      await page.evaluate(() => document.activeElement.className),
      "skip",
      "the first is the way past the frame",
    );
    await tabTo("nav a[data-section=cases]");
    await page.keyboard.press("Enter");
    await page.locator("h1", { hasText: "Cases" }).waitFor();
    await tabTo("#q");
    await page.keyboard.type("R1043");
    await page.keyboard.press("Enter");
    await page.locator("h1", { hasText: "R1043" }).waitFor();
    await tabTo("#decide");
    const ring = await page.evaluate(() => getComputedStyle(document.activeElement).outlineWidth);
    assert.equal(ring, "3px", "the focus is seen");
    await page.keyboard.press("Enter");
    await page.keyboard.type("work-token");
    await page.keyboard.press("Enter");
    await page.locator("input[name=disposition]").first().waitFor();
    await page.keyboard.press("Space");
    for (let i = 0; i < 2; i += 1) await page.keyboard.press("ArrowDown");
    await page.keyboard.press("Tab");
    await page.keyboard.type("Kim");
    await page.keyboard.press("Tab");
    await page.keyboard.type("seen under the microscope");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Enter");
    await told(page, "Decided.");
    assert.deepEqual(mock.posts.at(-1), {
      path: `cases/${caseId}/decisions`,
      body: { disposition: "hold", sequence: 2, who: "Kim", why: "seen under the microscope" },
    });
    assert.match(
      await page.textContent(".verdict"),
      /Hold: a person must look.*Decided by hand by Kim: seen under the microscope/,
    );
    assert.equal(await page.evaluate(() => document.activeElement.id), "decide", "the focus is back");
  }),
);

await check("a session that ended asks for the token again, and loses nothing of what was written", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("case");
    await page.click("#decide");
    await signIn(page, "work-token");
    await page.click("input[value=hold]");
    await page.fill("input[name=who]", "Kim");
    mock.endSession();
    await page.fill("textarea[name=why]", "to look at");
    await page.click("dialog button[type=submit]");
    await signIn(page, "work-token");
    await told(page, "Decided.");
    assert.equal(mock.posts.at(-1).body.why, "to look at");
  }),
);

await check("a decision that came too late says so, and keeps what was written", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("case");
    await page.click("#decide");
    await signIn(page, "work-token");
    await page.click("input[value=reject]");
    await page.fill("input[name=who]", "Kim");
    await page.fill("textarea[name=why]", "marked");
    mock.day.cases[0].line.sequence = 9;
    await page.click("dialog button[type=submit]");
    await page.locator("dialog [role=alert]", { hasText: "there is a later outcome" }).waitFor();
    assert.match(await page.textContent("dialog [role=alert]"), /decide anew/);
    assert.equal(await page.inputValue("textarea[name=why]"), "marked");
    await page.keyboard.press("Escape");
    await page.locator("dialog").waitFor({ state: "detached" });
  }),
);

await check("the dialog says that it makes no identification, and asks for all that it needs", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("case");
    await page.click("#decide");
    await signIn(page, "work-token");
    await page.locator("input[name=disposition]").first().waitFor();
    assert.match(
      await page.textContent("dialog"),
      /makes no identification: only a gemmological laboratory identifies a stone/,
    );
    const posts = mock.posts.length;
    await page.click("dialog button[type=submit]");
    assert.equal(mock.posts.length, posts);
    assert.equal(await page.locator("dialog :invalid:not(fieldset):not(form)").count(), 5 + 2);
  }),
);

await check("one delivery is sent again", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("case");
    assert.equal(
      await page.locator("table button").count(),
      1,
      "one that waits, was left out or overtaken is not sent again",
    );
    await page.click("#resend-3");
    await signIn(page, "work-token");
    await told(page, "1 message is sent again.");
    assert.equal(mock.posts.at(-1).path, "deliveries/3/resend");
  }),
);

await check("the record prints all facts, the notice and a line to sign, and nothing of the frame", () =>
  on({}, async ({ page, open }) => {
    await open("record");
    await page.emulateMedia({ media: "print" });
    const text = await page.evaluate(() => document.body.innerText);
    for (const part of [
      "Screening record of R1043",
      "Screening result, not an identification report",
      "Send to the laboratory",
      "The runs disagree",
      "default, version 1, rule 4",
      "sha256:",
      "B-0042",
      "corrected by a newer record",
      "Carat",
      "Signature",
      "quay-street",
      "Europe/Brussels",
    ]) {
      assert.ok(text.includes(part), `the record lacks "${part}"`);
    }
    assert.ok(!/Sign in|Cases|Print\b(?!ed)|More/.test(text), "the frame is printed");
    await page.emulateMedia({ media: "screen" });
    await page.evaluate(() => {
      globalThis.print = () => {
        globalThis.printed = true;
      };
    });
    await page.click("text=Print");
    assert.equal(await page.evaluate(() => globalThis.printed), true);
  }),
);

// --- what is stuck

await check("a reading gets its stock number", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("unbound");
    assert.match(await page.textContent("main"), /F-0900 says: natural/);
    await page.click("#bind-77");
    await signIn(page, "work-token");
    await page.fill("input[name=stock_number]", " R1061 ");
    await page.fill("input[name=who]", "Kim");
    await page.fill("textarea[name=why]", "it lay on tray 4");
    await page.click("dialog button[type=submit]");
    await told(page, "The reading belongs to R1061 now.");
    assert.deepEqual(mock.posts.at(-1), {
      path: "readings/77/binding",
      body: { stock_number: "R1061", who: "Kim", why: "it lay on tray 4" },
    });
    await page.locator(".empty", { hasText: "Every reading has its stock number" }).waitFor();
  }),
);

await check("what was set aside stands beside its complaint, by cause, and is tried again", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("aside");
    const first = page.locator("article").first();
    assert.match(
      await first.textContent(),
      /3 times.*8;02\.11\.2026;09:28:00;R1047;Q;12,40;21,9.*column "result" holds "Q"/s,
    );
    await first.locator("summary").click();
    assert.match(await first.locator("details pre").textContent(), /^000000 {2}38 3b 30 32 .*8;02\.11\.2026;0/);
    await page.click("#all-0");
    await page.waitForFunction(() => document.querySelectorAll(".evidences li").length === 3);
    assert.equal(await page.locator("#again-1").count(), 0, "what was not kept cannot be tried again");
    assert.match(await page.locator("article").nth(1).textContent(), /was not kept.*export it again/);
    await page.click("#again-0");
    await signIn(page, "work-token");
    await told(page, "1 document was read again. New: 1 reading. 1 is settled.");
    assert.deepEqual(mock.posts.at(-1), { path: "aside/retries", body: { ids: [2, 2, 2] } });
    await page.waitForFunction(() => document.querySelectorAll("article").length === 1);
  }),
);

await check("instruments tell in words whether their clocks are right", () =>
  on({}, async ({ page, open }) => {
    await open("instruments");
    const rows = await page.locator("tbody tr").allTextContents();
    assert.match(rows[0], /A-0117.*not known: nothing came over a line/);
    assert.match(rows[1], /B-0042.*right, within a minute/);
    assert.match(rows[2], /C-0007.*about 3 min ahead: set the instrument's clock/);
    assert.match(rows[4], /E-1200.*about 15 min behind, or its results come late/);
    assert.match(rows[5], /F-0900.*not in the configuration/);
  }),
);

await check("an instrument's chart is drawn, and a table beside it has the same numbers", () =>
  on({}, async ({ page, open }) => {
    await open("instrument");
    const inked = await page.evaluate(() => {
      const canvas = document.querySelector("canvas");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      return data.some((value, i) => i % 4 === 3 && value > 0);
    });
    assert.ok(inked, "the chart is blank");
    const series = await page.evaluate(() => globalThis.Chart.getChart(document.querySelector("canvas")).data);
    const rows = await page
      .locator("tbody tr")
      .evaluateAll((all) => all.map((row) => [...row.querySelectorAll("td")].map((cell) => Number(cell.textContent))));
    assert.deepEqual(
      rows.reverse(),
      series.labels.map((_, i) => series.datasets.map((one) => one.data[i])),
    );
    const looks = series.datasets.map((one) => `${one.borderDash} ${one.pointStyle}`);
    assert.equal(new Set(looks).size, 3, "told apart by line and marks");
    await page.selectOption("#span", "7");
    await page.waitForFunction(() => document.querySelectorAll("tbody tr").length === 6);
  }),
);

await check("an outlet is paused and resumed, and what is stuck is sent again, by an administrator", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("outlets");
    assert.match(
      await page.locator("article", { hasText: "head-office" }).textContent(),
      /Closed.*answered 410.*Waiting17.*2 days ago/s,
    );
    await page.click("#parked-till");
    await page.locator("li.row", { hasText: "R1043" }).waitFor();
    await page.click("#again-till");
    assert.match(await page.textContent("dialog"), /needs a token of an administrator/);
    await signIn(page, "admin-token");
    await told(page, "1 message is sent again. 2 were overtaken by later answers, and stay. 1 waits already.");
    assert.deepEqual(mock.posts.at(-1), { path: "resends", body: { outlet: "till", parked: true } });
    await page.click("#turn-till");
    await page.fill("input[name=who]", "Kim");
    await page.fill("textarea[name=why]", "the till is moved");
    await page.click("dialog button[type=submit]");
    await told(page, "Paused.");
    assert.deepEqual(mock.posts.at(-1), { path: "outlets/till/pause", body: { who: "Kim", why: "the till is moved" } });
    await page.locator("article", { hasText: "till" }).first().locator(".state", { hasText: "Paused" }).waitFor();
    await page.click("#turn-till");
    await told(page, "It goes on: 2 messages wait.");
  }),
);

await check("a sample is shown as it would be read, chosen or dropped", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    await open("setup");
    await page.setInputFiles("#sample", {
      name: "sample.csv",
      mimeType: "text/csv",
      buffer: Buffer.from("no;date\n1;2\n"),
    });
    await signIn(page, "work-token");
    await page.locator(".result h3", { hasText: "How sample.csv would be read" }).waitFor();
    assert.match(
      await page.textContent(".result"),
      /2 records would be taken\. 1 would be set aside\. 1 would be passed over/,
    );
    assert.deepEqual(mock.posts.at(-1), { path: "intakes/counter-1-exports/preview", body: "no;date\n1;2\n" });
    await expectAccessible(page, "a preview");
    await page.evaluate(() => {
      const transfer = new DataTransfer();
      transfer.items.add(new File(["other"], "dropped.csv"));
      document
        .querySelector(".drop")
        .dispatchEvent(new DragEvent("drop", { dataTransfer: transfer, bubbles: true, cancelable: true }));
    });
    await page.locator(".result h3", { hasText: "dropped.csv" }).waitFor();
    assert.equal(mock.posts.at(-1).body, "other");
    const posts = mock.posts.length;
    await page.setInputFiles("#sample", {
      name: "large.csv",
      mimeType: "text/csv",
      buffer: Buffer.alloc((1 << 20) + 1, "a"),
    });
    await page.locator(".problem", { hasText: "larger than 1 MiB" }).waitFor();
    assert.equal(mock.posts.length, posts);
  }),
);

await check("what came from outside is text, never markup", () =>
  on({ allow: refused }, async ({ page, open, mock }) => {
    const evil = '<img src=x onerror="globalThis.hit=1"><script>globalThis.hit=1</script>';
    const { line } = mock.day.cases[0];
    Object.assign(line, { key: evil, stock_number: evil, reason: { code: evil, text: evil } });
    mock.day.asides[0].text = evil;
    mock.day.asides[0].reason = evil;
    mock.day.outlets[0].why = evil;
    for (const name of ["now", "cases", "case", "record", "aside", "outlets"]) {
      await open(name);
      assert.equal(await page.locator("main img, main script").count(), 0, name);
      assert.ok((await page.textContent("main")).includes(evil), name);
    }
    assert.equal(await page.evaluate(() => globalThis.hit), undefined);
  }),
);

await browser.close();
finish();
