// Outlets: who is told, what is stuck, and what can be done about it.
import { get, pathOf, post } from "../api.js";
import { ask, by, byFields, tell } from "../dialog.js";
import { datum, fill, h, said } from "../dom.js";
import { seldom } from "../live.js";
import { mark } from "../marks.js";
import { acting, mayAct } from "../session.js";
import { ageText, shortTime } from "../times.js";
import { parts, t, word } from "../words.js";
import { LongList, caseAddress, deed, facts, guarded, resentText, title } from "./parts.js";

export const name = "outlets";

async function pause(outlet, reload) {
  if (!(await mayAct("admin"))) return;
  const done = await ask({
    title: h("span", {}, parts("pause.title", { outlet: datum(outlet.name) })),
    content: [h("p", {}, t("pause.what")), byFields()],
    action: t("pause.action"),
    send: (values) => acting("admin", () => post(pathOf`/api/v1/outlets/${outlet.name}/pause`, by(values))),
  });
  if (done === null) return;
  tell(t(done.changed ? "pause.done" : "pause.already"));
  await reload();
}

async function resume(outlet, reload) {
  const answer = await acting("admin", () => post(pathOf`/api/v1/outlets/${outlet.name}/resume`, {}));
  if (answer === null) return;
  tell(t("resume.done", { n: answer.waiting ?? 0 }));
  await reload();
}

async function resendParked(outlet, reload) {
  const answer = await acting("admin", () => post("/api/v1/resends", { outlet: outlet.name, parked: true }));
  if (answer === null) return;
  tell(resentText(answer));
  await reload();
}

function lastParts({ last, kind }) {
  if (last === null) return t("outlet.nothing");
  const silent = t(kind === "folder" ? "outlet.written" : "outlet.silent");
  const answer = last.status ? t("outlet.answered", { status: String(last.status), ms: last.took_ms }) : silent;
  return [
    shortTime(last.at),
    ": ",
    answer,
    last.note ? [" · ", said(last.note)] : null,
    last.answer ? datum(last.answer, "pre", { class: "bytes" }) : null,
  ];
}

function parkedRow(delivery, reload) {
  return h(
    "li",
    { class: "row" },
    h("a", { href: caseAddress(delivery.case) }, datum(delivery.key, "span", { class: "key" })),
    h(
      "span",
      {},
      delivery.status ? t("delivery.status", { status: String(delivery.status) }) : t("outlet.silent"),
      delivery.note ? [" · ", said(delivery.note)] : null,
    ),
    h("span", { class: "small" }, shortTime(delivery.changed_at)),
    deed(
      t("delivery.resend"),
      async () => {
        const answer = await acting("work", () => post(pathOf`/api/v1/deliveries/${delivery.id}/resend`, {}));
        if (answer === null) return;
        tell(resentText(answer));
        await reload();
      },
      { id: `resend-${delivery.id}`, "aria-label": t("delivery.resend.key", { key: delivery.key }) },
    ),
  );
}

function parkedList(outlet, reload, signal) {
  const place = h("div", {});
  return [
    place,
    deed(
      t("outlet.parked.show"),
      async () => {
        const list = new LongList({
          fetchPage: (cursor) =>
            get("/api/v1/deliveries", { query: { outlet: outlet.name, state: "parked", cursor }, signal }),
          row: (delivery) => parkedRow(delivery, reload),
          emptyText: () => t("outlet.parked.none"),
        });
        await list.load();
        fill(place, list.element);
      },
      { id: `parked-${outlet.name}` },
    ),
  ];
}

function card(outlet, reload, signal) {
  const isOpen = outlet.state === "open" || outlet.state === "resting";
  const [parked, parkedButton] = outlet.parked > 0 ? parkedList(outlet, reload, signal) : [null, null];
  const heading = h("h2", { id: `outlet-${outlet.name}` }, datum(outlet.name));
  return h(
    "article",
    { class: `card is-${outlet.state}`, "aria-labelledby": heading.id },
    heading,
    h("p", { class: "state" }, mark(outlet.state), h("strong", {}, word("outlet.state", outlet.state))),
    outlet.why ? h("p", {}, said(outlet.why)) : null,
    facts([
      [t("outlet.waiting"), t("count", { n: outlet.waiting })],
      [t("outlet.oldest"), outlet.oldest_waiting_at ? ageText(outlet.oldest_waiting_at) : null],
      [
        t("outlet.parked"),
        outlet.parked > 0 ? h("strong", {}, t("count", { n: outlet.parked })) : t("count", { n: 0 }),
      ],
      [t("outlet.sent"), t("count", { n: outlet.sent })],
      [t("outlet.skipped"), outlet.skipped > 0 ? t("count", { n: outlet.skipped }) : null],
      [t("outlet.kind"), word("outlet.kind", outlet.kind)],
      [t("outlet.last"), lastParts(outlet)],
    ]),
    parked,
    h(
      "p",
      { class: "buttons" },
      outlet.parked > 0
        ? deed(t("outlet.resend"), () => resendParked(outlet, reload), {
            class: "strong",
            id: `again-${outlet.name}`,
            "aria-describedby": heading.id,
          })
        : null,
      parkedButton,
      isOpen
        ? deed(t("pause.open"), () => pause(outlet, reload), {
            id: `turn-${outlet.name}`,
            "aria-describedby": heading.id,
          })
        : deed(t("resume.open"), () => resume(outlet, reload), {
            class: "strong",
            id: `turn-${outlet.name}`,
            "aria-describedby": heading.id,
          }),
    ),
  );
}

export async function show({ root, signal, live }) {
  const place = h("div", { class: "cards" });
  root.append(title(t("nav.outlets")), h("p", { class: "lead" }, t("outlets.lead")), place);
  let shown = "";
  const load = () =>
    guarded(place, async () => {
      const { items } = await get("/api/v1/outlets", { signal });
      const text = JSON.stringify(items);
      if (text === shown) return;
      shown = text;
      fill(
        place,
        items.length === 0
          ? h("p", { class: "empty" }, t("outlets.none"))
          : items.map((outlet) => card(outlet, load, signal)),
      );
    });
  const soon = seldom(
    3000,
    () => {
      // Whoever looks at parked ones is not disturbed.
      if (place.querySelector("li.row") === null) load();
    },
    signal,
  );
  live.addEventListener(
    "changes",
    ({ detail }) => {
      if (detail.deliveries > 0 || detail.decided.length > 0) soon();
    },
    { signal },
  );
  live.addEventListener("fetch", soon, { signal });
  const minutes = setInterval(soon, 60_000);
  signal.addEventListener("abort", () => clearInterval(minutes));
  await load();
}
