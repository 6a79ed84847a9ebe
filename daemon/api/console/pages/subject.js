// A stock number: its cases, and what is declared of it, where it was not measured yet too.
import { get, pathOf } from "../api.js";
import { datum, h } from "../dom.js";
import { fullTime } from "../times.js";
import { t } from "../words.js";
import { claimFacts } from "./facts.js";
import { caseRow, describeReading, section, title } from "./parts.js";

export const name = "subject";

export async function show({ root, parameters: [key], signal }) {
  const subject = await get(pathOf`/api/v1/subjects/${key}`, { signal });
  root.append(title(datum(subject.key)));
  if (subject.cases.length === 0) {
    root.append(h("p", { class: "lead" }, t("subject.nocase")));
  } else {
    root.append(section(t("nav.cases"), h("ul", { class: "rows" }, subject.cases.map(caseRow))));
  }
  if (subject.readings_without_case.length > 0) {
    root.append(
      section(
        t("record.readings"),
        h(
          "ul",
          { class: "plain" },
          subject.readings_without_case.map(({ reading }) => h("li", {}, describeReading(reading))),
        ),
      ),
    );
  }
  if (subject.declarations.length > 0) {
    root.append(
      section(
        t("case.declared"),
        subject.declarations.map((told) =>
          h(
            "div",
            { class: "card" },
            claimFacts(told.declaration),
            h("p", { class: "small" }, datum(told.intake), " · ", datum(told.document), " · ", fullTime(told.came_at)),
          ),
        ),
      ),
    );
  }
}
