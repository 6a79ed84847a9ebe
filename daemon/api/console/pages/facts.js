// What a case rests on, in words: for its page, its time line and its record.
import { datum, h, said } from "../dom.js";
import { parts, t, word } from "../words.js";
import { facts } from "./parts.js";

export const claimed = [
  "identity",
  "carat",
  "color",
  "shape",
  "mount",
  "stones",
  "value",
  "channel",
  "table_mm",
  "length_mm",
  "width_mm",
  "depth_mm",
];

// What a declaration or an outcome's `declared` says, and what the inventory says besides.
export function claimFacts(claim) {
  const pairs = claimed
    .filter((member) => claim[member] !== undefined)
    .map((member) => [
      t(`fact.${member}`),
      member === "identity" ? word("finding", claim.identity) : datum(String(claim[member])),
    ]);
  for (const [member, value] of Object.entries(claim)) {
    if (member.startsWith("extra.")) pairs.push([datum(member.slice(6)), datum(String(value))]);
  }
  return pairs.length === 0 ? h("p", {}, t("case.declared.nothing")) : facts(pairs);
}

// "0.97310" is 97.31: by its digits, because rounding might make a certainty of it.
function percentText(share) {
  const digits = share.slice(2).padEnd(2, "0");
  const rest = digits.slice(2).replace(/0+$/, "");
  return `${Number(digits.slice(0, 2))}${rest === "" ? "" : `.${rest}`}`;
}

export function probabilityText({ of, value, low, high }) {
  return t("case.probability", {
    identity: word("finding", of),
    value: percentText(value),
    low: percentText(low),
    high: percentText(high),
  });
}

const labelledReasons = ["seen", "asked", "rule", "probable", "carat"];

export function reasonFacts(outcome) {
  return facts(
    outcome.reasons
      .slice(1)
      .filter(({ code }) => code !== "would_change")
      .map(({ code, text }) => [labelledReasons.includes(code) ? t(`reason.${code}`) : t("reason.other"), said(text)]),
  );
}

export function disclosureParts({ words, barred, rule, source, caution }, finding) {
  return [
    h("p", {}, parts("disclosure.may", { finding: word("finding", finding), words: said(words.join(", "), "strong") })),
    barred.length === 0 ? null : h("p", {}, parts("disclosure.not", { words: said(barred.join(", "), "strong") })),
    h("p", {}, t("disclosure.none"), " ", said(caution)),
    h("p", { class: "small" }, said(`${rule}. ${source}`)),
  ];
}

export function deliveryText({ state, status, note, attempts }) {
  const texts = [word("delivery", state)];
  if (status) texts.push(t("delivery.status", { status: String(status) }));
  if (attempts > 1) texts.push(t("delivery.attempts", { n: attempts }));
  return [texts.join(", "), note && state !== "skipped" ? [" · ", said(note)] : null];
}

export function placeParts(told, place) {
  return [
    datum(told.intake),
    " · ",
    datum(told.document),
    place?.line ? [" ", t("place.line", { n: place.line })] : null,
  ];
}

// Which rule, or who.
export function ruleParts(outcome) {
  if (outcome.by_hand) {
    return parts("moment.hand", { who: datum(outcome.by_hand.who, "strong"), why: datum(outcome.by_hand.why, "q") });
  }
  const { name: policy, version, rule } = outcome.policy;
  return parts(rule === 0 ? "moment.norule" : "moment.rule", { rule, policy: datum(policy), version: datum(version) });
}
