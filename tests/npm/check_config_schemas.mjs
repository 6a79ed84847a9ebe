// Schemas and program agree on what a configuration is:
//   node check_config_schemas.mjs GIRDLED SOURCES
// An editor judges by schemas/{config,mapping,policy}.schema.json (here npm ajv, with npm yaml to read the files), the
// program by its own parser (`girdled check`). Both must take every configuration of the tree, and both must refuse
// what is wrong in a way that a schema can tell. No part of this is what a schema cannot know: what one file says of
// another, whether it is there, whether there is such a zone, form of a time, reader or cell.
import assert from "node:assert/strict";
import { execFile, execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { availableParallelism, tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { promisify } from "node:util";

import Ajv2020 from "ajv/dist/2020.js";
import { isMap, isSeq, parse, parseDocument } from "yaml";

import { check, finish } from "./checks.mjs";

const [girdled, sources] = process.argv.slice(2);
const run = promisify(execFile);

// Values in YAML are texts to the program, whatever they look like: hence unions.
const strict = { strict: true, allowUnionTypes: true, allErrors: true };
const lenient = { strict: false, allErrors: true };  // a schema with a fault is told once, and goes on to be tried
const schemas = {};
const fits = {};
for (const kind of ["config", "mapping", "policy"]) {
  schemas[kind] = JSON.parse(readFileSync(join(sources, "schemas", `${kind}.schema.json`), "utf8"));
  check(`the schema of a ${kind} is one in strict mode`, () => new Ajv2020(strict).compile(schemas[kind]));
  fits[kind] = new Ajv2020(lenient).compile(schemas[kind]);
}

function kindOf(value) {
  if ("site" in value) return "config";
  return "record" in value || "records" in value ? "mapping" : "policy";
}

// What ajv says against the text of a file; empty where it takes it.
function schemaSays(text, kind = kindOf(parse(text))) {
  return fits[kind](parse(text)) ? "" : fits[kind].errors.map((e) => `${e.instancePath} ${e.message}`).join("; ");
}

// A house is its files by name. What it names besides is made: folders, a secret, certificates.
const secret = "whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE=\n";
const pem = execFileSync("openssl", ["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-noenc",
  "-subj", "/CN=girdle", "-keyout", "-", "-out", "-"], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
const [key, certificate] = ["PRIVATE KEY", "CERTIFICATE"].map(
  (what) => pem.match(new RegExp(`-----BEGIN ${what}-----[^]*-----END ${what}-----\n`))[0]);
function furnish(folder, house) {
  const write = (name, text, mode = 0o644) => {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), text, { mode });
  };
  for (const [name, text] of Object.entries(house)) write(name, text);
  const settings = parse(house["girdled.yaml"]);
  const places = [...(settings.intakes ?? []), ...(settings.outlets ?? [])];
  const paths = places.flatMap((place) => (place.folder ? [place.folder.path] : []));
  for (const path of [...paths, ...(settings.readers ?? [])]) mkdirSync(join(folder, path), { recursive: true });
  for (const [name, path] of filesOf([settings.api, settings.outlets])) write(path, contentOf(name), 0o600);
}

// "bearer_file" and its path, wherever it stands.
function* filesOf(value) {
  if (value === null || typeof value !== "object") return;
  for (const [name, inner] of Object.entries(value)) {
    if (name.endsWith("_file") && typeof inner === "string") yield [name, inner];
    yield* filesOf(inner);
  }
}

function contentOf(name) {
  if (name === "certificate_file" || name === "ca_file") return certificate;
  return name === "key_file" ? key : secret;
}

async function withFolder(body) {
  const folder = mkdtempSync(join(tmpdir(), "girdle-schemas-"));
  try {
    return await body(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

// What `girdled check` says against the house that stands in the folder; empty where it takes it.
async function programSays(folder) {
  try {
    await run(girdled, ["check", "--config", join(folder, "girdled.yaml")]);
    return "";
  } catch (error) {
    assert.equal(error.code, 1, `girdled check ended with ${error.code ?? error.signal}: ${error.stderr}`);
    return error.stdout.replaceAll(`${folder}/`, "");
  }
}

// --- every configuration of the tree

function houseIn(...path) {
  const folder = join(sources, ...path);
  const names = readdirSync(folder, { recursive: true }).filter((name) => name.endsWith(".yaml"));
  return Object.fromEntries(names.map((name) => [name, readFileSync(join(folder, name), "utf8")]));
}

function blocksOf(count, ...path) {
  const page = readFileSync(join(sources, ...path), "utf8");
  const blocks = [...page.matchAll(/^```yaml\n(.*?)^```$/gms)].map(([, text]) => text);
  assert.equal(blocks.length, count, `${path.join("/")} has another number of files in YAML: give them a house here`);
  return blocks;
}

const least = "record: scan\nfields: { bench: { from: b }, stock_number: { from: s }, scanned_at: { from: t } }\n";

// With the API for this machine, or for others.
function houseOfReadme(api) {
  const [settings, counter, stock, outlet, own, others] = blocksOf(6, "README.md");
  return {
    "girdled.yaml": settings + outlet.replace(/^outlets:\n/, "") + { own, others }[api],
    "counter-1.mapping.yaml": counter,
    "stock.mapping.yaml": stock,
  };
}

function houseOfReference() {
  const [settings, json, xml, csv, epcis, kinds, policies] = blocksOf(7, "daemon", "config", "README.md");
  const rest = { "counter-1.mapping.yaml": kinds, "counter-2.mapping.yaml": least };
  return { "girdled.yaml": settings + json + xml + csv + epcis, ...rest, "policy.yaml": policies };
}

const corpus = join("tests", "corpus", "config", "accept");
const houses = {
  "README.md": houseOfReadme("own"),
  "README.md, for other machines": houseOfReadme("others"),
  "daemon/config/README.md": houseOfReference(),
  "examples/quay-street": houseIn("examples", "quay-street"),
};
for (const name of readdirSync(join(sources, corpus)).sort()) houses[`${corpus}/${name}`] = houseIn(corpus, name);

// That house is about texts of YAML; its reader has no use for two of them.
const saidByReaders = {
  [`${corpus}/003-traps-of-yaml`]: /^(girdled\.yaml:12:\d+: option (comment|encoding) .*\n){2}$/,
};

for (const [place, house] of Object.entries(houses)) {
  const said = await withFolder((folder) => {
    furnish(folder, house);
    return programSays(folder);
  });
  check(`${place}: the program takes it`, () => assert.match(said, saidByReaders[place] ?? /^$/));
  for (const [name, text] of Object.entries(house)) {
    check(`${place}: ${name} fits its schema`, () => assert.equal(schemaSays(text), ""));
  }
}
check("the tree has these configurations", () => {
  assert.ok(Object.keys(houses).length >= 8);
  assert.ok(Object.values(houses).flatMap(Object.keys).length >= 24);
});

// --- a house with every key, and what may be changed in it

const full = {
  "girdled.yaml": `site: quay-street
timezone: Europe/Brussels
language: pt-BR
market: cibjo
ledger: { path: state/ledger.db, keep_attempts: 90d }
api: { listen: "0.0.0.0:7447", certificate_file: counter.pem, key_file: counter.key, hosts: [counter.example] }
policy: policy.yaml
next_policy: next.policy.yaml
shadow_policy: shadow.policy.yaml
log: { level: warning }
readers: [readers]
instruments:
  - serial: A-0117
    bench: counter-1
    cycle: 45s
    scope: { color: "[D..J]", carat: "[0.03..10]", table_mm: ">= 1.5" }
    ambient: { temperature_c: "[-5..23]", humidity_pct: "<= 60" }
    known_stones:
      source: acceptance test
      natural: { natural: 1964, laboratory_grown: 0, indeterminate: 36 }
      laboratory_grown: { natural: 1, laboratory_grown: 499 }
      treated: { treated: 7, indeterminate: 2 }
      composite: { composite: 3, simulant: 1 }
      simulant: { simulant: 96, indeterminate: 4 }
intakes:
  - name: exports
    folder: { path: inbox, match: "*.csv", content: whole, settle: 3s, scan_every: 30s, done: move, max_size: 1MiB }
    reader: delimited
    options: { delimiter: ";" }
    mapping: reading.mapping.yaml
    max_record: 64KiB
  - name: line
    serial: { device: tty, baud: 9600, data_bits: 8, parity: even, stop_bits: 1, frame: line }
    reader: json
    mapping: scan.mapping.yaml
  - name: blocks
    tcp:
      connect: "10.0.0.7:4001"
      frame:
        { kind: block, max: 4KiB, start: "02", end: 0d0a, check: crc-16/modbus, check_as: hex, order: low_first,
          range: { start: included, end: excluded } }
    reader: delimited
    mapping: stock.mapping.yaml
  - name: session
    tcp:
      connect: "10.0.0.7:4002"
      frame:
        kind: astm
        timeout: 30s
        accept: { checksum_with_stx: true, checksum_without_end: true, lower_case: true, no_checksum: true, no_cr: false,
                  no_crlf: true, several_records: true, split_records: true, skipped_number: true,
                  constant_number: true, no_enq: true, no_eot: true }
    reader: astm
    mapping: session.mapping.yaml
  - name: uploads
    post: { max_size: 64KiB }
    reader: json
    mapping: scan.mapping.yaml
  - name: journal
    folder: { path: journal }
    reader: delimited
    mapping: kinds.mapping.yaml
    isolate: always
outlets:
  - name: till
    webhook:
      { url: "https://till.example/hooks", secret_file: secret, insecure: false, ca_file: ca.pem, timeout: 10s }
    retry: [5s, 5min]
    in_flight: 8
  - name: inventory
    webhook:
      url: "https://stock.example/items"
      method: PUT
      path: [v1, { from: /data/subject/stock_number }]
      query: { shop: 7, part: { value: "1", as: text } }
      headers: { x-shop: quay-street, x-case: { from: /data/case } }
      bearer_file: token
      certificate: { certificate_file: girdle.pem, key_file: girdle.key }
      proxy: { url: "http://proxy.example:3128", user: girdle, password_file: proxy.password }
      addresses: [169.254.7.9, "fe80::9"]
      reference: /id
    body:
      json:
        item: { from: /data/subject/stock_number }
        sell: { from: /data/disposition, words: { release: true }, default: false, as: flag }
        known: [yes, 7, ~, [{ from: /data/finding }], {}]
        sender: { object: { from: girdle, object: true } }
    outcomes: latest
    per_minute: 600
  - name: buyers
    webhook: { url: "https://buyers.example/", basic: { user: girdle, password_file: buyers.password } }
    body: { form: { item: { from: [/data/site, /data/subject/stock_number], join: "/" }, ok: yes } }
  - name: insurer
    webhook:
      url: "https://insurer.example/"
      oauth:
        { token_url: "https://id.example/token", client_id: girdle, client_secret_file: client, scope: a b, client: body }
    body: { cloudevents: batch }
    batch: { count: 100, wait: 5min }
  - name: board
    webhook: { url: "http://127.0.0.1:8080/", anonymous: true }
    body: webhook
  - name: group
    webhook: { url: "https://group.example/capture", anonymous: true }
    body:
      epcis:
        item: "https://id.example/stock/{stock_number}"
        location: "https://id.example/site/quay-street"
        reader: "https://id.example/instrument/{instrument}"
  - name: erp
    folder: { path: outbox/erp, name: "screening-{id}.csv" }
    body:
      csv:
        item: { from: /data/subject/stock_number }
        checked: { from: /data/decided_at, form: "%d.%m.%Y", zone: UTC }
        carat: { from: /data/declared/carat, decimal: "," }
      delimiter: "|"
      header: false
  - name: archive
    folder: { path: outbox/archive }
    body: { xml: { screening: { item: { from: /data/case }, codes: { code: [a, b] } } }, list: screenings }
    batch: { count: 2 }
`,
  "session.mapping.yaml": `record: reading
fields:
  instrument: { value: A-0118 }
  measured_at: { from: R.13, form: "%Y%m%d%H%M%S" }
  finding: { from: R.4, words: { A: natural } }
`,
  "reading.mapping.yaml": `record: reading
zone: Europe/Brussels
twice: later
fields:
  instrument: { value: A-0117 }
  run: { from: no, match: "0*([0-9]+)" }
  measured_at: { from: [date, time], join: " ", form: "%d.%m.%Y %H:%M:%S", zone: UTC, twice: earlier }
  stock_number: { from: item }
  position: { from: position }
  subject_kind: { value: stone }
  finding: { from: result, words: { A: natural, "-": void } }
  diamond_type: { from: class, words: { 1: Ia, none: "" }, fold: [case, space], default: IIa }
  confidence: { from: sure, unit: percent }
  carat: { from: weight, unit: mg, decimal: ",", group: "." }
  color: { from: color, match: "(.*) ([A-Z])", take: "\\\\2" }
  shape: { value: round }
  table_mm: { from: table, unit: um, default: 100 }
  length_mm: { from: length, unit: in }
  width_mm: { from: width, unit: mm }
  depth_mm: { from: depth, group: "," }
  temperature_c: { from: temperature, unit: F }
  humidity_pct: { from: humidity, unit: percent }
  operator: { from: operator }
  note: { from: note }
  extra.firmware: { from: firmware, words: { 1: one }, fold: case, default: 7 }
`,
  "stock.mapping.yaml": `record: declaration
zone: Europe/London
twice: earlier
fields:
  stock_number: { from: stock }
  position: { from: position }
  subject_kind: { from: kind, words: { S: stone } }
  identity: { value: D, words: { D: natural } }
  carat: { from: weight }
  color: { from: color }
  shape: { from: shape }
  table_mm: { from: table }
  length_mm: { from: length }
  width_mm: { from: width }
  depth_mm: { from: depth }
  mount: { from: mount }
  channel: { from: channel }
  stones: { value: 1 }
  value: { from: price, words: { free: 0 }, decimal: ",", group: "'" }
  declared_at: { from: changed, words: { never: "0" }, form: unix }
  extra.cut: { from: cut }
`,
  "scan.mapping.yaml": `record: scan
zone: UTC
twice: later
fields:
  bench: { value: counter-1 }
  stock_number: { from: code, gs1: [8004, "21"] }
  position: { from: position }
  scanned_at: { value: 0, form: unix_ms }
`,
  "kinds.mapping.yaml": `zone: UTC
twice: later
records:
  - when: { kind: R, state: [ok, ~, 1] }
    record: reading
    fields:
      instrument: { from: device }
      measured_at: { from: at }
      finding: { from: result }
  - when: { kind: D }
    record: declaration
    fields:
      stock_number: { from: stock }
  - when: { kind: [H, L] }
    ignore: header and trailer
  - record: scan
    fields:
      bench: { from: bench }
      stock_number: { from: stock }
      scanned_at: { from: at }
`,
  "policy.yaml": `name: quay-street
version: 3
valid_from: 2025-03-01
approved_by: head of buying
why: three runs of all stones
parameters:
  required: 3
  accept_unknown_scope: true
  repeat_correlation: 0.5
  miss_limit: 0.001
  false_alarm_limit: 0.02
  confidence: 0.9
reopen_after: 14d
scan_fresh: 90s
priors:
  - { channel: counter, natural: 0.9, laboratory_grown: 0.06, treated: 0.01, composite: 0.01, simulant: 0.02, source: sales }
reasons:
  en: { findings_differ: "The runs do not agree" }
required:
  inputs:
    - { expression: value, type: number }
  outputs:
    - { name: required, type: number }
  rules:
    - { when: ['-'], then: ['3'] }
routing:
  hit_policy: COLLECT
  inputs:
    - { expression: disposition, type: string }
  outputs:
    - { name: outlet, type: string }
  rules:
    - { when: ['-'], then: ['"till"'] }
examples:
  - facts: { finding: natural }
    then: { disposition: release, reason: as_declared, required: 3, outlets: [till] }
    note: natural is natural
table:
  hit_policy: FIRST
  aggregation:
  inputs:
    - { expression: finding, type: string, allowed_values: '"natural", "mixed", "none"' }
  outputs:
    - { name: disposition, type: string, allowed_values: '"hold", "release"', default: '"hold"' }
    - { name: reason, type: string, default: '"no_rule"' }
  rules:
    - { when: ['"natural"'], then: ['"release"', '"as_declared"'], note: "enough runs" }
`,
  "next.policy.yaml": "name: quay-street\nversion: 4\nvalid_from: 2026-12-01T09:00:00+01:00\n",
  "shadow.policy.yaml": "name: quay-street\nversion: trial\n",
};
const config = "girdled.yaml", reading = "reading.mapping.yaml", stock = "stock.mapping.yaml", policy = "policy.yaml";
const kinds = "kinds.mapping.yaml", scan = "scan.mapping.yaml", next = "next.policy.yaml";

// Each change in a house of its own; as many at a time as there are processors.
async function judge(changes) {
  const left = changes.values();
  const work = () =>
    withFolder(async (folder) => {
      furnish(folder, full);
      for (const change of left) {
        writeFileSync(join(folder, change.file), change.text);
        change.program = await programSays(folder);
        change.schema = schemaSays(change.text, kindOf(parse(full[change.file])));
        writeFileSync(join(folder, change.file), full[change.file]);
      }
    });
  await Promise.all(Array.from({ length: availableParallelism() }, work));
  return changes;
}

function changed(file, from, to) {
  assert.equal(full[file].split(from).length, 2, `${file} has not once: ${from}`);
  return { file, name: `${file}: ${from} → ${to}`, text: full[file].replace(from, () => to) };
}

for (const one of await judge(Object.entries(full).map(([file, text]) => ({ file, text })))) {
  check(`${one.file}: with every key`, () => assert.deepEqual([one.program, one.schema], ["", ""]));
}

// Who adds a key adds it to the full house, and it is tried below.
const known = (schema) =>
  Object.entries(schema ?? {}).flatMap(([key, inner]) => {
    if (typeof inner !== "object") return [];
    return [...(key === "properties" ? Object.keys(inner) : []), ...known(inner)];
  });
const given = (value) =>
  typeof value !== "object" ? [] : Object.entries(value ?? {}).flatMap(([key, inner]) => [key, ...given(inner)]);
for (const [kind, schema] of Object.entries(schemas)) {
  const files = Object.values(full).map((text) => parse(text)).filter((file) => kindOf(file) === kind);
  const there = new Set(files.flatMap(given));
  const missing = known(schema).filter((key) => !there.has(key));
  check(`the full house has every key of a ${kind}`, () => assert.deepEqual(missing, []));
}

const taken = [
  [config, "site: quay-street", "site: 1.5"],
  [config, "site: quay-street", "site: true"],
  [config, "\npolicy: policy.yaml", "\npolicy:"],
  [config, "next_policy: next.policy.yaml", "next_policy:"],
  [config, "shadow_policy: shadow.policy.yaml", "shadow_policy: ~"],
  [config, "language: pt-BR", "language: no"],
  [config, "language: pt-BR", "language: zh-hant-tw"],
  [config, "natural: 1964", "natural: 1000000000"],
  [config, "natural: 1964", 'natural: "0"'],
  [next, "2026-12-01T09:00:00+01:00", "2026-12-01"],
  [next, "2026-12-01T09:00:00+01:00", "2026-12-01 08:00:00.125z"],
  [config, "serial: A-0117", "serial: 0117"],
  [config, "data_bits: 8", 'data_bits: "8"'],
  [config, "insecure: false", 'insecure: "false"'],
  [config, "shop: 7", "shop: 7.5"],
  [config, "from: /data/case }, codes", 'from: [/data/case], default: "" }, codes'],
  [config, "addresses: [169.254.7.9, \"fe80::9\"]", "addresses: []"],
  [config, "reference: /id", "reference: /a~1b/0/~0"],
  [config, "reference: /id", 'reference: ""'],
  [config, "body: webhook", "body: cloudevents"],
  [config, "{ cloudevents: batch }", "{ cloudevents: batch }\n    retry: []"],
  [config, "bearer_file: token", "bearer_file: token\n      anonymous: false"],
  [config, 'delimiter: "|"', "delimiter: tab"],
  [config, "in_flight: 8", "in_flight: 8\n    body:\n      json: [1, null, { from: /data/case }]"],
  [config, "{ object: { from: girdle, object: true } }", "{ object: { from: { object: { value: ~ } } } }"],
  [config, "{ object: { from: girdle, object: true } }", "{ object: { a: 1 }, from_here: true }"],
  [config, "in_flight: 8", 'in_flight: "8"'],
  [config, "max_size: 1MiB", "max_size: 4096"],
  [config, "retry: [5s, 5min]", "retry: []"],
  [config, "frame: line", "frame: { kind: line, max: 80 }"],
  [config, "check: crc-16/modbus", "check: CRC-16/MODBUS"],
  [config, 'connect: "10.0.0.7:4001"', 'connect: "[fd00::7]:4001"'],
  [reading, "from: no,", "from: ~,"],
  [reading, 'join: " "', 'join: ""'],
  [reading, "fold: [case, space]", "fold: space"],
  [reading, "default: 100", "default: 0.1"],
  [scan, 'gs1: [8004, "21"]', "gs1: 01"],
  [scan, 'gs1: [8004, "21"]', 'gs1: "00"'],
  [kinds, "{ kind: R, state: [ok, ~, 1] }", '{ 1: "" }'],
  [kinds, "  - record: scan", "  - when: { kind: S }\n    record: scan"],
  [reading, "value: round", 'value: ""'],
  [reading, "from: [date, time]", "from: [1, 2, 3, 4, 5, 6, 7, 8]"],
  [policy, "  required: 3\n", '  required: "3"\n'],
  [policy, "version: 3", "version: 3.1"],
  [policy, "repeat_correlation: 0.5", "repeat_correlation: 1"],
  [policy, "repeat_correlation: 0.5", "repeat_correlation: 0"],
  [policy, "repeat_correlation: 0.5", 'repeat_correlation: "1.00"'],
  [policy, "repeat_correlation: 0.5", "repeat_correlation: +5.e-1"],
  [policy, "miss_limit: 0.001", "miss_limit: 1e-9"],
  [policy, "confidence: 0.9", "confidence: .5"],
  [policy, "channel: counter, ", ""],
  [policy, "source: sales", "source: 2025"],
  [policy, "en: { findings_differ", "zh-Hant: {}\n  en: { findings_differ"],
];
for (const one of await judge(taken.map((change) => changed(...change)))) {
  check(`${one.name} is taken`, () => assert.deepEqual([one.program, one.schema], ["", ""]));
}

// --- what both refuse

const long = "x".repeat(201);
const broken = {
  "an unknown key": [
    [config, "timezone:", "timezon:"],
    [config, "settle:", "settel:"],
    [config, "kind: block,", "kind: block, kinds: block,"],
    [config, "secret_file: secret", "secret_file: secret, secret: x"],
    [config, "{ from: /data/finding }", "{ from: /data/finding, wrods: { natural: N } }"],
    [config, 'name: "screening-{id}.csv"', 'name: "screening-{id}.csv", method: PUT'],
    [config, "client: body", "client: body, grant: password"],
    [config, "{ count: 2 }", "{ count: 2, size: 1MiB }"],
    [config, 'delimiter: "|"', 'delimiter: "|"\n      quote: "x"'],
    [reading, "run:", "extra.:"],
    [reading, "note:", "notes:"],
    [reading, "run: { from: no,", "run: { from: no, unit: mm,"],
    [reading, "run: { from: no,", "run: { from: no, default: 1,"],
    [reading, "finding: { from: result,", "finding: { from: result, default: natural,"],
    [reading, "zone: UTC, twice: earlier", "zone: UTC, twice: earlier, default: 0"],
    [stock, "color: { from: color }", "color: { from: color, default: G }"],
    [kinds, "ignore: header and trailer", "ignore: header and trailer\n    fields: {}"],
    [kinds, "record: reading", "record: reading\n    zone: UTC"],
    [kinds, "twice: later", "twice: later\nrecord: scan"],
    [stock, "stock_number: { from: stock }", "stock_number: { from: stock }\n  finding: { from: f }"],
    [config, "known_stones:", "stones_known:"],
    [config, "natural: { natural: 1964", "void: { natural: 1964"],
    [config, "indeterminate: 36", "void: 36"],
    [policy, "scan_fresh:", "scan_fresh_for:"],
    [policy, 'note: "enough', 'because: "enough'],
    [policy, "source: sales", "from: sales"],
    [policy, "miss_limit:", "misses:"],
    [policy, "note: natural", "because: natural"],
    [policy, "then: { disposition", "then: { rule: 1, disposition"],
  ],
  "a key that is missing": [
    [config, "site: quay-street\n", ""],
    [config, "{ path: state/ledger.db, keep_attempts: 90d }", "{}"],
    [config, "serial: A-0117\n    bench", "bench"],
    [config, "name: exports\n    folder", "folder"],
    [config, "kind: block, ", ""],
    [config, "secret_file: secret, ", ""],
    [config, "user: girdle, password_file: proxy", "password_file: proxy"],
    [config, "client_secret_file: client, ", ""],
    [config, "count: 100, ", ""],
    [config, "{ path: outbox/archive }", "{ name: '{id}' }"],
    [config, 'form: "%d.%m.%Y", ', ""],
    [config, "from: /data/declared/carat, ", ""],
    [reading, "record: reading\n", ""],
    [reading, "  finding: { from: result, words: { A: natural, \"-\": void } }\n", ""],
    [stock, "  stock_number: { from: stock }\n", ""],
    [kinds, "    record: reading\n", ""],
    [kinds, "  - when: { kind: [H, L] }\n    ignore: header and trailer\n", "  - ignore: header and trailer\n"],
    [kinds, "      stock_number: { from: stock }\n  - when: { kind: [H, L] }", "      carat: { from: w }\n  - when: { kind: [H, L] }"],
    [policy, "version: 3\n", ""],
    [policy, ", then: ['\"release\"', '\"as_declared\"']", ""],
    [config, "      source: acceptance test\n", ""],
    [config, "natural: 1, laboratory_grown: 499", ""],
    [policy, "facts: { finding: natural }\n    then", "then"],
    [policy, "disposition: release, reason: as_declared, required: 3, outlets: [till]", ""],
  ],
  "none or two of what must be one": [
    [config, "serial: { device", "folder: { path: inbox2 }\n    serial: { device"],
    [config, "    serial: { device: tty, baud: 9600, data_bits: 8, parity: even, stop_bits: 1, frame: line }\n", ""],
    [config, "folder: { path: outbox/erp", 'webhook: { url: "https://a/", anonymous: true }\n    folder: { path: outbox/erp'],
    [config, "    folder: { path: outbox/archive }\n", ""],
    [config, "{ xml: {", "{ csv: { a: b }, xml: {"],
    [config, "{ value: \"1\",", "{ value: \"1\", from: /data/case,"],
    [config, "codes: { code: [a, b] } }", "codes: { code: [a, b] } }, second: root"],
    [reading, "{ from: no,", "{ from: no, value: 1,"],
    [reading, "{ value: stone }", "{ value: stone, match: stone }"],
    [reading, "{ from: position }", "{ from: position, fold: case }"],
    [reading, "{ from: operator }", '{ from: operator, take: "\\\\1" }'],
    [reading, '{ from: no, match: "0*([0-9]+)" }', "{}"],
    [kinds, "ignore: header and trailer", "ignore: header and trailer\n    record: scan"],
  ],
  "a value of another kind": [
    [config, "{ path: state/ledger.db, keep_attempts: 90d }", "state/ledger.db"],
    [config, "readers: [readers]", "readers: readers"],
    [config, "retry: [5s, 5min]", "retry: 5s"],
    [config, 'options: { delimiter: ";" }', "options: none"],
    [config, "frame: line", "frame: [line]"],
    [config, "log: { level: warning }", "log:"],
    [config, "site: quay-street", "site:"],
    [config, "insecure: false", "insecure: maybe"],
    [config, "{ shop: 7,", "{ shop: [7],"],
    [config, "{ shop: 7,", "{ shop: ~,"],
    [config, "{ shop: 7,", "{ '': 7,"],
    [config, "[v1,", "[~,"],
    [config, "{ object: { from: girdle, object: true } }", "{ object: 1 }"],
    [config, "body: webhook", "body: { json: 7 }"],
    [config, "body: webhook", "body: { webhook: true }"],
    [config, "default: false", "default: ~"],
    [config, "words: { release: true }", "words: {}"],
    [config, "codes: { code: [a, b] } }", "codes: { code: [{ value: ~ }, b] } }"],
    [config, "{ screening: { item: { from: /data/case }, codes: { code: [a, b] } } }", "{ screening: [a] }"],
    [config, "anonymous: true }\n    body: webhook", "anonymous: maybe }\n    body: webhook"],
    [config, "in_flight: 8", "in_flight: many"],
    [reading, "words: { A: natural, \"-\": void }", "words: [natural, void]"],
    [reading, "{ A: natural,", "{ A: [natural],"],
    [reading, '{ from: no, match: "0*([0-9]+)" }', "no"],
    [reading, "{ from: no,", "{ from: { a: b },"],
    [reading, 'match: "0*([0-9]+)"', "match: [a]"],
    [scan, 'gs1: [8004, "21"]', "gs1: { a: b }"],
    [reading, 'join: " "', "join: [a]"],
    [kinds, "when: { kind: D }", "when: D"],
    [kinds, "when: { kind: D }", "when: { kind: { a: D } }"],
    [kinds, "when: { kind: D }", "when: [kind]"],
    [kinds, "records:\n", "records: all\nrecord:\n"],
    [config, "treated: { treated: 7, indeterminate: 2 }", "treated: 7"],
    [config, "language: pt-BR", "language: [pt-BR]"],
    [config, "shadow_policy: shadow.policy.yaml", "shadow_policy: [shadow.policy.yaml]"],
    [policy, "{ findings_differ: \"The runs do not agree\" }", "The runs do not agree"],
    [policy, "{ findings_differ: \"The runs do not agree\" }", "[a]"],
    [policy, "facts: { finding: natural }", "facts: natural"],
    [policy, "facts: { finding: natural }", "facts: { finding: [natural] }"],
    [policy, "outlets: [till]", "outlets: till"],
    [policy, "outlets: [till]", "outlets: [[till]]"],
    [policy, "confidence: 0.9", "confidence: true"],
    [policy, "when: ['\"natural\"']", "when: '\"natural\"'"],
    [policy, "accept_unknown_scope: true", "accept_unknown_scope: 1"],
  ],
  "a word that is not one of the list": [
    [config, "level: warning", "level: loud"],
    [config, "method: PUT", "method: put"],
    [config, "outcomes: latest", "outcomes: last"],
    [config, "client: body", "client: query"],
    [config, "cloudevents: batch", "cloudevents: batched"],
    [config, "body: webhook", "body: json"],
    [config, "as: flag", "as: boolean"],
    [config, 'delimiter: "|"', 'delimiter: ":"'],
    [config, "content: whole", "content: Whole"],
    [config, "baud: 9600", "baud: 9601"],
    [config, "stop_bits: 1", "stop_bits: 1.5"],
    [config, "parity: even", "parity: mark"],
    [config, "check: crc-16/modbus", "check: crc-16"],
    [config, "kind: block", "kind: blocks"],
    [reading, "record: reading", "record: lab_report"],
    [reading, "twice: later", "twice: both"],
    [reading, "A: natural", "A: naturall"],
    [reading, "value: stone", "value: ring"],
    [reading, "fold: [case, space]", "fold: [case, accent]"],
    [reading, "fold: [case, space]", "fold: letters"],
    [reading, "default: IIa", "default: IIc"],
    [kinds, "record: declaration", "record: declarations"],
    [reading, "unit: mg", "unit: kg"],
    [reading, "unit: um", "unit: C"],
    [reading, 'decimal: ","', 'decimal: ";"'],
    [stock, "D: natural", "D: void"],
    [config, "market: cibjo", "market: CIBJO"],
    [policy, "disposition: release", "disposition: sell"],
    [policy, "hit_policy: COLLECT", "hit_policy: COLLECT ALL"],
    [policy, "hit_policy: FIRST", "hit_policy: first"],
    [policy, "{ expression: finding, type: string", "{ expression: finding, type: text"],
  ],
  "a value that is written wrongly or out of bounds": [
    [config, "site: quay-street", "site: Quay Street"],
    [config, "site: quay-street", "site: -1"],
    [config, "site: quay-street", `site: ${"x".repeat(65)}`],
    [config, "cycle: 45s", "cycle: 45"],
    [config, "cycle: 45s", "cycle: 45 s"],
    [config, "cycle: 45s", "cycle: 0.5min"],
    [config, "settle: 3s", "settle: 3sec"],
    [config, "retry: [5s, 5min]", "retry: [5s, soon]"],
    [config, "max_size: 1MiB", "max_size: 1MB"],
    [config, "max_size: 1MiB", "max_size: 0"],
    [config, "max_record: 64KiB", "max_record: 67108865"],
    [config, "in_flight: 8", "in_flight: 65"],
    [config, "per_minute: 600", "per_minute: 60001"],
    [config, "count: 100", "count: 10001"],
    [config, "wait: 5min", "wait: 5m"],
    [config, "bearer_file: token", "bearer_file: credential:a/b"],
    [config, "bearer_file: token", 'bearer_file: "credential:"'],
    [config, "bearer_file: token", 'bearer_file: ""'],
    [config, "[169.254.7.9,", "[till.example,"],
    [config, "reference: /id", "reference: id"],
    [config, "{ from: /data/finding }", "{ from: /data/finding~ }"],
    [config, "[/data/site, /data/subject/stock_number]", "[]"],
    [config, "[/data/site, /data/subject/stock_number]", "[/data/case/~2]"],
    [config, "in_flight: 8", "in_flight: 0.5"],
    [config, 'connect: "10.0.0.7:4001"', "connect: 10.0.0.7"],
    [config, 'connect: "10.0.0.7:4001"', "connect: http://10.0.0.7:4001"],
    [config, "end: 0d0a", "end: 0d0"],
    [config, "end: 0d0a", "end: stx"],
    [config, "end: 0d0a", `end: ${"0d".repeat(9)}`],
    [config, "path: inbox", 'path: ""'],
    [config, "serial: A-0117", 'serial: " A-0117"'],
    [config, "serial: A-0117", 'serial: "A\\n0117"'],
    [config, "serial: A-0117", `serial: ${long}`],
    [reading, "from: item", 'from: ""'],
    [reading, 'match: "0*([0-9]+)"', 'match: ""'],
    [scan, 'gs1: [8004, "21"]', 'gs1: ""'],
    [scan, 'gs1: [8004, "21"]', "gs1: serial"],
    [scan, 'gs1: [8004, "21"]', "gs1: []"],
    [scan, 'gs1: [8004, "21"]', "gs1: 80041"],
    [scan, 'gs1: [8004, "21"]', 'gs1: ["2"]'],
    [scan, 'gs1: [8004, "21"]', "gs1: [91, 92, 93, 94, 95, 96, 97, 98, 99]"],
    [reading, "default: 100", 'default: ""'],
    [reading, "fold: [case, space]", "fold: []"],
    [kinds, "when: { kind: D }", "when: {}"],
    [kinds, "when: { kind: D }", "when: { kind: [] }"],
    [kinds, "ignore: header and trailer", 'ignore: ""'],
    [reading, "from: [date, time]", "from: []"],
    [reading, "from: [date, time]", 'from: [date, ""]'],
    [reading, "from: [date, time]", "from: [1, 2, 3, 4, 5, 6, 7, 8, 9]"],
    [policy, "name: quay-street", 'name: ""'],
    [policy, "name: quay-street", 'name: "quay-street "'],
    [policy, "  required: 3\n", "  required: 0\n"],
    [policy, "  required: 3\n", "  required: 101\n"],
    [policy, "required: 3, outlets", "required: 0, outlets"],
    [policy, "required: 3, outlets", "required: 101, outlets"],
    [policy, "outlets: [till]", 'outlets: [""]'],
    [policy, "facts: { finding: natural }", "facts: {}"],
    [policy, "repeat_correlation: 0.5", "repeat_correlation: 1.01"],
    [policy, "repeat_correlation: 0.5", "repeat_correlation: -0.01"],
    [policy, "repeat_correlation: 0.5", "repeat_correlation: 50%"],
    [policy, "repeat_correlation: 0.5", "repeat_correlation: 0,5"],
    [policy, "miss_limit: 0.001", "miss_limit: 0"],
    [policy, "miss_limit: 0.001", "miss_limit: 0.5"],
    [policy, "false_alarm_limit: 0.02", "false_alarm_limit: 0.0"],
    [policy, "false_alarm_limit: 0.02", "false_alarm_limit: 0.5"],
    [policy, "confidence: 0.9", "confidence: 0.499"],
    [policy, "confidence: 0.9", "confidence: 1"],
    [policy, "natural: 0.9", "natural: 1.9"],
    [policy, "channel: counter", 'channel: ""'],
    [policy, "valid_from: 2025-03-01", "valid_from: 2.11.2026"],
    [policy, "valid_from: 2025-03-01", "valid_from: 2025-03-01T09:00:00"],
    [policy, "approved_by: head of buying", 'approved_by: "head\\nof buying"'],
    [policy, "why: three runs of all stones", 'why: ""'],
    [policy, "en: { findings_differ", "en_GB: { findings_differ"],
    [config, "language: pt-BR", "language: pt_BR"],
    [config, "language: pt-BR", `language: pt-${"abcdefgh-".repeat(4)}x`],
    [config, "natural: 1964", "natural: -1"],
    [config, "natural: 1964", "natural: 1000000001"],
    [config, "source: acceptance test", 'source: ""'],
    [policy, "reopen_after: 14d", "reopen_after: 14"],
    [policy, "when: ['\"natural\"']", "when: []"],
  ],
};
for (const [what, changes] of Object.entries(broken)) {
  for (const one of await judge(changes.map((change) => changed(...change)))) {
    const place = new RegExp(`^${one.file}:`, "m");
    check(`${what}: the program refuses ${one.name}`, () => assert.match(one.program, place));
    check(`${what}: the schema refuses ${one.name}`, () => assert.notEqual(one.schema, ""));
  }
}

// --- the same answer, whatever is done to a key

// Places of maps, and of values with a key or a number, in a document.
function* placesIn(node, path = []) {
  if (isMap(node)) yield { path, map: true };
  const inner = isMap(node) ? node.items.map((pair) => [pair.key.value, pair.value]) : [];
  const items = isSeq(node) ? node.items.map((item, at) => [at, item]) : inner;
  for (const [key, value] of items) {
    yield { path: [...path, key], map: false };
    yield* placesIn(value, [...path, key]);
  }
}

function* treatments({ path, map }) {
  if (map) return yield ["gets a key", (document) => document.setIn([...path, "nosuchkey"], "x")];
  yield ["is taken away", (document) => document.deleteIn(path)];
  yield ["becomes a list", (document) => document.setIn(path, document.createNode([[]]))];
  yield ["becomes a map", (document) => document.setIn(path, document.createNode({ nosuchkey: { a: "b" } }))];
}

// One key decides on another here, or one file on another: only the program knows, and these it refuses.
const onlyTheProgramKnows = [
  "girdled.yaml intakes.0.options gets a key",  // the reader has no such option
  "girdled.yaml intakes.2.tcp.frame.check is taken away",  // and the rest says how to check
  "girdled.yaml outlets is taken away",  // and the policy tells one of them
  "girdled.yaml outlets.0 is taken away",
  "girdled.yaml outlets.1.body.json.sell.words is taken away",  // and the field is no flag by itself
  "girdled.yaml outlets.1.body.json.sell.words gets a key",  // the field has no such word
  "girdled.yaml outlets.1.body.json.sell.default is taken away",  // and the words are not all
  "girdled.yaml outlets.2.body.form.item.from.0 is taken away",  // and what joins them has only one
  "girdled.yaml outlets.2.body.form.item.from.1 is taken away",
  "girdled.yaml outlets.3.body is taken away",  // and a batch goes with that body
  "girdled.yaml outlets.7.body.xml.screening.item becomes a list",  // of a list, and XML has none of those
  "girdled.yaml outlets.7.body.xml.screening.codes becomes a list",
  "girdled.yaml outlets.7.body.xml.screening.codes.code becomes a list",
  "girdled.yaml outlets.7.body.xml.screening.codes.code.0 becomes a list",
  "girdled.yaml outlets.7.body.xml.screening.codes.code.1 becomes a list",
  "girdled.yaml outlets.7.body.list is taken away",  // and a file may have two outcomes
  "reading.mapping.yaml fields.measured_at.from.0 is taken away",  // and what joins them has only one
  "reading.mapping.yaml fields.measured_at.from.1 is taken away",
  "reading.mapping.yaml fields.carat.decimal is taken away",  // and the groups are set apart by the default mark
  "reading.mapping.yaml fields.color.take is taken away",  // and the pattern has two groups
  "stock.mapping.yaml fields.identity.words.D is taken away",  // and the constant is that word
  "scan.mapping.yaml fields.scanned_at.form is taken away",  // and the constant is no time in the default form
  "kinds.mapping.yaml records.0.when is taken away",  // and it leaves the later ones nothing
  "kinds.mapping.yaml records.1.when is taken away",
  "policy.yaml priors.0.natural is taken away",  // and the rest is not 1 together
  "policy.yaml priors.0.laboratory_grown is taken away",
  "policy.yaml priors.0.treated is taken away",
  "policy.yaml priors.0.composite is taken away",
  "policy.yaml priors.0.simulant is taken away",
  "policy.yaml required.outputs.0.name is taken away",  // a policy needs that output
  "policy.yaml routing is taken away",  // and the example comes out otherwise
  "policy.yaml routing.outputs.0.name is taken away",  // a policy needs that output
  "policy.yaml examples.0.facts gets a key",  // there is no such fact
  "policy.yaml examples.0.then.outlets.0 is taken away",  // and the example comes out otherwise
  "policy.yaml table is taken away",
  "policy.yaml table.outputs.0 is taken away",  // a policy needs a disposition and a reason
  "policy.yaml table.outputs.0.name is taken away",
  "policy.yaml table.outputs.0.default is taken away",  // all outputs have one or none has
  "policy.yaml table.outputs.1 is taken away",
  "policy.yaml table.outputs.1.name is taken away",
  "policy.yaml table.outputs.1.default is taken away",
  "policy.yaml table.rules.0.then.0 is taken away",  // one cell for each output
  "policy.yaml table.rules.0.then.1 is taken away",
  "next.policy.yaml valid_from is taken away",  // girdled.yaml names it as the next
];
const treated = [];
for (const [file, text] of Object.entries(full)) {
  for (const place of placesIn(parseDocument(text).contents)) {
    for (const [what, treat] of treatments(place)) {
      const document = parseDocument(text);
      treat(document);
      treated.push({ file, name: `${file} ${place.path.join(".")} ${what}`, text: document.toString() });
    }
  }
}
const differ = [];
for (const one of await judge(treated)) {
  const agree = (one.program === "") === (one.schema === "");
  if (!agree && onlyTheProgramKnows.includes(one.name) && one.schema === "") {
    differ.push(one.name);
  } else {
    check(one.name, () => assert.ok(agree, `the program says "${one.program}", the schema "${one.schema}"`));
  }
}
check("only the program knows what is said so above", () => assert.deepEqual(differ, onlyTheProgramKnows));

finish();
