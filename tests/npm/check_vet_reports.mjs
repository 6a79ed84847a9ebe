// The reports of `girdled vet --json` are what schemas/vet.schema.json says (npm ajv):
//   node check_vet_reports.mjs GIRDLED SOURCES READERS TEST-READERS
// READERS has the readers that ship, TEST-READERS those of tests/vet, which go wrong in every way. The schema is also
// shown every report with something wrong in it, which it must refuse.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

import Ajv2020 from "ajv/dist/2020.js";

import { check, finish } from "./checks.mjs";

const [girdled, sources, readers, testReaders] = process.argv.slice(2);

const schema = JSON.parse(readFileSync(join(sources, "schemas", "vet.schema.json"), "utf8"));
const valid = new Ajv2020({ strict: true, allowUnionTypes: true, allErrors: true }).compile(schema);

const kept = mkdtempSync(join(tmpdir(), "girdle-vet-"));
const samples = join(sources, "tests/vet/samples");
function vet(manifest, more) {
  const run = spawnSync(girdled, ["vet", manifest, "--samples", samples, "--time", "300ms", "--json", ...more], {
    encoding: "utf8",
  });
  return { code: run.status, report: JSON.parse(run.stdout) };
}

const manifest = (folder, name) => join(folder, `${name}.reader.yaml`);
const wayward = (behaviour, ...more) => ["--option", `behaviour=${behaviour}`, ...more];
const runs = [
  ["approved", 0, manifest(readers, "delimited")],
  ["incomplete", 0, manifest(readers, "delimited"), "--only", "cuts", "--only", "cost"],
  ["refused", 1, manifest(testReaders, "liar")],
  ["refused", 1, manifest(testReaders, "crashing")],
  ["refused", 1, join(sources, "README.md")],
  ["refused", 1, manifest(testReaders, "wayward"), ...wayward("value_not_utf8")],
  ["refused", 1, manifest(testReaders, "wayward"), ...wayward("crashes_at_nul", "--keep", kept)],
];
const reports = [];
for (const [verdict, code, reader, ...more] of runs) {
  check(`${reader} ${more.join(" ")}`, () => {
    const run = vet(reader, more);
    reports.push(run.report);
    assert.ok(valid(run.report), JSON.stringify(valid.errors));
    assert.equal(run.report.verdict, verdict, JSON.stringify(run.report.checks.flatMap((one) => one.faults)));
    assert.equal(run.code, code);
  });
}
rmSync(kept, { recursive: true });

check("there is a kept input, a note and a measure among them", () => {
  const checks = reports.flatMap((report) => report.checks);
  assert.ok(checks.some((one) => one.faults.some((fault) => fault.input !== null)));
  assert.ok(checks.some((one) => one.measures.length > 0));
  assert.ok(checks.some((one) => one.why_left_out !== null));
});

// Every object in a report, as the path to it.
function* objectsIn(value, path = []) {
  if (typeof value !== "object" || value === null) return;
  if (!Array.isArray(value)) yield path;
  for (const [key, inner] of Object.entries(value)) yield* objectsIn(inner, [...path, key]);
}

function changed(report, path, change) {
  const copy = structuredClone(report);
  change(path.reduce((inner, key) => inner[key], copy));
  return copy;
}

let changes = 0;
for (const report of reports) {
  for (const path of objectsIn(report)) {
    const members = Object.keys(path.reduce((inner, key) => inner[key], report));
    const wrong = members.flatMap((name) => [
      [`without ${name}`, (object) => delete object[name]],
      [`with a number in ${name}`, (object) => (object[name] = -0.5)],
    ]);
    wrong.push(["with a member more", (object) => (object.nosuchmember = "x")]);
    for (const [what, change] of wrong) {
      changes += 1;
      const copy = changed(report, path, change);
      if (valid(copy)) check(`${path.join(".")} ${what} is refused`, () => assert.fail("it is taken"));
    }
  }
}
check("changes were made", () => assert.ok(changes > 500, `${changes}`));
for (const [name, change] of Object.entries({
  "approved with a fault": (report) => (report.checks[0].result = "fault"),
  "an unknown verdict": (report) => (report.verdict = "good"),
  "an unknown check": (report) => (report.checks[0].name = "speed"),
  "left out without a reason": (report) => (report.checks[0].result = "left_out"),
})) {
  check(`${name} is refused`, () => assert.equal(valid(changed(reports[0], [], change)), false));
}

finish(`; ${changes} changes refused`);
