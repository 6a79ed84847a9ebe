// The benches: what is known of each, and its panel on the page.
import { datum, fill, h, setText } from "../dom.js";
import { doing, mark, orderText, runsText } from "../marks.js";
import { ageText, shortText } from "../times.js";
import { t, word } from "../words.js";
import { caseAddress, subjectAddress } from "./parts.js";

const kept = 8; // stones of a bench
const shownRecent = 5; // below the one in hand
const benchesShown = 24;

// --- what is known of the benches

// Of what was measured at `bench` the newest first, each stone once.
function withStone(latest, entry) {
  const others = latest.filter((other) => entry.key === null || other.key !== entry.key);
  const at = others.findIndex((other) => other.at <= entry.at);
  others.splice(at < 0 ? others.length : at, 0, entry);
  return others.slice(0, kept);
}

function entryOf({ case: line, instrument }) {
  return { at: line.last_measured_at ?? line.decided_at, instrument, key: line.key, finding: line.finding, case: line };
}

export class Benches {
  #byName = new Map();

  replace(items) {
    this.#byName = new Map(
      items.map((item) => [item.bench, { ...item, latest: item.latest.slice().reverse().reduce(withStone, []) }]),
    );
  }

  // False where a bench is new to us: the list must be fetched.
  decided(change) {
    const bench = this.#byName.get(change.bench);
    if (bench === undefined) return false;
    const entry = entryOf(change);
    const isHere = bench.latest.some((other) => other.key === entry.key);
    if (bench.latest.some(({ case: known }) => known?.id === entry.case.id && known.sequence > entry.case.sequence))
      return true;
    // What a person decided at a desk did not happen on the bench.
    if (change.case.by_hand === null || isHere) bench.latest = withStone(bench.latest, entry);
    return true;
  }

  all() {
    return [...this.#byName.values()]
      .sort(
        (a, b) =>
          (a.bench === null) - (b.bench === null) ||
          (a.bench ?? "").localeCompare(b.bench ?? "", "en", { numeric: true }),
      )
      .slice(0, benchesShown);
  }
}

// --- a bench's panel: made once, then only what differs is written

function runMarks(readings) {
  const most = 6;
  const pip = (kind) => h("span", { class: `pip is-${kind}` });
  const valid = Math.min(readings.valid, most);
  const missing = Math.min(Math.max(0, readings.required - readings.valid), most - valid);
  return h(
    "span",
    { class: "pips", "aria-hidden": "true" },
    Array.from({ length: valid }, () => pip("done")),
    Array.from({ length: missing }, () => pip("missing")),
  );
}

export class Panel {
  #shown = "";
  #at = null;
  #recent;
  #parts;

  constructor(bench, index) {
    const id = `bench-${index}`;
    const p = {
      title: bench === null ? h("h2", { id }, t("now.nobench")) : datum(bench, "h2", { id }),
      device: datum("", "p", { class: "device" }),
      when: h("time", {}),
      age: h("span", {}),
      stock: h("p", { class: "stock" }),
      order: h("p", { class: "order" }),
      because: h("p", { class: "because" }),
      runs: h("p", { class: "runs" }),
      recentTitle: h("h3", {}, t("now.before")),
    };
    this.#parts = p;
    this.#recent = Array.from({ length: shownRecent }, () => {
      const row = {
        key: datum("", "span", { class: "key" }),
        doing: h("span", {}),
        when: h("time", {}),
        link: h("a", {}),
        shown: "",
      };
      row.link.append(row.key, row.doing, row.when);
      row.item = h("li", { hidden: true }, row.link);
      return row;
    });
    this.element = h(
      "article",
      { class: "bench", "aria-labelledby": id },
      h("div", { class: "bench-head" }, p.title, p.device, h("p", { class: "when" }, p.when, " ", p.age)),
      h("div", { class: "in-hand" }, p.stock, p.order, p.because, p.runs),
      h(
        "div",
        { class: "before" },
        p.recentTitle,
        h(
          "ol",
          { class: "recent" },
          this.#recent.map((row) => row.item),
        ),
      ),
    );
  }

  show(bench) {
    const entry = bench.latest[0];
    setText(this.#parts.device, bench.instruments.join(", "));
    if (entry === undefined) return this.#showNothing();
    this.#at = entry.at;
    if (this.#parts.when.dateTime !== entry.at) {
      this.#parts.when.dateTime = entry.at;
      setText(this.#parts.when, shortText(entry.at));
    }
    this.showAge();
    const line = entry.case;
    const shown = JSON.stringify([
      entry.key,
      entry.finding,
      line?.id,
      line?.disposition,
      line?.reason.text,
      line?.readings,
    ]);
    if (shown !== this.#shown) {
      this.#shown = shown;
      this.#showEntry(entry);
    }
    this.#showRecent(bench.latest.slice(1));
  }

  showAge() {
    if (this.#at !== null) setText(this.#parts.age, ageText(this.#at));
  }

  #showNothing() {
    this.element.className = "bench is-none";
    fill(this.#parts.order, mark("none", "large"), h("span", {}, t("now.nothing")));
    this.#parts.recentTitle.parentElement.hidden = true;
  }

  #showEntry(entry) {
    const p = this.#parts;
    const line = entry.case;
    p.because.removeAttribute("lang");
    this.element.className = `bench is-${line?.disposition ?? "none"}`;
    if (entry.key === null) {
      fill(p.stock, h("a", { href: "#/unbound", class: "nonumber" }, t("now.unbound")));
      fill(p.order, mark("none", "large"), h("span", {}, t("now.unbound.do")));
      setText(p.because, t("now.unbound.says", { finding: word("finding", entry.finding) }));
      fill(p.runs);
      return;
    }
    const target = line ? caseAddress(line.id) : subjectAddress(entry.key);
    const key = datum(entry.key, "a", { href: target });
    key.style.setProperty("--chars", String(Math.max(4, entry.key.length)));
    fill(p.stock, key);
    if (line === null) {
      fill(p.order, mark("none", "large"), h("span", {}, t("now.undecided")));
      setText(p.because, t("now.unbound.says", { finding: word("finding", entry.finding) }));
      fill(p.runs);
      return;
    }
    fill(p.order, mark(line.disposition, "large"), h("span", {}, orderText(line.disposition, line.readings)));
    p.because.lang = "en";
    setText(p.because, line.reason.text);
    fill(p.runs, runMarks(line.readings), h("span", {}, runsText(line.readings)));
  }

  #showRecent(entries) {
    const known = entries.filter((entry) => entry.key !== null).slice(0, shownRecent);
    this.#parts.recentTitle.parentElement.hidden = known.length === 0;
    this.#recent.forEach((row, i) => {
      const entry = known[i];
      row.item.hidden = entry === undefined;
      if (entry === undefined) return;
      const shown = `${entry.key} ${entry.at} ${entry.case?.id} ${entry.case?.disposition}`;
      if (shown === row.shown) return;
      row.shown = shown;
      row.link.href = entry.case ? caseAddress(entry.case.id) : subjectAddress(entry.key);
      setText(row.key, entry.key);
      row.when.dateTime = entry.at;
      setText(row.when, shortText(entry.at));
      fill(row.doing, entry.case ? doing(entry.case.disposition) : word("finding", entry.finding));
    });
  }
}
