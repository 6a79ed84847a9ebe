// What nobody could read: grouped by cause, the bytes beside the mapping's complaint, and another try.
import { get, getUpTo, post } from "../api.js";
import { tell } from "../dialog.js";
import { datum, fill, h, said } from "../dom.js";
import { seldom } from "../live.js";
import { acting } from "../session.js";
import { fullTime, shortTime } from "../times.js";
import { parts, t } from "../words.js";
import { LongList, deed, guarded, title } from "./parts.js";

export const name = "aside";

const triedMost = 1000;

function bytesOf(base64) {
  return Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
}

// As an editor for bytes shows them: where, sixteen numbers, the letters.
function numbersText(bytes) {
  const lines = [];
  for (let at = 0; at < bytes.length; at += 16) {
    const row = [...bytes.subarray(at, at + 16)];
    const numbers = row
      .map((byte) => byte.toString(16).padStart(2, "0"))
      .join(" ")
      .padEnd(47);
    lines.push(
      `${at.toString(16).padStart(6, "0")}  ${numbers}  ${row.map((b) => (b > 31 && b < 127 ? String.fromCharCode(b) : ".")).join("")}`,
    );
  }
  return lines.join("\n");
}

// The bytes, and what is wrong with them.
function evidence(item) {
  const numbers = h("details", {}, h("summary", {}, t("aside.numbers")));
  numbers.addEventListener("toggle", () => {
    if (numbers.open && numbers.children.length === 1) {
      numbers.append(
        datum(numbersText(bytesOf(item.base64)), "pre", {
          tabindex: "0",
          role: "region",
          "aria-label": t("aside.numbers"),
        }),
      );
    }
  });
  return h(
    "div",
    { class: "evidence" },
    h(
      "div",
      {},
      h("h3", {}, t("aside.came")),
      datum(item.text, "pre", { class: "bytes" }),
      item.truncated ? h("p", { class: "small" }, t("aside.cut")) : null,
      h(
        "p",
        { class: "small" },
        datum(item.document),
        item.line ? [" ", t("place.line", { n: item.line })] : null,
        " · ",
        fullTime(item.at),
      ),
      item.base64 ? numbers : null,
    ),
    h(
      "div",
      {},
      h("h3", {}, t("aside.wrong")),
      h("p", { class: "lead" }, said(item.reason)),
      item.settled_at ? h("p", {}, parts("aside.settled", { at: fullTime(item.settled_at) })) : null,
      item.can_try_again === false ? h("p", { class: "small" }, t("aside.notkept")) : null,
    ),
  );
}

function retriedText(answer) {
  const texts = [t("retry.documents", { n: answer.documents })];
  if (answer.readings > 0) texts.push(t("retry.readings", { n: answer.readings }));
  if (answer.declarations > 0) texts.push(t("retry.declarations", { n: answer.declarations }));
  texts.push(t("retry.settled", { n: answer.settled }));
  if (answer.still_aside > 0) texts.push(t("retry.still", { n: answer.still_aside }));
  if (answer.not_kept.length > 0) texts.push(t("retry.notkept", { n: answer.not_kept.length }));
  return [texts.join(" "), answer.failed ? [" ", said(answer.failed)] : null];
}

async function tryAgain(query, reload, signal) {
  const answer = await acting("work", async () => {
    const { items } = await getUpTo(triedMost, "/api/v1/aside", { query, signal });
    if (items.length === 0) return {};
    return post("/api/v1/aside/retries", { ids: items.map((item) => item.id) }, { signal });
  });
  if (answer === null) return;
  tell(answer.documents === undefined ? t("retry.none") : retriedText(answer));
  await reload();
}

function group(cause, index, reload, signal) {
  const query = { intake: cause.intake, cause: cause.cause };
  const all = h("div", {});
  const heading = h("h2", { id: `cause-${index}` }, datum(cause.intake), ": ", said(cause.cause));
  return h(
    "article",
    { class: "card", "aria-labelledby": heading.id },
    heading,
    h(
      "p",
      { class: "small" },
      t("aside.count", { n: cause.count }),
      " · ",
      cause.count === 1
        ? shortTime(cause.first_at)
        : parts("aside.span", { first: shortTime(cause.first_at), last: shortTime(cause.last_at) }),
    ),
    evidence(cause.example),
    all,
    h(
      "p",
      { class: "buttons" },
      cause.count === 1 && !cause.example.can_try_again
        ? null
        : deed(t("aside.again"), () => tryAgain(query, reload, signal), {
            id: `again-${index}`,
            class: "strong",
            "aria-describedby": heading.id,
          }),
      cause.count === 1
        ? null
        : deed(
            t("aside.all", { n: cause.count }),
            async () => {
              const list = new LongList({
                fetchPage: (cursor) => get("/api/v1/aside", { query: { ...query, limit: 20, cursor }, signal }),
                row: (item) => h("li", {}, evidence(item)),
                emptyText: "",
                className: "evidences",
              });
              await list.load();
              fill(all, list.element);
            },
            { id: `all-${index}` },
          ),
    ),
  );
}

export async function show({ root, signal, live }) {
  const place = h("div", { class: "cards" });
  root.append(title(t("nav.aside")), h("p", { class: "lead" }, t("aside.lead")), place);
  let shown = "";
  const load = () =>
    guarded(place, async () => {
      const { items, of_all: isAll } = await get("/api/v1/aside-causes", { signal });
      const text = JSON.stringify(items);
      if (text === shown) return;
      shown = text;
      fill(
        place,
        items.length === 0 ? h("p", { class: "empty" }, t("aside.none")) : null,
        items.map((cause, i) => group(cause, i, load, signal)),
        isAll ? null : h("p", {}, t("aside.notall")),
      );
    });
  const soon = seldom(5000, load, signal);
  live.addEventListener(
    "changes",
    ({ detail }) => {
      if (detail.asides > 0) soon();
    },
    { signal },
  );
  live.addEventListener("fetch", soon, { signal });
  await load();
}
