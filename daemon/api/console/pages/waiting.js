// What waits for a person: how much of each kind, and the way there.
import { Problem, get, getUpTo } from "../api.js";
import { h } from "../dom.js";
import { mark } from "../marks.js";
import { daysAgo } from "../times.js";
import { t } from "../words.js";

const countedMost = 100;
export const waitingDays = 30;

async function countOf(path, query, signal) {
  const { items, more } = await getUpTo(countedMost, path, { query, signal });
  return { n: items.length, isMore: more };
}

const countCases = (disposition, signal) =>
  countOf("/api/v1/cases", { disposition, state: "open", since: daysAgo(waitingDays) }, signal);

const sum = (items, member) => items.reduce((all, item) => all + item[member], 0);

const waiting = [
  { key: "hold", picture: "hold", href: "#/cases?disposition=hold", count: (signal) => countCases("hold", signal) },
  {
    key: "reject",
    picture: "reject",
    href: "#/cases?disposition=reject",
    count: (signal) => countCases("reject", signal),
  },
  { key: "refer", picture: "refer", href: "#/cases?disposition=refer", count: (signal) => countCases("refer", signal) },
  {
    key: "unbound",
    picture: "reading",
    href: "#/unbound",
    count: (signal) => countOf("/api/v1/readings", { unbound: "true" }, signal),
  },
  {
    key: "aside",
    picture: "trouble",
    href: "#/aside",
    count: async (signal) => {
      const { items, of_all: isAll } = await get("/api/v1/aside-causes", { signal });
      return { n: sum(items, "count"), isMore: !isAll };
    },
  },
  {
    key: "parked",
    picture: "delivery",
    href: "#/outlets",
    count: async (signal) => ({ n: sum((await get("/api/v1/outlets", { signal })).items, "parked"), isMore: false }),
  },
];

// `n` is null of what could not be counted: the others are told all the same.
export function whatWaits(signal) {
  return Promise.all(
    waiting.map(async (one) => {
      try {
        return { ...one, ...(await one.count(signal)) };
      } catch (error) {
        if (error instanceof Problem) return { ...one, n: null };
        throw error;
      }
    }),
  );
}

function countText(n, isMore) {
  if (n === null) return t("now.waits.unknown");
  return isMore ? t("now.waits.more", { n }) : t("count", { n });
}

export function waitingTile({ key, picture, href, n, isMore }) {
  const count = countText(n, isMore);
  return h(
    "li",
    { class: n === 0 ? "is-zero" : "" },
    h(
      "a",
      { href, id: `waits-${key}` },
      mark(picture),
      h("span", { class: "n" }, count),
      h("span", {}, t(`now.waits.${key}`, { n: n ?? 0 })),
    ),
  );
}
