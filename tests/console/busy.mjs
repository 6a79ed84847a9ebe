// The live page with 200 outcomes a second for ten seconds: frames stay smooth, and neither the page nor its memory
// grows. Frames are measured where the page draws them, by requestAnimationFrame.
//   node busy.mjs --npm FOLDER [--chromium PROGRAM]
import assert from "node:assert/strict";

import { go, openPage, startBrowser } from "./browser.mjs";
import { check, finish } from "./checks.mjs";
import { busyLine, startMock } from "./mock.mjs";

const seconds = 10;
const framesOfEvents = 4 * seconds; // the service sends at most four a second, with at most 50 outcomes each
const perFrame = 50;
const smoothMs = 34; // two frames of a screen of 60 Hz
const frameMs = 17;
const mostOfTheThread = 0.25; // so that an old tablet, four times as slow, keeps up

const browser = await startBrowser();
const mock = await startMock();
const { page, context, expectQuiet } = await openPage(browser);
const debug = await context.newCDPSession(page);
// A page with nothing on it, in a process of its own: what it lacks of frames the machine took, and not our page.
const { page: blank } = await openPage(browser);

async function heapBytes() {
  await debug.send("HeapProfiler.collectGarbage");
  return (await debug.send("Runtime.getHeapUsage")).usedSize;
}

const elements = () => page.evaluate(() => document.querySelectorAll("*").length);

let sent = 0;
async function flood(count) {
  for (let i = 0; i < count; i += 1) {
    const decided = Array.from({ length: perFrame }, () => busyLine((sent += 1)));
    mock.keep(decided);
    mock.send({ decided, readings: perFrame });
    await new Promise((resolve) => {
      setTimeout(resolve, 1000 / 4);
    });
  }
}

// Seconds of the processor that the page's thread has taken.
async function threadSeconds() {
  const { metrics } = await debug.send("Performance.getMetrics");
  return metrics.find(({ name }) => name === "TaskDuration").value;
}

function startFrames() {
  globalThis.gaps = [];
  let last = performance.now();
  const tick = (now) => {
    globalThis.gaps.push(now - last);
    last = now;
    globalThis.ticking = requestAnimationFrame(tick);
  };
  globalThis.ticking = requestAnimationFrame(tick);
}

function endFrames() {
  cancelAnimationFrame(globalThis.ticking);
  return globalThis.gaps.slice(1);
}

// 95 of 100 frames are not longer than this.
function p95(gaps) {
  return gaps.sort((a, b) => a - b)[Math.floor(gaps.length * 0.95)];
}

await go(page, `${mock.url}/#/now`);
await page.locator("#live", { hasText: "Live" }).waitFor();
await flood(8); // what is made once is made
const elementsBefore = await elements();
const heapBefore = await heapBytes();
await debug.send("Performance.enable", { timeDomain: "threadTicks" });

// Ten seconds of it: the frames' gaps, and the share of the page's thread.
async function measure() {
  const began = performance.now();
  const threadBefore = await threadSeconds();
  await Promise.all([page.evaluate(startFrames), blank.evaluate(startFrames)]);
  await flood(framesOfEvents);
  const [gaps, blankGaps] = await Promise.all([page.evaluate(endFrames), blank.evaluate(endFrames)]);
  const [typical, possible] = [p95([...gaps]), p95(blankGaps)];
  const share = ((await threadSeconds()) - threadBefore) / ((performance.now() - began) / 1000);
  console.log(
    `${gaps.length} frames, 95 of 100 within ${typical.toFixed(1)} ms (${possible.toFixed(1)} ms of a blank page), the longest ` +
      `${Math.max(...gaps).toFixed(0)} ms; ${(100 * share).toFixed(0)} % of a processor`,
  );
  return { typical, possible, share };
}

const { typical, possible, share } = await measure();

const elementsAfter = await elements();
const heapAfter = await heapBytes();
console.log(
  `${elementsBefore} elements, then ${elementsAfter}; ` +
    `${(heapBefore / 1e6).toFixed(1)} MB, then ${(heapAfter / 1e6).toFixed(1)} MB`,
);

await check("the newest stone of each bench is on the screen at the end", async () => {
  for (let n = sent; n > sent - 3; n -= 1) {
    const { bench, case: line } = busyLine(n);
    await page
      .locator("article.bench", { has: page.locator("h2", { hasText: bench }) })
      .locator(".stock", { hasText: line.key })
      .waitFor({ timeout: 10_000 });
  }
});
// Where the machine is so busy that a blank page is not smooth, one frame more than that page.
await check("frames stay smooth", () =>
  assert.ok(typical < Math.max(smoothMs, possible + frameMs), `95 of 100 frames within ${typical} ms`),
);
await check("it leaves the page's thread most of its time", () =>
  assert.ok(share < mostOfTheThread, `${100 * share} %`),
);
// The same things are on the page, but for some that a stone has and another has not.
await check("the page does not grow", () =>
  assert.ok(elementsAfter < elementsBefore + 60, `${elementsBefore} elements, then ${elementsAfter}`),
);
await check("its memory does not grow", () =>
  assert.ok(heapAfter < heapBefore + 2e6, `${heapBefore} bytes, then ${heapAfter}`),
);
await check("the browser complains of nothing", () => expectQuiet());

await browser.close();
await mock.close();
finish();
