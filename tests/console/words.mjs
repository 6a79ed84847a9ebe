// Every key that the pages use has words, every entry of the catalogue is used, and the pseudo-language has the same
// keys and placeholders. Needs no browser.
//   node words.mjs
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const pages = join(dirname(fileURLToPath(import.meta.url)), "../../daemon/api/console");
const sources = readdirSync(pages, { recursive: true })
  .map(String)
  .filter((name) => name.endsWith(".js") && !name.startsWith("words/"))
  .map((name) => readFileSync(join(pages, name), "utf8"));

// The catalogue is a module named .js, which node would take for the old kind.
const load = (name) => import(`data:text/javascript,${encodeURIComponent(readFileSync(join(pages, name), "utf8"))}`);

const en = (await load("words/en.js")).default;
const { pseudo } = await load("words/pseudo.js");

// Keys that are put together: `nav.${section}` stands for all that begin with "nav.".
const whole = new Set();
const beginnings = new Set();
for (const source of sources) {
  for (const [, text] of source.matchAll(/"([a-zA-Z]+(?:\.[a-zA-Z_0-9]+)*)"/g)) whole.add(text);
  for (const [, text] of source.matchAll(/`([a-z]+\.(?:[a-z]+\.)*)\$\{/g)) beginnings.add(text);
  for (const [, text] of source.matchAll(/\bword\("([a-zA-Z.]+)"/g)) beginnings.add(`${text}.`);
  // The first argument of t() and parts() is a key: it must have words.
  for (const [, key] of source.matchAll(/\b(?:t|parts)\("([^"]+)"/g))
    assert.ok(key in en, `the catalogue has no words for "${key}"`);
}

for (const key of Object.keys(en)) {
  const isUsed = whole.has(key) || [...beginnings].some((beginning) => key.startsWith(beginning));
  assert.ok(isUsed || key === "locale", `nobody uses the words of "${key}"`);
}

const placeholders = (text) => [...text.matchAll(/\{\w+\}/g)].map(([name]) => name).sort();
const formsOf = (value) => (typeof value === "string" ? { other: value } : value);
const strange = pseudo(en);
assert.deepEqual(Object.keys(strange), Object.keys(en));
for (const key of Object.keys(en).filter((name) => name !== "locale")) {
  const forms = formsOf(en[key]);
  assert.ok("other" in forms, `"${key}" has no form "other"`);
  for (const [form, text] of Object.entries(forms)) {
    const other = formsOf(strange[key])[form];
    assert.deepEqual(placeholders(other), placeholders(text), key);
    assert.match(other, /^⟦.*⟧$/su, key);
  }
}

// The words of the service's closed lists (daemon/model/words.cc).
const lists = {
  do: ["repeat", "release", "hold", "refer", "reject"],
  doShort: ["repeat", "release", "hold", "refer", "reject"],
  finding: [
    "natural",
    "laboratory_grown",
    "treated",
    "composite",
    "simulant",
    "indeterminate",
    "void",
    "mixed",
    "none",
  ],
  scope: ["in", "out", "unknown"],
  fitness: ["fit", "unfit", "unknown"],
  delivery: ["waiting", "sent", "parked", "skipped"],
  state: ["open", "merged", "empty"],
  role: ["look", "work", "admin"],
  "outlet.state": ["open", "paused", "closed", "resting"],
  "intake.kind": ["folder", "serial", "tcp", "post"],
  "outlet.kind": ["webhook", "folder"],
  kind: ["reading", "declaration", "scan"],
};
for (const [list, words] of Object.entries(lists)) {
  for (const word of words) assert.ok(`${list}.${word}` in en, `the catalogue has no words for "${list}.${word}"`);
}
console.log(`${Object.keys(en).length} entries, all used`);
