// The words that a person sees, by key, from one catalogue. `?lang=` in the address chooses another than the service's.
import en from "./words/en.js";
import { pseudo } from "./words/pseudo.js";

const catalogues = { en: () => en, qps: () => pseudo(en) };

let catalogue = en;
let plurals = new Intl.PluralRules("en");

export let language = "en"; // of the page
export let locale = "en-GB"; // for dates and numbers

export function useLanguage(wanted) {
  language = Object.hasOwn(catalogues, wanted) ? wanted : "en";
  catalogue = catalogues[language]();
  locale = catalogue["locale"];
  plurals = new Intl.PluralRules(locale);
  document.documentElement.lang = language === "qps" ? "en-x-pseudo" : language;
}

function entry(key, values) {
  const found = catalogue[key];
  if (found === undefined) throw new Error(`the catalogue has no words for "${key}"`);
  if (typeof found === "string") return found;
  return found[plurals.select(values.n)] ?? found.other;
}

export function hasWords(key) {
  return catalogue[key] !== undefined;
}

function textOf(value) {
  return typeof value === "number" ? new Intl.NumberFormat(locale).format(value) : String(value);
}

// t("runs", {n: 2, required: 3}). An entry with plural forms goes by `n`.
export function t(key, values = {}) {
  return entry(key, values).replace(/\{(\w+)\}/g, (whole, name) => (name in values ? textOf(values[name]) : whole));
}

// The same as pieces, so that values may be elements.
export function parts(key, values = {}) {
  return entry(key, values)
    .split(/(\{\w+\})/)
    .filter((piece) => piece !== "")
    .map((piece) => {
      const name = piece.match(/^\{(\w+)\}$/)?.[1];
      if (name === undefined || !(name in values)) return piece;
      return values[name] instanceof Node ? values[name] : textOf(values[name]);
    });
}

// A word of a closed list of the service; one that is new to this page stands as it came.
export function word(list, value) {
  return hasWords(`${list}.${value}`) ? t(`${list}.${value}`) : value;
}
