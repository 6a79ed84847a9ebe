// A case on paper: all facts, the notice, a line to sign. Nothing else is on this page.
import { get, pathOf } from "../api.js";
import { datum, h, said } from "../dom.js";
import { orderText, runsText } from "../marks.js";
import { session } from "../session.js";
import { fullTime, serviceNow, zoneName } from "../times.js";
import { parts, t, word } from "../words.js";
import { claimFacts, deliveryText, disclosureParts, placeParts, probabilityText, reasonFacts } from "./facts.js";
import { caseAddress, facts, section, table } from "./parts.js";

export const name = "record";

function readingsTable(story) {
  return table(
    t("record.readings"),
    [
      { name: t("column.measured"), cell: ({ reading }) => fullTime(reading.measured_at) },
      { name: t("column.instrument"), cell: ({ reading }) => datum(reading.instrument) },
      { name: t("column.run"), cell: ({ reading }) => datum(reading.run ?? "") },
      { name: t("column.finding"), cell: ({ reading }) => word("finding", reading.finding) },
      {
        name: t("column.worth"),
        cell: ({ worth, duplicates }) => [
          said(worth),
          duplicates.length > 0 ? ["; ", t("record.copies", { n: duplicates.length })] : null,
        ],
      },
      { name: t("column.from"), cell: (told) => placeParts(told, told.reading.place) },
    ],
    story.readings,
  );
}

function outcomesTable(story) {
  return table(
    t("record.outcomes"),
    [
      { name: t("column.number"), cell: (o) => String(o.sequence), number: true },
      { name: t("column.decided"), cell: (o) => fullTime(o.decided_at) },
      { name: t("column.do"), cell: (o) => orderText(o.disposition, o.readings) },
      { name: t("column.finding"), cell: (o) => word("finding", o.finding) },
      { name: t("column.why"), cell: (o) => said(o.reasons[0].text) },
    ],
    story.outcomes,
  );
}

function deliveriesTable(story) {
  return table(
    t("case.told"),
    [
      { name: t("column.outlet"), cell: (d) => datum(d.outlet) },
      { name: t("column.outcome"), cell: (d) => String(d.sequence), number: true },
      { name: t("column.state"), cell: (d) => deliveryText(d) },
      { name: t("column.when"), cell: (d) => fullTime(d.changed_at) },
    ],
    story.deliveries,
  );
}

function signature() {
  return h(
    "div",
    { class: "signature" },
    ["record.name", "record.date", "record.signature"].map((key) =>
      h("p", {}, h("span", { class: "line" }), h("span", {}, t(key))),
    ),
  );
}

function policyText({ policy }) {
  return parts(policy.rule === 0 ? "record.policy.norule" : "record.policy", {
    name: datum(policy.name),
    version: datum(policy.version),
    rule: policy.rule,
  });
}

export async function show({ root, parameters: [id], signal }) {
  const story = await get(pathOf`/api/v1/cases/${id}`, { signal });
  const { outcome } = story;
  const { evidence } = outcome;
  root.append(
    h(
      "p",
      { class: "buttons no-print" },
      h("button", { type: "button", class: "strong", on: { click: () => print() } }, t("record.print")),
      h("a", { class: "button", href: caseAddress(id) }, t("record.back")),
    ),
    h(
      "article",
      { class: "paper" },
      h(
        "p",
        { class: "paper-head" },
        datum(outcome.site),
        h(
          "span",
          {},
          parts("record.made", { at: fullTime(new Date(serviceNow()).toISOString()), zone: datum(zoneName()) }),
        ),
      ),
      h("h1", { tabindex: "-1" }, parts("record.title", { key: datum(story.key) })),
      h("p", { class: "notice", lang: "en" }, outcome.notice),
      section(
        t("record.result"),
        h("p", { class: "paper-order" }, orderText(outcome.disposition, outcome.readings)),
        h("p", {}, said(outcome.reasons[0].text)),
        story.state === "open" ? null : h("p", {}, t(`case.ended.${story.state}`)),
        facts([
          [t("column.finding"), word("finding", outcome.finding)],
          [t("record.runs"), runsText(outcome.readings)],
          [t("column.decided"), fullTime(outcome.decided_at)],
          [t("record.byhand"), outcome.by_hand ? [datum(outcome.by_hand.who), ": ", datum(outcome.by_hand.why)] : null],
          [t("record.scope"), word("scope", evidence.scope)],
          [t("record.fitness"), word("fitness", evidence.instrument)],
          [t("record.probability"), evidence.probability ? probabilityText(evidence.probability) : null],
          [t("record.case"), datum(`${outcome.case}, ${outcome.sequence}`)],
          [t("record.rules"), policyText(outcome)],
          [t("record.digest"), datum(outcome.policy.digest, "span", { class: "digest" })],
        ]),
      ),
      section(t("case.why"), reasonFacts(outcome)),
      section(t("case.declared"), claimFacts(outcome.declared)),
      outcome.disclosure ? section(t("disclosure.title"), disclosureParts(outcome.disclosure, outcome.finding)) : null,
      section(t("record.readings"), readingsTable(story)),
      section(t("record.outcomes"), outcomesTable(story)),
      story.deliveries.length === 0 ? null : section(t("case.told"), deliveriesTable(story)),
      signature(),
      h("p", { class: "small" }, parts("record.girdle", { version: datum(session.now.version) })),
    ),
  );
}
