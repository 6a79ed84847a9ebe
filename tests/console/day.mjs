// A person's morning with the real program and the example's data, in a browser: every page, every action.
//   node day.mjs --npm FOLDER --girdled PROGRAM [--chromium PROGRAM]
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

import { expectAccessible, expectNoSidewaysScroll, go, openPage, options, startBrowser } from "./browser.mjs";
import { check, finish } from "./checks.mjs";
import { Shop, exportBytes, until, withoutNumber } from "./shop.mjs";

const shop = await Shop.open(options.girdled);
const browser = await startBrowser();
const { page, expectQuiet } = await openPage(browser, { allow: ["Failed to load resource", "ERR_"] });

const open = (hash) => go(page, `${shop.url}/${hash}`);
const told = (text) => page.locator("#told", { hasText: text }).waitFor({ timeout: 10_000 });
const bench = (name) => page.locator("article.bench", { has: page.locator("h2", { hasText: name }) });
const caseId = async (key) => (await shop.get(`/api/v1/cases?q=${encodeURIComponent(key)}`)).items[0].id;

async function signIn(token) {
  await page.fill("dialog input[name=token]", token);
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.querySelector("dialog input[name=token]") === null);
}

async function sign({ who, why }) {
  await page.fill("input[name=who]", who);
  await page.fill("textarea[name=why]", why);
  await page.click("dialog button[type=submit]");
}

