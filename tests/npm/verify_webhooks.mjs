// Other people's libraries look at what this program signs and writes:
//   node verify_webhooks.mjs SAMPLES-PROGRAM SCHEMAS-FOLDER
// npm standardwebhooks verifies the signatures of v1 (of v1a, which it does not know, Node's own Ed25519), npm
// cloudevents reads the events in all three forms, npm ajv checks both against our schemas; the rules of CloudEvents that
// its own JSON Schema does not enforce are checked here, one by one. Every check is also shown something wrong that it
// must refuse.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { createPublicKey, verify as verifyWithKey } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";

import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";
import cloudevents from "cloudevents";
import { Webhook } from "standardwebhooks";

import { check, finish } from "./checks.mjs";

const { HTTP } = cloudevents;
const [samplesProgram, schemasFolder] = process.argv.slice(2);

const lines = execFileSync(samplesProgram, { encoding: "utf8", maxBuffer: 64 << 20 }).trim().split("\n").map((line) => JSON.parse(line));
const messages = lines.filter((line) => line.form !== undefined);
const events = lines.filter((line) => line.body !== undefined && line.form === undefined);
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

// The public half of the samples' Ed25519 key: RFC 9421 B.1.4, test-key-ed25519, as a JWK.
const publicKey = createPublicKey({
  format: "jwk",
  key: { kty: "OKP", crv: "Ed25519", x: "JrQLj5P_89iXES9-vFgrIy29clF9CC_oPPsw3c5D0bs" },
});

// Standard Webhooks 1.0.0, "Signature scheme": v1a is Ed25519 over the same text.
function verifyAsymmetric(sample, body = sample.body, id = sample.id) {
  const signatures = sample.signature.split(" ").filter((one) => one.startsWith("v1a,"));
  assert.equal(signatures.length, 1, "there is one signature of v1a");
  const right = verifyWithKey(
    null,
    Buffer.from(`${id}.${sample.timestamp}.${body}`),
    publicKey,
    Buffer.from(signatures[0].slice(4), "base64"),
  );
  assert.ok(right, "the signature of v1a is right");
}

function verifiesWithEachSecret(sample) {
  for (const secret of sample.secrets) {
    if (secret.startsWith("whsec_")) verify(sample, secret);
    else verifyAsymmetric(sample);
  }
}

function refusesChanges(sample) {
  const secret = sample.secrets[0];
  assert.throws(() => verify(sample, secret, sample.body + " "));
  assert.throws(() => verify(sample, secret, sample.body, sample.id + "0"));
  assert.throws(() => verify(sample, "whsec_" + Buffer.alloc(24, 7).toString("base64")));
  if (!sample.secrets.some((one) => one.startsWith("whsk_"))) return;
  assert.throws(() => verifyAsymmetric(sample, sample.body + " "));
  assert.throws(() => verifyAsymmetric(sample, sample.body, sample.id + "0"));
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

// --- messages in other forms

// As a receiver's server hands them to the library: names in lower case.
function headersOf(message) {
  const fields = message.head.split("\r\n").slice(0, -1).map((line) => line.match(/^([!-9;-~]+): ([!-~]*)$/));
  assert.ok(fields.every(Boolean), `a field is broken: ${message.head}`);
  return { "content-type": message.content_type, ...Object.fromEntries(fields.map(([, name, value]) => [name, value])) };
}

// CloudEvents 1.0.2, HTTP binding, 3.1.3.2; the library leaves this to its caller.
const decoded = (fields) =>
  Object.fromEntries(
    Object.entries(fields).map(([name, value]) => [name, name.startsWith("ce-") ? decodeURIComponent(value) : value]),
  );

const asJson = (event) => JSON.parse(JSON.stringify(event));

// What the library reads is the event, attribute by attribute, and its data.
function isTheEvent(read, event) {
  assert.equal(read.validate(), true);
  assert.deepEqual(asJson(read), event);
}

const isThemAll = (read, all) => {
  assert.equal(read.length, all.length);
  read.forEach((one, i) => isTheEvent(one, all[i]));
};

const readers = {
  structured: (message) => isThemAll([HTTP.toEvent({ headers: headersOf(message), body: message.body })], message.events),
  binary: (message) =>
    isThemAll([HTTP.toEvent({ headers: decoded(headersOf(message)), body: message.body })], message.events),
  batch: (message) => isThemAll(HTTP.toEvent({ headers: headersOf(message), body: message.body }), message.events),
  "structured lines": (message) => {
    const read = linesOf(message).map((body) => HTTP.toEvent({ headers: eventHeaders, body }));
    isThemAll(read, message.events);
  },
  webhook: (message) => isEnvelope(message.body, message.events[0]),
  "webhook lines": (message) => {
    const all = linesOf(message);
    assert.equal(all.length, message.events.length);
    all.forEach((line, i) => isEnvelope(line, message.events[i]));
  },
};
const eventHeaders = { "content-type": "application/cloudevents+json" };

function linesOf(message) {
  assert.match(message.body, /\n$/);
  return message.body.slice(0, -1).split("\n");
}

// Standard Webhooks 1.0.0, "Payload structure": type, timestamp (ISO 8601) and data.
function isEnvelope(body, event) {
  assert.deepEqual(JSON.parse(body), { type: event.type, timestamp: event.time, data: event.data });
}

const forms = Object.keys(readers);
for (const form of forms) check(`${form}: there are samples`, () => assert.ok(messages.some((one) => one.form === form)));
for (const message of messages.filter((one) => forms.includes(one.form))) {
  const name = `${message.form} ${message.events[0].id}`;
  check(`${name}: is the event`, () => readers[message.form](message));
  check(`${name}: no control character in the header`, () => headersOf(message));
  if (message.events.length > 1 || message.signature === undefined) continue;
  check(`${name}: signature`, () => verifiesWithEachSecret(message));
  check(`${name}: a change is seen`, () => refusesChanges(message));
}

// Each reader sees another attribute, another order, and a form that is not its own.
const ofForm = (form) => structuredClone(messages.find((one) => one.form === form));
const bentMessages = [];
for (const form of forms) {
  bentMessages.push([`${form}: other data`, form, (one) => (one.body = one.body.replace('"sequence":1', '"sequence":7'))]);
  bentMessages.push([`${form}: half of it`, form, (one) => (one.body = one.body.slice(0, one.body.length / 2))]);
}
bentMessages.push(["binary: another subject", "binary", (one) => (one.head = one.head.replace("ce-subject: R", "ce-subject: S"))]);
bentMessages.push(["binary: no type", "binary", (one) => (one.head = one.head.replace(/ce-type: .*\r\n/, ""))]);
bentMessages.push(["batch: one missing", "batch", (one) => (one.body = JSON.stringify(JSON.parse(one.body).slice(1)))]);
bentMessages.push(["batch: another order", "batch", (one) => (one.body = JSON.stringify(JSON.parse(one.body).reverse()))]);
bentMessages.push(["structured: as a batch", "structured", (one) => (one.content_type = "application/cloudevents-batch+json")]);
for (const [name, form, bend] of bentMessages) {
  check(`${name} is seen`, () => {
    const message = ofForm(form);
    readers[form](message);
    bend(message);
    assert.throws(() => readers[form](message));
  });
}
const overlong = { ...ofForm("binary"), head: "ce-subject: %C0%A0\r\n" };  // CE binding 3.1.3.2: to be rejected
check("an overlong form is refused", () => assert.throws(() => decoded(headersOf(overlong))));

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
