// Pieces that several pages show.
import { isAbort, Problem } from "../api.js";
import { problemBox, tell } from "../dialog.js";
import { datum, fill, h, said } from "../dom.js";
import { doing, runsText } from "../marks.js";
import { fullTime, shortTime } from "../times.js";
import { parts, t, word } from "../words.js";

export const caseAddress = (id) => `#/cases/${encodeURIComponent(id)}`;
export const subjectAddress = (key) => `#/subjects/${encodeURIComponent(key)}`;

export function title(text) {
  return h("h1", { tabindex: "-1" }, text);
}

// A section with its heading.
export function section(heading, ...content) {
  return h("section", {}, h("h2", {}, heading), content);
}

// One line for a case, to go to it.
export function caseRow(line) {
  return h(
    "li",
    {},
    h(
      "a",
      { class: "row", href: caseAddress(line.id), id: `case-${line.id}` },
      datum(line.key, "span", { class: "key" }),
      doing(line.disposition),
      said(line.reason.text, "span", { class: "reason" }),
      h("span", { class: "small" }, line.state === "open" ? runsText(line.readings) : word("state", line.state)),
      h("span", { class: "small" }, shortTime(line.decided_at)),
    ),
  );
}

// Who says what, and when.
export function describeReading(reading) {
  return parts("unbound.reading", {
    instrument: datum(reading.instrument, "strong"),
    finding: word("finding", reading.finding),
    at: fullTime(reading.measured_at),
  });
}

// Pairs of a name and what is there; those without are left out.
export function facts(pairs) {
  return h(
    "dl",
    { class: "facts" },
    pairs
      .filter(([, value]) => value !== null && value !== undefined && value !== "")
      .map(([label, value]) => h("div", {}, h("dt", {}, label), h("dd", {}, value))),
  );
}

// One element, whatever is in a cell: a narrow screen puts it beside the column's name.
function cellParts(content) {
  return content === "" ? null : h("div", {}, content);
}

// A table that a narrow screen shows as one block a row: each cell carries its column's name.
// columns: [{name, cell: (row) => content, number?: true}]. `caption` is for screen readers: a heading says it to the eye.
export function table(caption, columns, rows, { className = "" } = {}) {
  return h(
    "table",
    { class: `stacked ${className}` },
    h("caption", { class: "unseen" }, caption),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        columns.map((c) => h("th", { scope: "col", class: c.number ? "number" : "" }, c.name)),
      ),
    ),
    h(
      "tbody",
      {},
      rows.map((row) =>
        h(
          "tr",
          {},
          columns.map((c, i) =>
            h(
              i === 0 ? "th" : "td",
              { scope: i === 0 ? "row" : null, "data-column": c.name, class: c.number ? "number" : "" },
              cellParts(c.cell(row)),
            ),
          ),
        ),
      ),
    ),
  );
}

// A button that does a deed, and cannot be pressed twice while it does.
export function deed(label, work, attributes = {}) {
  const button = h(
    "button",
    {
      type: "button",
      ...attributes,
      on: {
        click: async () => {
          if (button.getAttribute("aria-disabled") === "true") return;
          button.setAttribute("aria-disabled", "true");
          try {
            await work();
          } catch (error) {
            if (!isAbort(error)) tell(problemBox(error));
          } finally {
            button.removeAttribute("aria-disabled");
          }
        },
      },
    },
    label,
  );
  return button;
}

// A list that goes on with a button. `fetchPage(cursor)` gives {items, next}; `row(item)` an <li>.
export class LongList {
  #more = h("p", { class: "buttons" });
  #fetchPage;
  #row;
  #emptyText;

  constructor({ fetchPage, row, emptyText, className = "rows" }) {
    this.#fetchPage = fetchPage;
    this.#row = row;
    this.#emptyText = emptyText;
    this.list = h("ul", { class: className });
    this.element = h("div", {}, this.list, this.#more);
  }

  async load() {
    const page = await this.#fetchPage(null);
    fill(this.list, page.items.map(this.#row));
    this.#end(page.next);
    if (page.items.length === 0 && page.next === null) {
      fill(
        this.#more,
        h("span", { class: "empty" }, typeof this.#emptyText === "function" ? this.#emptyText() : this.#emptyText),
      );
    }
    return page;
  }

  #end(next) {
    fill(
      this.#more,
      next === null
        ? null
        : deed(t("list.more"), async () => {
            const page = await this.#fetchPage(next);
            const before = this.list.children.length;
            this.list.append(...page.items.map(this.#row));
            this.#end(page.next);
            this.list.children[before]?.querySelector("a, button")?.focus();
          }),
    );
  }
}

// Loads what a part of a page shows, and says so in its place where that fails.
export async function guarded(place, load) {
  try {
    await load();
  } catch (error) {
    if (isAbort(error)) return;
    if (!(error instanceof Problem)) throw error;
    fill(place, problemBox(error));
  }
}

// Says what "again", "overtaken" and "waiting" of a resend mean.
export function resentText(answer) {
  const texts = [t("resend.again", { n: answer.again })];
  if (answer.overtaken > 0) texts.push(t("resend.overtaken", { n: answer.overtaken }));
  if (answer.waiting > 0) texts.push(t("resend.waiting", { n: answer.waiting }));
  return texts.join(" ");
}
