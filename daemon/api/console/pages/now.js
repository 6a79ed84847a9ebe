// What just happened on each bench, and what to do next. Bounded: a bench keeps some stones, and all that comes between
// two frames of the screen is drawn once.
import { Problem, get, isAbort } from "../api.js";
import { datum, fill, h, setText } from "../dom.js";
import { seldom } from "../live.js";
import { mark, orderText } from "../marks.js";
import { shortTime } from "../times.js";
import { parts, t } from "../words.js";
import { Benches, Panel } from "./bench.js";
import { waitingDays, waitingTile, whatWaits } from "./waiting.js";

export const name = "now";

const narrowestRem = 22; // of a panel
const meanwhileMost = 200;

export async function show({ root, signal, live }) {
  const benches = new Benches();
  const panels = new Map();
  const lost = h("div", { class: "lost", role: "alert" });
  const grid = h("div", { class: "benches" });
  const empty = h("div", {});
  const tiles = h("ul", { class: "tiles" });
  const below = h("button", {
    type: "button",
    class: "below",
    on: {
      click: () => {
        const heading = document.getElementById("waits");
        heading.scrollIntoView();
        heading.focus({ preventScroll: true });
      },
    },
  });
  const announced = h("p", { class: "unseen", role: "status" });
  root.append(
    h("div", { class: "top" }, h("h1", { class: "page-title", tabindex: "-1" }, t("nav.now")), below),
    lost,
    announced,
    grid,
    empty,
    h(
      "section",
      { class: "waits", "aria-labelledby": "waits" },
      h("h2", { id: "waits", tabindex: "-1" }, t("now.waits")),
      tiles,
      h("p", { class: "hint" }, t("now.waits.hint", { n: waitingDays })),
    ),
  );

  // Rows of about the same length: six panels stand three and three, and not five and one.
  let columnsOf = "";
  function arrange(count) {
    const wanted = `${count} ${innerWidth}`;
    if (wanted === columnsOf || count === 0) return;
    columnsOf = wanted;
    const rem = Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
    const fit = Math.max(1, Math.floor(root.clientWidth / (narrowestRem * rem)));
    grid.style.setProperty("--columns", String(Math.ceil(count / Math.ceil(count / fit))));
  }

  let frame = 0;
  function draw() {
    frame = 0;
    const all = benches.all();
    arrange(all.length);
    all.forEach((bench, i) => {
      if (!panels.has(bench.bench)) panels.set(bench.bench, new Panel(bench.bench, panels.size));
      const panel = panels.get(bench.bench);
      if (grid.children[i] !== panel.element) grid.insertBefore(panel.element, grid.children[i] ?? null);
      panel.show(bench);
    });
    while (grid.children.length > all.length) grid.lastChild.remove();
    if (all.length < panels.size) {
      for (const key of panels.keys()) if (!all.some((bench) => bench.bench === key)) panels.delete(key);
    }
    fill(
      empty,
      all.length === 0
        ? h(
            "div",
            { class: "empty" },
            h("p", {}, t("now.empty")),
            h("p", {}, h("a", { href: "#/setup" }, t("now.empty.do"))),
          )
        : null,
    );
  }
  const wish = () => {
    frame ||= requestAnimationFrame(draw);
  };

  // What comes while a list is on its way may be newer than the list.
  let meanwhile = [];
  async function fetchBenches() {
    try {
      meanwhile = [];
      benches.replace((await get("/api/v1/benches", { signal })).items);
      for (const change of meanwhile) benches.decided(change);
      wish();
    } catch (error) {
      // It is asked again when something changes; that it is not live is said already.
      if (!isAbort(error) && !(error instanceof Problem)) throw error;
    }
  }
  async function fetchWaiting() {
    try {
      const waits = await whatWaits(signal);
      fill(tiles, waits.map(waitingTile));
      const n = waits.reduce((all, one) => all + one.n, 0);
      setText(below, n === 0 ? t("now.waits.nothing") : t("now.waits.all", { n }));
    } catch (error) {
      if (!isAbort(error)) throw error;
    }
  }
  const benchesSoon = seldom(2000, fetchBenches, signal);
  const waitingSoon = seldom(10_000, fetchWaiting, signal);

  let lastSaid = null;
  const announceSoon = seldom(
    6000,
    () => {
      if (lastSaid === null) return;
      fill(
        announced,
        parts("now.announce", {
          bench: datum(lastSaid.bench ?? lastSaid.instrument ?? ""),
          key: datum(lastSaid.case.key),
          order: orderText(lastSaid.case.disposition, lastSaid.case.readings),
        }),
      );
      lastSaid = null;
    },
    signal,
  );

  function showLost() {
    fill(
      lost,
      live.isLive || live.lostAt === null
        ? null
        : h("p", {}, mark("lost"), h("span", {}, parts("now.lost", { at: shortTime(live.lostAt) }))),
    );
  }

  live.addEventListener(
    "changes",
    ({ detail }) => {
      let isKnown = true;
      for (const change of detail.decided) {
        isKnown = benches.decided(change) && isKnown;
        lastSaid = change;
      }
      meanwhile = [...meanwhile, ...detail.decided].slice(-meanwhileMost);
      if (detail.decided.length > 0) {
        wish();
        announceSoon();
      }
      if (!isKnown || detail.more > 0 || detail.readings > 0) benchesSoon();
      waitingSoon();
    },
    { signal },
  );
  live.addEventListener(
    "fetch",
    () => {
      benchesSoon();
      waitingSoon();
    },
    { signal },
  );
  live.addEventListener("state", showLost, { signal });
  addEventListener("resize", wish, { signal });
  const ages = setInterval(() => panels.forEach((panel) => panel.showAge()), 15_000);
  signal.addEventListener("abort", () => {
    clearInterval(ages);
    cancelAnimationFrame(frame);
  });
  showLost();

  const counted = fetchWaiting();
  benches.replace((await get("/api/v1/benches", { signal })).items);
  draw();
  await counted;
}
