// A case's story: readings, declarations, outcomes and deliveries, as they came.
import { datum, fill, h, said } from "../dom.js";
import { mark, orderText } from "../marks.js";
import { clockTime, dayName, dayOf, shortTime } from "../times.js";
import { parts, t, word } from "../words.js";
import { claimed, deliveryText, placeParts, ruleParts } from "./facts.js";

const duplicatesShown = 3;
const momentsShown = 100;

function readingMoment(told) {
  const { reading, worth, duplicates } = told;
  const counts = worth === "counts";
  const older = duplicates.length - duplicatesShown;
  return {
    at: reading.measured_at,
    rank: 1,
    mark: "reading",
    className: counts ? "" : "is-aside",
    content: [
      h(
        "p",
        {},
        parts("moment.reading", {
          instrument: datum(reading.instrument, "strong"),
          finding: word("finding", reading.finding),
        }),
        reading.run ? [" ", h("span", { class: "small" }, parts("moment.run", { run: datum(reading.run) }))] : null,
      ),
      counts ? null : h("p", { class: "worth" }, said(worth)),
      h("p", { class: "small" }, placeParts(told, reading.place)),
      duplicates.slice(-duplicatesShown).map((copy) =>
        h(
          "p",
          { class: "small copy" },
          parts("moment.duplicate", {
            intake: datum(copy.intake),
            document: datum(copy.document),
            at: shortTime(copy.came_at),
          }),
        ),
      ),
      older > 0 ? h("p", { class: "small copy" }, t("moment.duplicates", { n: older })) : null,
    ],
  };
}

function declarationMoment(told) {
  const { declaration, in_force: isInForce, duplicates } = told;
  const claim = claimed
    .filter((member) => declaration[member] !== undefined)
    .map((member) =>
      member === "identity" ? word("finding", declaration.identity) : datum(String(declaration[member])),
    );
  return {
    at: declaration.declared_at ?? told.came_at,
    rank: 0,
    mark: "declaration",
    className: isInForce ? "" : "is-aside",
    content: [
      h(
        "p",
        {},
        t("moment.declared"),
        " ",
        claim.map((piece, i) => (i === 0 ? piece : [", ", piece])),
      ),
      isInForce ? null : h("p", { class: "worth" }, t("moment.notinforce")),
      h("p", { class: "small" }, placeParts(told, declaration.place)),
      duplicates.length === 0 ? null : h("p", { class: "small copy" }, t("moment.sameagain", { n: duplicates.length })),
    ],
  };
}

function outcomeMoment(outcome) {
  return {
    at: outcome.decided_at,
    rank: 2,
    mark: outcome.by_hand ? "hand" : outcome.disposition,
    className: "is-outcome",
    content: [
      h(
        "p",
        { class: "decided" },
        h("strong", {}, orderText(outcome.disposition, outcome.readings)),
        h("span", { class: "small" }, t("moment.number", { n: outcome.sequence })),
      ),
      outcome.by_hand ? null : h("p", {}, said(outcome.reasons[0].text)),
      h("p", { class: outcome.by_hand ? "" : "small" }, ruleParts(outcome)),
    ],
  };
}

function deliveryMoment(delivery) {
  return {
    at: delivery.changed_at,
    rank: 3,
    mark: "delivery",
    className: "is-delivery",
    content: h(
      "p",
      {},
      parts("moment.delivery", { outlet: datum(delivery.outlet, "strong"), n: delivery.sequence }),
      " ",
      deliveryText(delivery),
    ),
  };
}

function moments(story) {
  return [
    ...story.declarations.map(declarationMoment),
    ...story.readings.map(readingMoment),
    ...story.outcomes.map(outcomeMoment),
    ...story.deliveries.map(deliveryMoment),
  ].sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : a.rank - b.rank));
}

function momentItem(moment) {
  return h(
    "li",
    { class: moment.className },
    mark(moment.mark),
    h("div", { class: "moment" }, h("p", { class: "at" }, clockTime(moment.at)), h("div", {}, moment.content)),
  );
}

export function timeLine(story) {
  const all = moments(story);
  const place = h("div", { class: "time-line" });
  const draw = (shown) => {
    const days = [];
    for (const moment of shown) {
      const day = dayName(moment.at);
      if (days.at(-1)?.day !== day) days.push({ day, at: moment.at, items: [] });
      days.at(-1).items.push(momentItem(moment));
    }
    fill(
      place,
      shown.length < all.length
        ? h("button", { type: "button", on: { click: () => draw(all) } }, t("case.story.all", { n: all.length }))
        : null,
      days.map(({ at, items }) => [h("h3", {}, dayOf(at)), h("ol", {}, items)]),
    );
  };
  draw(all.slice(-momentsShown));
  return place;
}
