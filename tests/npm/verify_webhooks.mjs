// Other people's libraries look at what this program signs and writes:
//   node verify_webhooks.mjs SAMPLES-PROGRAM SCHEMAS-FOLDER
// npm standardwebhooks verifies the signatures, npm cloudevents reads the events, npm ajv checks both against our
// schemas; the rules of CloudEvents that its own JSON Schema does not enforce are checked here, one by one. Every check
// is also shown something wrong that it must refuse.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";

import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";
import cloudevents from "cloudevents";
import { Webhook } from "standardwebhooks";

import { check, finish } from "./checks.mjs";

const { HTTP } = cloudevents;
const [samplesProgram, schemasFolder] = process.argv.slice(2);

const lines = execFileSync(samplesProgram, { encoding: "utf8" }).trim().split("\n").map((line) => JSON.parse(line));
const events = lines.filter((line) => line.body !== undefined);
const readings = lines.filter((line) => line.reading !== undefined).map((line) => line.reading);

// The library compares the timestamp with the time of day and takes five minutes; the samples have a fixed one.
function atTheTimeOf(sample, body) {
  const RealDate = globalThis.Date;
  globalThis.Date = class extends RealDate {
    constructor(...given) {
      super(...(given.length === 0 ? [Number(sample.timestamp) * 1000] : given));
    }
    static now() {
      return Number(sample.timestamp) * 1000;
    }
  };
  try {
    return body();
  } finally {
    globalThis.Date = RealDate;
  }
}

function headers(sample) {
  return {
    "webhook-id": sample.id,
    "webhook-timestamp": sample.timestamp,
    "webhook-signature": sample.signature,
  };
}

function verify(sample, secret, body = sample.body, id = sample.id) {
  atTheTimeOf(sample, () => new Webhook(secret).verify(body, { ...headers(sample), "webhook-id": id }));
}

function verifiesWithEachSecret(sample) {
  for (const secret of sample.secrets) verify(sample, secret);
}

function refusesChanges(sample) {
  const secret = sample.secrets[0];
  assert.throws(() => verify(sample, secret, sample.body + " "));
  assert.throws(() => verify(sample, secret, sample.body, sample.id + "0"));
  assert.throws(() => verify(sample, "whsec_" + Buffer.alloc(24, 7).toString("base64")));
}

function isReadAsAnEvent(sample) {
  const event = HTTP.toEvent({
    headers: { "content-type": "application/cloudevents+json; charset=utf-8" },
    body: sample.body,
  });
  assert.equal(event.validate(), true);
  assert.equal(event.id, sample.id);
  assert.equal(event.type, "girdle.outcome.v1");
  assert.equal(event.specversion, "1.0");
  assert.deepEqual(event.data, JSON.parse(sample.body).data);
}

// Rules of CloudEvents 1.0.2 that events break and still pass its published schema.
function ruleBreaks(event) {
  const breaks = [];
  if (event.specversion !== "1.0") breaks.push("specversion");
  if ("data" in event && "data_base64" in event) breaks.push("data and data_base64");
  if ("data_base64" in event && !/^(?:[A-Za-z0-9+/]{4})*(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?$/.test(event.data_base64)) {
    breaks.push("base64");
  }
  for (const [name, value] of Object.entries(event)) {
    if (name === "data" || name === "data_base64") continue;
    if (!/^[a-z0-9]+$/.test(name)) breaks.push(`name ${name}`);
    if (typeof value === "object" && value !== null) breaks.push(`object in ${name}`);
    if (typeof value === "string" && /[\u0000-\u001f\u007f-\u009f]/.test(value)) breaks.push(`control character in ${name}`);
    if (typeof value === "string" && !value.isWellFormed?.() && /[\ud800-\udfff]/.test(value.replace(/[\ud800-\udbff][\udc00-\udfff]/g, ""))) {
      breaks.push(`lone surrogate in ${name}`);
    }
  }
  return breaks;
}

function keepsTheRules(sample) {
  const event = JSON.parse(sample.body);
  assert.deepEqual(ruleBreaks(event), []);
  assert.equal(Number(event.sequence), event.data.sequence);
  assert.ok(Buffer.byteLength(sample.body) <= 64 * 1024, "more than 64 KiB, the size that every hop must carry");
}

const bent = {
  "an old version": { specversion: "0.3" },
  "data twice": { data_base64: "AAAA" },
  "capitals in a name": { FooBar: "x" },
  "an underscore in a name": { stock_no: "x" },
  "an object as an attribute": { nested: { a: 1 } },
  "bad base64": { data: undefined, data_base64: "%%%" },
  "a line feed in the id": { id: "a\nb" },
};

const ajv = new Ajv2020({ allErrors: true, strict: true, allowUnionTypes: true });
addFormats(ajv);
const schema = (name) => JSON.parse(readFileSync(join(schemasFolder, name), "utf8"));
ajv.addSchema(schema("outcome.schema.json"));
const validEvent = ajv.compile(schema("event.schema.json"));
const validReading = ajv.compile(schema("reading.schema.json"));

function fits(valid, value) {
  assert.ok(valid(value), JSON.stringify(valid.errors));
}

// Takes each member away in turn, and puts a value of the wrong kind there; both must be refused unless told otherwise.
function refusesEachChange(valid, value, path, optional) {
  const at = (root) => path.reduce((inner, name) => inner[name], root);
  for (const name of Object.keys(at(value))) {
    const without = structuredClone(value);
    delete at(without)[name];
    assert.equal(valid(without), optional.includes(name), `without ${[...path, name].join(".")}`);
    const wrong = structuredClone(value);
    at(wrong)[name] = 0.5;
    assert.equal(valid(wrong), false, `with a number in ${[...path, name].join(".")}`);
  }
}

assert.ok(events.length >= 20 && readings.length >= 8, "the samples are missing");

for (const sample of events) {
  check(`${sample.id}: signature`, () => verifiesWithEachSecret(sample));
  check(`${sample.id}: a change is seen`, () => refusesChanges(sample));
  check(`${sample.id}: event`, () => isReadAsAnEvent(sample));
  check(`${sample.id}: rules`, () => keepsTheRules(sample));
  check(`${sample.id}: schema`, () => fits(validEvent, JSON.parse(sample.body)));
}
for (const reading of readings) check("reading: schema", () => fits(validReading, reading));

const event = JSON.parse(events[0].body);
for (const [name, change] of Object.entries(bent)) {
  const wrong = JSON.parse(JSON.stringify({ ...event, ...change }));
  check(`${name} breaks the rules`, () => assert.notDeepEqual(ruleBreaks(wrong), []));
  check(`${name} does not fit the schema`, () => assert.equal(validEvent(wrong), false));
}
check("event schema refuses changes", () => refusesEachChange(validEvent, event, [], []));
check("outcome schema refuses changes", () => refusesEachChange(validEvent, event, ["data"], []));
check("subject schema refuses changes", () => refusesEachChange(validEvent, event, ["data", "subject"], []));
check("policy schema refuses changes", () => refusesEachChange(validEvent, event, ["data", "policy"], []));
check("counts schema refuses changes", () => refusesEachChange(validEvent, event, ["data", "readings"], []));
const declared = events.map((sample) => JSON.parse(sample.body)).find((one) => one.data.declared.carat);
check("declared schema refuses changes", () =>
  refusesEachChange(validEvent, declared, ["data", "declared"], Object.keys(declared.data.declared)));
const needed = ["record", "instrument", "measured_at", "finding", "place"];
check("reading schema refuses changes", () =>
  refusesEachChange(validReading, readings[0], [], Object.keys(readings[0]).filter((name) => !needed.includes(name))));

finish();
