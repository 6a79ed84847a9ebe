// Instruments: what each did of late, when it was last heard of, and whether its clock is right.
import { get } from "../api.js";
import { datum, fill, h } from "../dom.js";
import { seldom } from "../live.js";
import { ageText, shortTime, spanText } from "../times.js";
import { t } from "../words.js";
import { guarded, table, title } from "./parts.js";

export const name = "instruments";

const clockTolerance = 60; // seconds

export function clockText(offset) {
  if (offset === null) return t("clock.unknown");
  if (Math.abs(offset) < clockTolerance) return t("clock.right");
  return t(offset < 0 ? "clock.ahead" : "clock.behind", { span: spanText(offset) });
}

const isClockWrong = (offset) => offset !== null && Math.abs(offset) >= clockTolerance;

const instrumentAddress = (serial) => `#/instruments/${encodeURIComponent(serial)}`;

function lastSeen(instrument) {
  if (instrument.last_measured_at === null) return t("instrument.never");
  return [
    shortTime(instrument.last_measured_at),
    h("span", { class: "small" }, " ", ageText(instrument.last_measured_at)),
  ];
}

function instrumentsTable(items) {
  return table(
    t("nav.instruments"),
    [
      {
        name: t("column.instrument"),
        cell: (i) => [
          h("a", { href: instrumentAddress(i.serial), id: `instrument-${i.serial}` }, datum(i.serial)),
          i.configured ? null : h("span", { class: "small" }, " ", t("instrument.stranger")),
        ],
      },
      { name: t("column.bench"), cell: (i) => (i.bench === null ? t("none") : datum(i.bench)) },
      { name: t("column.runs"), cell: (i) => t("count", { n: i.runs }), number: true },
      { name: t("column.voids"), cell: (i) => t("count", { n: i.voids }), number: true },
      { name: t("column.referrals"), cell: (i) => t("count", { n: i.referrals }), number: true },
      { name: t("column.seen"), cell: lastSeen },
      {
        name: t("column.clock"),
        cell: (i) =>
          isClockWrong(i.clock_offset_s) ? h("strong", {}, clockText(i.clock_offset_s)) : clockText(i.clock_offset_s),
      },
    ],
    items,
  );
}

export async function show({ root, signal, live }) {
  const place = h("div", {});
  root.append(title(t("nav.instruments")), h("p", { class: "lead" }, t("instruments.lead")), place);
  let shown = "";
  const load = () =>
    guarded(place, async () => {
      const { items } = await get("/api/v1/instruments", { signal });
      const text = JSON.stringify(items);
      if (text === shown) return;
      shown = text;
      fill(
        place,
        items.length === 0 ? h("p", { class: "empty" }, t("instruments.none")) : instrumentsTable(items),
        items.some((one) => one.complete === false) ? h("p", {}, t("instrument.incomplete")) : null,
      );
    });
  const soon = seldom(5000, load, signal);
  live.addEventListener(
    "changes",
    ({ detail }) => {
      if (detail.readings > 0) soon();
    },
    { signal },
  );
  live.addEventListener("fetch", soon, { signal });
  await load();
}
