// A case: what to do, why, what would change it, and its story as a time line.
import { get, pathOf, post } from "../api.js";
import { ask, by, byFields, tell } from "../dialog.js";
import { datum, fill, h, said } from "../dom.js";
import { seldom } from "../live.js";
import { doing, mark, orderText, runsText } from "../marks.js";
import { acting, mayAct } from "../session.js";
import { fullTime, shortTime } from "../times.js";
import { parts, t, word } from "../words.js";
import { claimFacts, deliveryText, disclosureParts, probabilityText, reasonFacts, ruleParts } from "./facts.js";
import { caseAddress, deed, resentText, section, table, title } from "./parts.js";
import { timeLine } from "./timeline.js";

export const name = "case";

const dispositions = ["repeat", "release", "hold", "refer", "reject"];

// --- actions

function decideContent(outcome) {
  return [
    h(
      "fieldset",
      { class: "choices" },
      h("legend", {}, t("decide.what")),
      dispositions.map((disposition) =>
        h(
          "label",
          {},
          h("input", { type: "radio", name: "disposition", value: disposition, required: true }),
          mark(disposition),
          h(
            "span",
            {},
            word("do", disposition),
            " ",
            disposition === outcome.disposition ? h("span", { class: "small" }, t("decide.now")) : null,
          ),
        ),
      ),
    ),
    byFields(),
    h("p", { class: "caution" }, mark("trouble"), h("span", {}, t("decide.caution"))),
  ];
}

async function decide(story, reload) {
  if (!(await mayAct("work"))) return;
  const { outcome } = story;
  const made = await ask({
    title: h("span", {}, parts("decide.title", { key: datum(story.key) })),
    content: decideContent(outcome),
    action: t("decide.action"),
    send: (values) =>
      acting("work", () =>
        post(pathOf`/api/v1/cases/${story.id}/decisions`, {
          disposition: values.get("disposition"),
          sequence: outcome.sequence,
          ...by(values),
        }),
      ),
  });
  if (made === null) return;
  tell(t("decide.done"));
  await reload();
}

// Of each outlet only the last answer: the ones before it are overtaken.
function mayBeResent(delivery, deliveries) {
  const isLast = deliveries.every((other) => other.outlet !== delivery.outlet || other.sequence <= delivery.sequence);
  return isLast && (delivery.state === "sent" || delivery.state === "parked");
}

function resendButton(delivery, reload) {
  return deed(
    t("delivery.resend"),
    async () => {
      const answer = await acting("work", () => post(pathOf`/api/v1/deliveries/${delivery.id}/resend`, {}));
      if (answer === null) return;
      tell(resentText(answer));
      await reload();
    },
    {
      id: `resend-${delivery.id}`,
      "aria-label": t("delivery.resend.long", { outlet: delivery.outlet, n: delivery.sequence }),
    },
  );
}

// --- the page

// What was measured, and what the policy said of it, stays beside what a person decided.
function beside(outcome) {
  const told = outcome.reasons.filter(({ code }) => code === "seen" || code === "rule");
  return told.map(({ text }) => h("p", { class: "because" }, said(text)));
}

function head(story, reload) {
  const { outcome } = story;
  return [
    h(
      "div",
      { class: `verdict is-${outcome.disposition}` },
      title(datum(story.key)),
      h(
        "p",
        { class: "order" },
        mark(outcome.disposition, "large"),
        h("span", {}, orderText(outcome.disposition, outcome.readings)),
      ),
      outcome.by_hand ? null : h("p", { class: "because" }, said(outcome.reasons[0].text)),
      h("p", { class: "small" }, runsText(outcome.readings), " · ", fullTime(outcome.decided_at)),
      outcome.by_hand ? h("p", { class: "hand" }, mark("hand"), h("span", {}, ruleParts(outcome))) : null,
      outcome.by_hand ? beside(outcome) : null,
    ),
    story.state === "open"
      ? null
      : h(
          "p",
          { class: "ended" },
          story.state === "merged" && outcome.merged_into
            ? parts("case.merged", {
                into: h("a", { href: caseAddress(outcome.merged_into) }, datum(outcome.merged_into)),
              })
            : t(`case.ended.${story.state}`),
        ),
    h(
      "p",
      { class: "buttons" },
      story.state === "open"
        ? deed(t("decide.open"), () => decide(story, reload), { id: "decide", class: "strong" })
        : null,
      h("a", { class: "button", href: `${caseAddress(story.id)}/record`, id: "record" }, t("case.record")),
    ),
  ];
}

function knowledge(story) {
  const { outcome } = story;
  const { probability, carat_estimate: estimate } = outcome.evidence;
  return [
    story.would_change.length === 0
      ? null
      : section(
          t("case.change"),
          h(
            "ul",
            { class: "plain" },
            story.would_change.map((step) => h("li", {}, said(step.text))),
          ),
        ),
    section(
      t("case.why"),
      reasonFacts(outcome),
      probability ? h("p", {}, probabilityText(probability)) : null,
      estimate ? h("p", {}, t("case.estimate", estimate)) : null,
    ),
    section(t("case.declared"), claimFacts(outcome.declared)),
    outcome.disclosure ? section(t("disclosure.title"), disclosureParts(outcome.disclosure, outcome.finding)) : null,
  ];
}

function told(story, reload) {
  if (story.deliveries.length === 0) return section(t("case.told"), h("p", {}, t("case.told.nobody")));
  return section(
    t("case.told"),
    table(
      t("case.told"),
      [
        { name: t("column.outlet"), cell: (d) => datum(d.outlet) },
        { name: t("column.outcome"), cell: (d) => String(d.sequence), number: true },
        { name: t("column.state"), cell: (d) => deliveryText(d) },
        { name: t("column.when"), cell: (d) => shortTime(d.changed_at) },
        { name: t("column.do"), cell: (d) => (mayBeResent(d, story.deliveries) ? resendButton(d, reload) : "") },
      ],
      story.deliveries,
    ),
  );
}

function shadowSection(story) {
  const shadow = story.shadow.at(-1);
  if (shadow === undefined || shadow.sequence !== story.outcome.sequence) return null;
  return section(
    t("case.shadow"),
    h(
      "p",
      {},
      t("case.shadow.says"),
      " ",
      doing(shadow.disposition),
      " (",
      datum(shadow.reason),
      "). ",
      t("case.shadow.nobody"),
    ),
  );
}

export async function show({ root, parameters: [id], signal, live }) {
  let shown = "";
  async function load() {
    const story = await get(pathOf`/api/v1/cases/${id}`, { signal });
    const text = JSON.stringify(story);
    if (text === shown) return;
    shown = text;
    fill(
      root,
      head(story, load),
      h(
        "div",
        { class: "columns" },
        h("div", {}, section(t("case.story"), timeLine(story)), told(story, load)),
        h("div", {}, knowledge(story), shadowSection(story)),
      ),
      h("p", { class: "small" }, parts("case.id", { id: datum(story.id) })),
    );
  }
  const soon = seldom(1000, () => load().catch(() => {}), signal);
  live.addEventListener(
    "changes",
    ({ detail }) => {
      if (
        detail.more > 0 ||
        detail.deliveries > 0 ||
        detail.duplicates > 0 ||
        detail.decided.some((change) => change.case.id === id)
      )
        soon();
    },
    { signal },
  );
  live.addEventListener("fetch", soon, { signal });
  await load();
}
