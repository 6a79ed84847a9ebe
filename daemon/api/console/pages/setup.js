// Set up: how an intake would read a sample. Nothing is kept of it. And how the intakes stand.
import { get, pathOf, postBytes } from "../api.js";
import { problemBox } from "../dialog.js";
import { datum, fill, h, said } from "../dom.js";
import { mark } from "../marks.js";
import { acting } from "../session.js";
import { fullTime, shortTime } from "../times.js";
import { hasWords, parts, t, word } from "../words.js";
import { facts, guarded, section, table, title } from "./parts.js";

export const name = "setup";

const mostBytes = 1 << 20;
const rowsShown = 200;
const hidden = new Set(["record", "place", "defaults"]);
const wordLists = { finding: "finding", identity: "finding" };

// --- what came of a sample

function cell(member, value) {
  if (value === undefined) return "";
  if (member.endsWith("_at")) return fullTime(value);
  if (member in wordLists) return word(wordLists[member], value);
  return datum(String(value));
}

// All members that any record has, each a column.
function recordsTable(kind, records) {
  const members = [...new Set(records.flatMap((record) => Object.keys(record)))].filter(
    (member) => !hidden.has(member),
  );
  return h(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": word("kind", kind) },
    table(
      word("kind", kind),
      [
        {
          name: t("column.line"),
          cell: (record) => (record.place?.line ? String(record.place.line) : ""),
          number: true,
        },
        ...members.map((member) => ({
          name: hasWords(`fact.${member}`) ? t(`fact.${member}`) : datum(member),
          cell: (record) => cell(member, record[member]),
        })),
      ],
      records.slice(0, rowsShown),
    ),
  );
}

function asideTable(items) {
  return table(
    t("setup.aside"),
    [
      { name: t("column.line"), cell: (item) => (item.line ? String(item.line) : ""), number: true },
      { name: t("aside.came"), cell: (item) => datum(item.text ?? "", "code") },
      { name: t("aside.wrong"), cell: (item) => said(item.reason) },
    ],
    items.slice(0, rowsShown),
  );
}

function result(answer, sample) {
  const kinds = new Map();
  for (const { kind, record } of answer.records) kinds.set(kind, [...(kinds.get(kind) ?? []), record]);
  const summary = [t("setup.taken", { n: answer.records.length }), t("setup.asides", { n: answer.set_aside.length })];
  if (answer.ignored > 0) summary.push(t("setup.ignored", { n: answer.ignored }));
  if (answer.records.length + answer.set_aside.length + answer.ignored === 0) summary.push(t("setup.nothing"));
  return [
    h("h3", { tabindex: "-1" }, parts("setup.result", { name: datum(sample) })),
    h(
      "p",
      { class: "lead" },
      mark(answer.records.length > 0 && answer.set_aside.length === 0 ? "good" : "trouble"),
      h("span", {}, summary.join(" ")),
    ),
    answer.set_aside.length === 0 ? null : [h("h4", {}, t("setup.aside")), asideTable(answer.set_aside)],
    [...kinds].map(([kind, records]) => [
      h("h4", {}, word("kind", kind)),
      recordsTable(kind, records),
      records.length > rowsShown ? h("p", {}, t("setup.first", { n: rowsShown })) : null,
    ]),
    h("p", { class: "hint" }, t("setup.compare")),
  ];
}

// --- the form

function sampleForm(intakes, signal) {
  const select = h(
    "select",
    { id: "intake" },
    intakes.map((intake) => h("option", { value: intake.name, translate: "no" }, intake.name)),
  );
  const file = h("input", { type: "file", id: "sample" });
  const place = h("div", { class: "result", "aria-live": "polite" });
  const chosen = h("p", { class: "hint" }, t("setup.none"));
  const zone = h(
    "div",
    { class: "drop" },
    h("label", { for: "sample", class: "button strong" }, t("setup.choose")),
    file,
    h("p", {}, t("setup.drop")),
    chosen,
  );
  let sample = null;

  async function read() {
    if (sample === null) return;
    fill(chosen, datum(sample.name));
    if (sample.size > mostBytes) {
      fill(place, h("div", { class: "problem", role: "alert" }, h("p", {}, t("setup.large"))));
      return;
    }
    zone.setAttribute("aria-busy", "true");
    try {
      const bytes = await sample.arrayBuffer();
      const answer = await acting("work", () =>
        postBytes(pathOf`/api/v1/intakes/${select.value}/preview`, bytes, { signal }),
      );
      if (answer === null) return;
      fill(place, result(answer, sample.name));
      place.querySelector("h3").focus();
    } catch (error) {
      if (!signal.aborted) fill(place, problemBox(error));
    } finally {
      zone.removeAttribute("aria-busy");
    }
  }

  function take(files) {
    if (files.length === 0) return;
    sample = files[0];
    read();
  }
  file.addEventListener("change", () => take(file.files));
  select.addEventListener("change", read);
  for (const event of ["dragenter", "dragover"]) {
    zone.addEventListener(event, (e) => {
      e.preventDefault();
      zone.classList.add("is-over");
    });
  }
  for (const event of ["dragleave", "drop"]) zone.addEventListener(event, () => zone.classList.remove("is-over"));
  zone.addEventListener("drop", (e) => {
    e.preventDefault();
    take(e.dataTransfer.files);
  });
  return [
    h("p", { class: "field" }, h("label", { for: "intake" }, t("setup.intake")), select),
    zone,
    h("p", { class: "buttons" }, h("button", { type: "button", on: { click: read } }, t("setup.reread"))),
    place,
  ];
}

// --- the intakes

function intakeCard(intake) {
  const heading = h("h3", { id: `intake-${intake.name}` }, datum(intake.name));
  return h(
    "article",
    { class: "card", "aria-labelledby": heading.id },
    heading,
    h(
      "p",
      { class: "state" },
      mark(intake.up ? "good" : "trouble"),
      h("strong", {}, t(intake.up ? "intake.up" : "intake.down")),
    ),
    intake.trouble ? h("p", {}, said(intake.trouble)) : null,
    facts([
      [t("intake.kind"), word("intake.kind", intake.kind)],
      [t("intake.reader"), datum(intake.reader)],
      [t("intake.makes"), intake.makes.map((kind) => word("kind", kind)).join(", ")],
      [t("intake.documents"), t("count", { n: intake.documents })],
      [t("intake.known"), t("count", { n: intake.known })],
      [
        t("intake.aside"),
        intake.set_aside > 0 ? h("a", { href: "#/aside" }, t("count", { n: intake.set_aside })) : t("count", { n: 0 }),
      ],
      [t("intake.last"), intake.last_at ? shortTime(intake.last_at) : t("intake.never")],
    ]),
  );
}

export async function show({ root, signal }) {
  const place = h("div", { class: "cards" });
  const form = h("div", {});
  root.append(
    title(t("nav.setup")),
    h("p", { class: "lead" }, t("setup.lead")),
    section(t("setup.sample"), form),
    section(t("setup.intakes"), place),
  );
  await guarded(place, async () => {
    const { items } = await get("/api/v1/intakes", { signal });
    fill(place, items.length === 0 ? h("p", { class: "empty" }, t("setup.nointakes")) : items.map(intakeCard));
    fill(form, items.length === 0 ? null : sampleForm(items, signal));
  });
}
