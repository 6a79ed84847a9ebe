// Cases: found by what one types of a stock number, and by what is to be done.
import { get, isAbort, pathOf } from "../api.js";
import { problemBox } from "../dialog.js";
import { datum, fill, h } from "../dom.js";
import { seldom } from "../live.js";
import { parts, t, word } from "../words.js";
import { LongList, caseAddress, caseRow, subjectAddress, title } from "./parts.js";

export const name = "cases";

const typingPauseMs = 150;
const dispositions = ["repeat", "release", "hold", "refer", "reject"];
const states = ["open", "merged", "empty"];

function choice(id, label, list, values, chosen) {
  const select = h(
    "select",
    { id },
    h("option", { value: "" }, t(`cases.any.${list}`)),
    values.map((value) => h("option", { value, selected: value === chosen }, word(list, value))),
  );
  return [h("p", { class: "field" }, h("label", { for: id }, label), select), select];
}

export async function show({ root, query, signal, live }) {
  const search = h("input", {
    id: "q",
    type: "search",
    value: query.get("q") ?? "",
    autocomplete: "off",
    autocapitalize: "characters",
    spellcheck: "false",
    enterkeyhint: "search",
    translate: "no",
  });
  const [dispositionField, disposition] = choice(
    "disposition",
    t("cases.disposition"),
    "doShort",
    dispositions,
    query.get("disposition"),
  );
  const [stateField, state] = choice("state", t("cases.state"), "state", states, query.get("state"));
  const status = h("p", { class: "unseen", role: "status" });
  const place = h("div", {});
  const fresh = h("p", { class: "fresh" });
  root.append(
    title(t("nav.cases")),
    h(
      "form",
      {
        class: "filter",
        role: "search",
        on: {
          submit: (event) => {
            event.preventDefault();
            open();
          },
        },
      },
      h("p", { class: "field grows" }, h("label", { for: "q" }, t("cases.search")), search),
      dispositionField,
      stateField,
    ),
    status,
    fresh,
    place,
  );

  let asked = new AbortController();
  let last = null;
  const wanted = () => ({ q: search.value.trim(), disposition: disposition.value, state: state.value });

  // Of a number that has no case, what is known of it all the same.
  async function unknown(q, theirs) {
    const nothing = [h("p", {}, t("cases.none"))];
    if (q === "") return nothing;
    try {
      const subject = await get(pathOf`/api/v1/subjects/${q}`, { signal: theirs });
      if (subject.declarations.length === 0 && subject.cases.length === 0) return nothing;
      return [h("p", {}, h("a", { href: subjectAddress(q) }, parts("cases.declared", { key: datum(q) })))];
    } catch (error) {
      if (error.status === 404) return nothing;
      throw error;
    }
  }

  async function load() {
    asked.abort();
    asked = new AbortController();
    const theirs = asked.signal;
    const filter = wanted();
    const kept = new URLSearchParams(Object.entries(filter).filter(([, value]) => value !== "")).toString();
    history.replaceState(null, "", `${location.pathname}${location.search}#/cases${kept === "" ? "" : `?${kept}`}`);
    const list = new LongList({
      fetchPage: (cursor) => get("/api/v1/cases", { query: { ...filter, cursor }, signal: theirs }),
      row: caseRow,
      emptyText: "",
    });
    try {
      last = await list.load();
      const isEmpty = last.items.length === 0 && last.next === null;
      fill(place, isEmpty ? h("div", { class: "empty" }, await unknown(filter.q, theirs)) : list.element);
      fill(fresh);
      status.textContent = isEmpty
        ? t("cases.none")
        : t(last.next === null ? "cases.found" : "cases.foundmore", { n: last.items.length });
    } catch (error) {
      if (!isAbort(error)) fill(place, problemBox(error));
    }
  }

  // Enter, as a barcode scanner sends it: to the one case that has this very number.
  async function open() {
    clearTimeout(typing);
    await load();
    const exact = last?.items.filter((line) => line.key === search.value.trim()) ?? [];
    if (exact.length === 1) {
      location.hash = caseAddress(exact[0].id);
    } else if (last?.items.length === 1) {
      location.hash = caseAddress(last.items[0].id);
    }
  }

  let typing = 0;
  search.addEventListener("input", () => {
    clearTimeout(typing);
    typing = setTimeout(load, typingPauseMs);
  });
  disposition.addEventListener("change", load);
  state.addEventListener("change", load);
  signal.addEventListener("abort", () => {
    clearTimeout(typing);
    asked.abort();
  });
  const offer = seldom(
    1000,
    () => {
      if (fresh.childNodes.length > 0) return;
      fill(
        fresh,
        h(
          "button",
          {
            type: "button",
            on: {
              click: async () => {
                await load();
                (place.querySelector("a") ?? search).focus();
              },
            },
          },
          t("cases.fresh"),
        ),
      );
    },
    signal,
  );
  live.addEventListener(
    "changes",
    ({ detail }) => {
      if (detail.decided.length + detail.more > 0) offer();
    },
    { signal },
  );
  await load();
}