try {
  const [work, admin] = [shop.token("desk-2", "work"), shop.token("owner", "admin")];

  await check("before the first stone, every bench says so", async () => {
    await open("#/now");
    assert.deepEqual(
      await page.locator("article.bench .order:visible").allTextContents(),
      Array(3).fill("Nothing measured yet"),
    );
    await page.locator("#live", { hasText: /^Live$/ }).waitFor();
    await expectAccessible(page, "an empty shop");
  });

  await check("the morning comes onto the open page by itself", async () => {
    await shop.playMorning();
    await bench("counter-1").locator(".stock", { hasText: "R1047" }).waitFor({ timeout: 10_000 });
    assert.match(await bench("counter-1").locator(".order").textContent(), /Send to the laboratory/);
    await bench("counter-3").locator(".order", { hasText: "Do not sell as declared" }).waitFor({ timeout: 10_000 });
    await bench("counter-1").locator(".recent li:visible", { hasText: "R1045" }).waitFor({ timeout: 10_000 });
    await page.locator("#waits-reject .n", { hasText: /^1$/ }).waitFor({ timeout: 20_000 });
  });

  await check(
    "a newcomer finds the refused stone, understands why, decides it by hand, and prints the record",
    async () => {
      await open("#/now");
      await page.click("#waits-reject");
      await page.locator(".rows .key", { hasText: "R1048#2" }).click();
      await page.locator("h1", { hasText: "R1048#2" }).waitFor();
      const text = await page.textContent("main");
      for (const part of [
        "Do not sell as declared",
        "The runs agree on a simulant",
        "C-0007 says: simulant",
        "Rule 9 of policy default",
      ]) {
        assert.ok(text.includes(part), `the case does not tell "${part}"`);
      }
      await page.click("#decide");
      await signIn(work);
      await page.click("input[value=hold]");
      await sign({ who: "Kim", why: "the ticket was on the wrong tray" });
      await told("Decided.");
      await page.locator(".verdict", { hasText: "Hold: a person must look" }).waitFor();
      assert.match(await page.textContent(".verdict"), /Decided by hand by Kim: the ticket was on the wrong tray/);
      await shop.heard("R1048#2", "hold");
      await page.click("#record");
      await page.locator("h1", { hasText: "Screening record of R1048#2" }).waitFor();
      await page.emulateMedia({ media: "print" });
      const paper = await page.evaluate(() => document.body.innerText);
      for (const part of [
        "Hold: a person must look",
        "Kim: the ticket was on the wrong tray",
        "Do not sell as declared",
        "Screening result, not an identification report",
        "Signature",
      ]) {
        assert.ok(paper.includes(part), `the record lacks "${part}"`);
      }
      await page.emulateMedia({ media: null });
    },
  );

  await check("who is signed in is shown, and another tab's decision makes ours too late", async () => {
    await open(`#/cases/${await caseId("R1043")}`);
    assert.match(await page.textContent("header"), /desk-2 · work/);
    await page.click("#decide");
    await page.click("input[value=hold]");
    const { outcome } = await shop.get(`/api/v1/cases/${await caseId("R1043")}`);
    const response = await fetch(`${shop.url}/api/v1/cases/${outcome.case}/decisions`, {
      method: "POST",
      headers: { Authorization: `Bearer ${work}`, "Content-Type": "application/json" },
      body: JSON.stringify({ disposition: "reject", sequence: outcome.sequence, who: "Ada", why: "marked" }),
    });
    assert.equal(response.status, 201);
    await sign({ who: "Kim", why: "to look at" });
    await page.locator("dialog [role=alert]", { hasText: "decide anew" }).waitFor();
    await page.keyboard.press("Escape");
    await page.locator(".verdict", { hasText: "Decided by hand by Ada: marked" }).waitFor({ timeout: 10_000 });
  });

  await check("cases are found by a part of the number, with the story of duplicates", async () => {
    await open("#/cases");
    await page.locator("#q").pressSequentially("R104", { delay: 10 });
    await page.waitForFunction(() => document.querySelectorAll(".rows li").length === 8);
    await page.fill("#q", "R1042");
    await page.keyboard.press("Enter");
    await page.locator("h1", { hasText: "R1042" }).waitFor();
    assert.match(
      await page.textContent(".time-line"),
      /Came again .* export-2\.csv: the same measurement, no further evidence/,
    );
    await open("#/cases?q=R1099");
    await page.locator("a", { hasText: "R1099 has no case" }).click();
    await page.locator(".page-subject", { hasText: "Not measured yet" }).waitFor();
  });

  await check("a reading without a stock number stands on Now, and gets one", async () => {
    await open("#/now");
    await shop.post("uploads", withoutNumber, work);
    await bench("No bench").locator(".stock", { hasText: "Which stone?" }).waitFor({ timeout: 10_000 });
    await bench("No bench").locator(".stock a").click();
    await page.locator("button", { hasText: "Give it a stock number" }).click();
    await page.fill("input[name=stock_number]", "R1099");
    await sign({ who: "Kim", why: "it lay on tray 4" });
    await told("The reading belongs to R1099 now.");
    await page.locator(".empty", { hasText: "Every reading has its stock number" }).waitFor();
    const { items } = await shop.get("/api/v1/cases?q=R1099");
    assert.equal(items.length, 1);
  });

  await check("what was set aside is tried again after the mapping learned the word", async () => {
    await open("#/aside");
    const article = page.locator("article", { hasText: "counter-1-exports" });
    // Where the configuration was read anew, the session may have ended.
    const tryAgain = async () => {
      const done = page.waitForResponse((one) => /aside\/retries/.test(one.url()) && one.status() === 200);
      await article.locator("button:not([aria-disabled])", { hasText: "Try again" }).click();
      const dialog = page.locator("dialog input[name=token]");
      await Promise.race([done, dialog.waitFor().catch(() => {})]);
      if (await dialog.isVisible()) await signIn(work);
      return (await done).json();
    };
    assert.equal((await tryAgain()).still_aside, 1);
    await told("1 document was read again. 0 are settled. 1 still cannot be read.");
    shop.change("counter-1.mapping.yaml", [[/"-": void/, '"-": void, "Q": void']]);
    shop.reload();
    await until("the mapping knows the word", async () => (await tryAgain()).settled === 1);
    await told("1 document was read again. New: 1 reading. 1 is settled.");
    await page.waitForFunction(() => !document.querySelector("main").textContent.includes("counter-1-exports"));
  });

  await check("instruments tell what they did, with a chart and its numbers", async () => {
    await open("#/instruments");
    assert.match(
      await page.locator("tbody tr", { hasText: "A-0117" }).textContent(),
      /counter-1.*8.*2.*not known: nothing came over a line/s,
    );
    assert.match(await page.locator("tbody tr", { hasText: "F-0900" }).textContent(), /not in the configuration/);
    await page.click("#instrument-A-0117");
    await page.waitForFunction(
      () => globalThis.Chart?.getChart(document.querySelector("canvas"))?.data.labels.length === 30,
    );
    const numbers = await page
      .locator("tbody tr")
      .evaluateAll((rows) => rows.map((row) => Number(row.querySelector("td").textContent)));
    assert.equal(
      numbers.reduce((sum, n) => sum + n, 0),
      8,
    );
    await page.click("text=its licence");
    await page.waitForFunction(() => document.body.textContent.includes("Permission is hereby granted"));
  });

  await check("an outlet that refuses is seen, paused, resumed, and told again", async () => {
    shop.answer = (subject) => (subject === "R1044" ? 400 : 204);
    const { outcome } = await shop.get(`/api/v1/cases/${await caseId("R1044")}`);
    const response = await fetch(`${shop.url}/api/v1/cases/${outcome.case}/decisions`, {
      method: "POST",
      headers: { Authorization: `Bearer ${work}`, "Content-Type": "application/json" },
      body: JSON.stringify({ disposition: "hold", sequence: outcome.sequence, who: "Ada", why: "marked" }),
    });
    assert.equal(response.status, 201);
    await until(
      "it is given up",
      async () => (await shop.get("/api/v1/outlets")).items.find(({ name }) => name === "till").parked === 1,
    );
    await open("#/outlets");
    await page.click("#parked-till");
    await page.locator("li.row", { hasText: "R1044" }).waitFor();
    shop.answer = () => 204;
    await page.click("#again-till");
    await signIn(admin);
    await told("1 message is sent again.");
    await shop.heard("R1044", "hold");
    await page.click("#turn-till");
    await sign({ who: "Kim", why: "the till is moved" });
    await told("Paused.");
    const till = page.locator("article", { has: page.locator("#outlet-till") });
    await till.locator(".state", { hasText: "Paused" }).waitFor();
    assert.match(await till.textContent(), /the till is moved/);
    await expectAccessible(page, "a paused outlet");
    await page.click("#turn-till");
    await told("It goes on");
    await till.locator(".state", { hasText: "Open" }).waitFor();
    await open(`#/cases/${await caseId("R1044")}`);
    const before = shop.told.length;
    await page.locator("tr", { hasText: "till" }).locator("button", { hasText: "Send again" }).click();
    await told("1 message is sent again.");
    await until("the till hears it again", () => shop.told.length > before);
  });

  await check("a sample is shown as it would be read, and nothing of it is kept", async () => {
    await open("#/setup");
    assert.match(
      await page.locator("article", { hasText: "counter-3-line" }).textContent(),
      /Listening.*a line over the network/s,
    );
    await page.setInputFiles("#sample", {
      name: "sample.csv",
      mimeType: "text/csv",
      buffer: Buffer.from(exportBytes.replaceAll(";Q;", ";X;").replaceAll("R10", "S10")),
    });
    await page.locator(".result h3", { hasText: "How sample.csv would be read" }).waitFor();
    assert.match(await page.textContent(".result"), /7 records would be taken\. 1 would be set aside\./);
    assert.match(await page.textContent(".result"), /column "result" holds "X"/);
    assert.equal(await page.locator(".result tbody tr", { hasText: "S1042" }).count(), 2);
    assert.equal((await shop.get("/api/v1/cases?q=S10")).items.length, 0);
    await page.selectOption("#intake", "counter-3-line");
    await page.waitForFunction(() => /0 records would be taken/.test(document.querySelector(".result").textContent));
  });

  await check("no page has a fault that axe-core finds, or scrolls sideways at 320 px", async () => {
    const id = await caseId("R1048#2");
    for (const hash of [
      "#/now",
      "#/cases",
      `#/cases/${id}`,
      `#/cases/${id}/record`,
      "#/unbound",
      "#/aside",
      "#/instruments",
      "#/instruments/C-0007",
      "#/outlets",
      "#/setup",
    ]) {
      await page.setViewportSize({ width: 1280, height: 900 });
      await open(hash);
      await expectAccessible(page, hash);
      await page.setViewportSize({ width: 320, height: 640 });
      await expectNoSidewaysScroll(page, hash);
    }
    await page.setViewportSize({ width: 1280, height: 900 });
  });

  await check("a restart is seen, and the page comes back to life with what it missed", async () => {
    await open("#/now");
    await page.locator("#live", { hasText: /^Live$/ }).waitFor();
    await shop.stop();
    await page.locator(".lost", { hasText: /Not live since/ }).waitFor({ timeout: 10_000 });
    await shop.start();
    await page.locator("#live", { hasText: /^Live$/ }).waitFor({ timeout: 40_000 });
    assert.equal(await page.locator(".lost > *").count(), 0);
  });

  await check("signing out leaves looking, and a token that does too little says so", async () => {
    await open("#/outlets");
    if (await page.locator("#sign", { hasText: "Sign out" }).isVisible()) await page.click("#sign");
    await page.locator("#sign", { hasText: "Sign in" }).waitFor();
    await page.click("#sign");
    await page.fill("dialog input[name=token]", "girdle_wrong");
    await page.keyboard.press("Enter");
    await page.locator("dialog [role=alert]").waitFor();
    await page.keyboard.press("Escape");
    await page.click("#turn-till");
    await signIn(work);
    await told("with this token you may: work. This needs: administrator.");
    assert.equal(await page.locator("dialog").count(), 0);
  });

  await check("the inventory got the decision as a file too", async () => {
    const folder = join(shop.folder, "outbox/inventory");
    await until("STOP of R1048#2", () =>
      readdirSync(folder).some(
        (name) => name.endsWith(".csv") && readFileSync(join(folder, name), "utf8").includes("R1048#2;STOP"),
      ),
    );
  });

  await check("the browser complained of nothing", () => expectQuiet());
} finally {
  await browser.close();
  await shop.close();
}
finish();
