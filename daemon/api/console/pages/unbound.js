// Readings without a stock number: nobody knows which stone it was, until a person says it.
import { get, pathOf, post } from "../api.js";
import { ask, by, byFields, labelled, tell } from "../dialog.js";
import { datum, h } from "../dom.js";
import { seldom } from "../live.js";
import { acting, mayAct } from "../session.js";
import { parts, t } from "../words.js";
import { LongList, caseAddress, deed, describeReading, facts, guarded, title } from "./parts.js";

export const name = "unbound";

const hints = ["carat", "color", "shape", "operator", "note"];

async function bind(item, reload) {
  if (!(await mayAct("work"))) return;
  const stock = h("input", {
    name: "stock_number",
    required: true,
    maxlength: 200,
    autocomplete: "off",
    spellcheck: "false",
    autocapitalize: "characters",
    translate: "no",
  });
  const position = h("input", { name: "position", maxlength: 50, autocomplete: "off", translate: "no" });
  const bound = await ask({
    title: t("bind.title"),
    content: [
      h("p", {}, describeReading(item.reading)),
      labelled(t("bind.stock"), stock, t("bind.stock.hint")),
      labelled(t("bind.position"), position, t("bind.position.hint")),
      byFields(),
    ],
    action: t("bind.action"),
    send: (values) => {
      const place = values.get("position").trim();
      return acting("work", () =>
        post(pathOf`/api/v1/readings/${item.id}/binding`, {
          stock_number: values.get("stock_number").trim(),
          ...(place === "" ? {} : { position: place }),
          ...by(values),
        }),
      );
    },
  });
  if (bound === null) return;
  const key = bound.case ? h("a", { href: caseAddress(bound.case) }, datum(bound.key)) : datum(bound.key);
  tell(parts("bind.done", { key }));
  await reload();
}

function row(item, reload) {
  const { reading } = item;
  return h(
    "li",
    { class: "card" },
    h("p", { class: "lead" }, describeReading(reading)),
    facts([
      [t("column.run"), reading.run ? datum(reading.run) : null],
      ...hints.map((member) => [t(`fact.${member}`), reading[member] ? datum(String(reading[member])) : null]),
      [t("column.from"), [datum(item.intake), " · ", datum(item.document)]],
    ]),
    h(
      "p",
      { class: "buttons" },
      deed(t("bind.open"), () => bind(item, reload), { id: `bind-${item.id}` }),
    ),
  );
}

export async function show({ root, signal, live }) {
  const list = new LongList({
    fetchPage: (cursor) => get("/api/v1/readings", { query: { unbound: "true", cursor }, signal }),
    row: (item) => row(item, load),
    emptyText: () => t("unbound.none"),
    className: "cards",
  });
  const load = () => guarded(list.element, () => list.load());
  root.append(title(t("nav.unbound")), h("p", { class: "lead" }, t("unbound.lead")), list.element);
  const soon = seldom(
    5000,
    () => {
      // A list that someone has gone on with stays as it is.
      if (list.list.children.length <= 50) load();
    },
    signal,
  );
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
