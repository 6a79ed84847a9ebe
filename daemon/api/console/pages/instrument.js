// One instrument: its days as a chart, and the same numbers as a table. The curves differ by line and marks, not only
// by colour.
import { get, pathOf } from "../api.js";
import { datum, fill, h } from "../dom.js";
import { fullTime, plainDay } from "../times.js";
import { parts, t } from "../words.js";
import { clockText } from "./instruments.js";
import { facts, guarded, section, table, title } from "./parts.js";

export const name = "instrument";

const spans = [7, 30, 90, 366];
const curves = [
  { member: "runs", key: "column.runs", dash: [], point: "circle", ink: "--ink" },
  { member: "voids", key: "column.voids", dash: [7, 5], point: "crossRot", ink: "--accent" },
  { member: "referrals", key: "column.referrals", dash: [2, 4], point: "rect", ink: "--quiet" },
];

let library = null;

// Somebody else's library is a script of the old kind; it is fetched by the first page that needs it.
function charts() {
  library ??= new Promise((resolve, reject) => {
    const script = h("script", { src: "/console/chart.js" });
    script.addEventListener("load", () => resolve(globalThis.Chart));
    script.addEventListener("error", () => {
      library = null;
      reject(new Error("no chart library"));
    });
    document.head.append(script);
  });
  return library;
}

const colour = (variable) => getComputedStyle(document.documentElement).getPropertyValue(variable).trim();

function settings(days) {
  const axis = {
    ticks: { color: colour("--quiet"), precision: 0, maxRotation: 0, autoSkipPadding: 16, font: { size: 14 } },
    grid: { color: colour("--line") },
  };
  return {
    type: "line",
    data: {
      labels: days.map(({ day }) => plainDay(day)),
      datasets: curves.map(({ member, key, dash, point, ink }) => ({
        label: t(key),
        data: days.map((day) => day[member]),
        borderDash: dash,
        pointStyle: point,
        pointRadius: days.length > 60 ? 2 : 5,
        borderColor: colour(ink),
        backgroundColor: colour("--sheet"),
        pointBorderColor: colour(ink),
        borderWidth: 2.5,
        pointBorderWidth: 2,
      })),
    },
    options: {
      animation: false,
      responsive: true,
      maintainAspectRatio: false,
      locale: "en-GB",
      scales: { x: axis, y: { ...axis, beginAtZero: true, suggestedMax: 4 } },
      interaction: { mode: "index", intersect: false },
      plugins: {
        legend: {
          position: "bottom",
          labels: { color: colour("--ink"), usePointStyle: true, boxWidth: 40, padding: 20, font: { size: 15 } },
        },
      },
    },
  };
}

// The days between, in which nothing was measured, count as days too.
function withQuietDays(days) {
  if (days.length === 0) return [];
  const byDay = new Map(days.map((day) => [day.day, day]));
  const all = [];
  for (let ms = Date.parse(`${days[0].day}T00:00:00Z`); all.length < 400; ms += 86_400_000) {
    const day = new Date(ms).toISOString().slice(0, 10);
    all.push(byDay.get(day) ?? { day, runs: 0, voids: 0, referrals: 0 });
    if (day >= days.at(-1).day) break;
  }
  return all;
}

function daysTable(days) {
  const number = (member) => (day) => t("count", { n: day[member] });
  return table(
    t("instrument.table"),
    [
      { name: t("column.day"), cell: (day) => h("time", { datetime: day.day }, plainDay(day.day)) },
      ...curves.map(({ member, key }) => ({ name: t(key), cell: number(member), number: true })),
    ],
    days.slice().reverse(),
    { className: "small-numbers" },
  );
}

export async function show({ root, parameters: [serial], signal }) {
  const span = h(
    "select",
    { id: "span" },
    spans.map((n) => h("option", { value: String(n), selected: n === 30 }, t("instrument.days", { n }))),
  );
  const about = h("div", {});
  const canvas = h("canvas", { role: "img", "aria-label": t("instrument.chart") });
  const chartBox = h("div", { class: "chart" }, canvas);
  const place = h("div", {});
  let chart = null;
  let days = [];

  async function draw() {
    chart?.destroy();
    chart = null;
    chartBox.hidden = days.length === 0;
    if (days.length === 0) return;
    try {
      const Chart = await charts();
      Chart.defaults.font.family = getComputedStyle(document.body).fontFamily;
      if (!signal.aborted) chart = new Chart(canvas, settings(days));
    } catch {
      // The table has all numbers.
      chartBox.hidden = true;
    }
  }

  const load = () =>
    guarded(place, async () => {
      const told = await get(pathOf`/api/v1/instruments/${serial}`, { query: { days: span.value }, signal });
      fill(
        about,
        facts([
          [t("column.bench"), told.bench === null ? t("none") : datum(told.bench)],
          [
            t("instrument.measured"),
            told.last_measured_at === null ? t("instrument.never") : fullTime(told.last_measured_at),
          ],
          [t("instrument.came"), told.last_came_at === null ? null : fullTime(told.last_came_at)],
          [t("column.clock"), clockText(told.clock_offset_s)],
          [t("instrument.known"), told.configured ? null : t("instrument.stranger.long")],
        ]),
      );
      days = withQuietDays(told.days);
      await draw();
      fill(
        place,
        days.length === 0
          ? h("p", { class: "empty" }, t("instrument.quiet"))
          : h(
              "div",
              { class: "scroll", tabindex: "0", role: "region", "aria-label": t("instrument.table") },
              daysTable(days),
            ),
        told.complete ? null : h("p", {}, t("instrument.incomplete")),
      );
    });

  const colours = matchMedia("(prefers-color-scheme: dark)");
  colours.addEventListener("change", draw, { signal });
  span.addEventListener("change", load);
  signal.addEventListener("abort", () => chart?.destroy());
  root.append(
    title(datum(serial)),
    about,
    section(
      t("instrument.overtime"),
      h("p", { class: "field" }, h("label", { for: "span" }, t("instrument.span")), span),
      h("div", { class: "chart-and-numbers" }, chartBox, place),
      h(
        "p",
        { class: "small" },
        parts("instrument.library", { link: h("a", { href: "/console/chart-licence.txt" }, t("instrument.licence")) }),
      ),
    ),
  );
  await load();
}
