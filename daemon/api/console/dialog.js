// Dialogs: one question at a time, answered or left with Escape. The focus returns to where it was.
import { Problem } from "./api.js";
import { fill, h, said } from "./dom.js";
import { t } from "./words.js";

let count = 0;

// A labelled field. `field` is an input, select or textarea; `hint` says what stands in it.
export function labelled(label, field, hint = null) {
  field.id ||= `field-${++count}`;
  if (hint !== null) field.setAttribute("aria-describedby", `${field.id}-hint`);
  return h(
    "p",
    { class: "field" },
    h("label", { for: field.id }, label),
    field,
    hint === null ? null : h("span", { id: `${field.id}-hint`, class: "hint" }, hint),
  );
}

export function problemBox(error) {
  if (!(error instanceof Problem)) throw error;
  const advice = error.advice();
  return h(
    "div",
    { class: "problem", role: "alert" },
    h("p", {}, said(error.detail)),
    advice === "" ? null : h("p", {}, advice),
  );
}

// Shows a form. `send` gets the form's values and does the deed; what it throws is shown, and the dialog stays open.
// Resolves with what `send` gave, or null where the person left. `send` may give null to stay.
export function ask({ title, content, action, send }) {
  return new Promise((resolve) => {
    const id = `dialog-${++count}`;
    const trouble = h("div", {});
    const button = h("button", { type: "submit", class: "strong" }, action);
    let answer = null;
    const form = h(
      "form",
      {
        method: "dialog",
        on: {
          submit: async (event) => {
            event.preventDefault();
            if (button.getAttribute("aria-disabled") === "true") return;
            button.setAttribute("aria-disabled", "true");
            fill(trouble);
            try {
              answer = await send(new FormData(form));
              if (answer !== null) dialog.close();
            } catch (error) {
              fill(trouble, problemBox(error));
            } finally {
              button.removeAttribute("aria-disabled");
            }
          },
        },
      },
      h("h2", { id }, title),
      content,
      trouble,
      h(
        "p",
        { class: "buttons" },
        button,
        h("button", { type: "button", on: { click: () => dialog.close() } }, t("dialog.leave")),
      ),
    );
    const dialog = h("dialog", { "aria-labelledby": id }, form);
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(answer);
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}

// The fields for who does it and why. Names that were given in this tab are offered: several people share a counter.
const names = new Set();

export function byFields() {
  const list = h(
    "datalist",
    { id: "names" },
    [...names].map((name) => h("option", { value: name })),
  );
  const who = h("input", {
    name: "who",
    required: true,
    maxlength: 100,
    autocomplete: "off",
    list: "names",
    translate: "no",
  });
  const why = h("textarea", { name: "why", required: true, maxlength: 500, rows: 3 });
  return [labelled(t("by.who"), who, t("by.who.hint")), list, labelled(t("by.why"), why, t("by.why.hint"))];
}

export function by(values) {
  const who = values.get("who").trim();
  names.add(who);
  return { who, why: values.get("why").trim() };
}

// What was done, for a moment, where everybody looks and a screen reader tells.
export function tell(...content) {
  const box = document.getElementById("told");
  fill(box, h("p", {}, content));
  clearTimeout(tell.timer);
  tell.timer = setTimeout(() => fill(box), 8000);
}
