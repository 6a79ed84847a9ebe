// The HTTP API against its document:
//   node check_openapi.mjs SAMPLES-PROGRAM SCHEMAS-FOLDER
// SAMPLES-PROGRAM is girdle_api_samples: a shop in a real ledger, and the routes. npm yaml reads schemas/openapi.yaml, npm
// ajv (JSON Schema 2020-12) validates. Every example is run, and is what is answered; what the schemas allow is taken, what
// they forbid is refused by name. Requests are random from a fixed seed.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";

import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";
import { parse } from "yaml";

import { check, finish } from "./checks.mjs";

const [samplesProgram, schemasFolder] = process.argv.slice(2);
const text = (name) => readFileSync(join(schemasFolder, name), "utf8");
const document = parse(text("openapi.yaml"));

// --- schemas

const base = "https://girdle.example/schemas/";
const nameOf = (ref) => ref.replace(/^#\/components\/schemas\//, "openapi.");

// References to components as references to schemas of their own. `closed`: a member that no schema names is wrong there,
// as everything that is told is in the document.
function standalone(schema, closed) {
  if (Array.isArray(schema)) return schema.map((one) => standalone(one, closed));
  if (typeof schema !== "object" || schema === null) return schema;
  const copy = Object.fromEntries(Object.entries(schema).map(([name, value]) => [name, standalone(value, closed)]));
  if (typeof copy.$ref === "string" && copy.$ref.startsWith("#/components/")) copy.$ref = nameOf(copy.$ref) + (closed ? ".closed" : "");
  if (closed && copy.type === "object" && copy.properties && copy.additionalProperties === undefined) copy.additionalProperties = false;
  return copy;
}

const ajv = new Ajv2020({ allErrors: true, strict: true, strictRequired: false, strictTypes: false, allowUnionTypes: true });
addFormats(ajv);
ajv.addKeyword({ keyword: "x-max-bytes", type: "string", validate: (most, value) => Buffer.byteLength(value) <= most });
ajv.addVocabulary(["example"]);
for (const name of ["outcome.schema.json", "reading.schema.json"]) ajv.addSchema(JSON.parse(text(name)));
for (const [name, schema] of Object.entries(document.components.schemas)) {
  ajv.addSchema({ ...standalone(schema, false), $id: `${base}openapi.${name}` });
  ajv.addSchema({ ...standalone(schema, true), $id: `${base}openapi.${name}.closed` });
}
const compiled = new Map();
function validator(schema, closed) {
  const key = JSON.stringify([schema, closed]);
  if (!compiled.has(key)) compiled.set(key, ajv.compile({ ...standalone(schema, closed), $id: `${base}inline-${compiled.size}` }));
  return compiled.get(key);
}
function fits(schema, value, closed = false) {
  const valid = validator(schema, closed);
  assert.ok(valid(value), `${JSON.stringify(valid.errors?.slice(0, 3))} in ${JSON.stringify(value).slice(0, 600)}`);
}
const isFit = (schema, value) => validator(schema, false)(value);

// What stands behind a reference, wherever it is.
function resolved(value) {
  if (!value?.$ref) return value;
  const { $ref, ...besides } = value;
  const [file, pointer] = $ref.split("#");
  const root = file === "" ? document : JSON.parse(text(file));
  const target = (pointer ?? "").split("/").slice(1).reduce((at, name) => at[name], root);
  return { ...resolved(target), ...besides };
}

// --- operations

const operations = Object.entries(document.paths).flatMap(([path, item]) =>
  Object.entries(item).map(([method, operation]) => ({
    path,
    method: method.toUpperCase(),
    id: operation.operationId,
    parameters: (operation.parameters ?? []).map(resolved),
    bodies: operation.requestBody?.content ?? {},
    responses: Object.fromEntries(Object.entries(operation.responses).map(([status, one]) => [status, resolved(one)])),
  })),
);
const examplesOf = (content) => Object.entries(content?.examples ?? {}).map(([name, one]) => [name, one.value]);
const problemSchema = { $ref: "#/components/schemas/Problem" };
const jsonBody = (operation) => operation.bodies["application/json"]?.schema;

function segments(operation, values = {}) {
  return operation.path.slice(1).split("/").map((segment) => {
    const name = segment.match(/^{(.*)}$/)?.[1];
    if (!name) return segment;
    return String(values[name] ?? operation.parameters.find((one) => one.in === "path" && one.name === name).example);
  });
}

// A row of requests, all answered by one run of the program; each is then looked at by its own check.
const row = [];
function ask(name, operation, { query = [], body = "", contentType = "", path = {} }, look) {
  const request = { method: operation.method, path: segments(operation, path), query, content_type: contentType, body };
  row.push({ name, operation, request, look });
}
function askAll() {
  const input = row.map((one) => JSON.stringify(one.request)).join("\n") + "\n";
  const lines = execFileSync(samplesProgram, { input, encoding: "utf8", maxBuffer: 1 << 30 }).trimEnd().split("\n");
  assert.equal(lines.length, row.length, "there is an answer for each request");
  row.forEach(({ name, operation, request, look }, i) => {
    const answer = JSON.parse(lines[i]);
    check(`${name}: ${JSON.stringify(request).slice(0, 300)}`, () => look(answer, operation));
  });
  row.length = 0;
}

// The answer is one that the document names for the operation, in the shape that it gives.
function isDocumented(answer, operation) {
  const response = operation.responses[answer.status] ?? operation.responses.default;
  assert.ok(response, `status ${answer.status} is not documented`);
  assert.ok(answer.content_type in response.content, `${answer.status} as ${answer.content_type} is not documented`);
  const value = JSON.parse(answer.body);
  fits(response.content[answer.content_type].schema, value, true);
  return value;
}
function isRefused(answer, operation, status, named) {
  assert.equal(answer.status, status, answer.body);
  const problem = isDocumented(answer, operation);
  fits(problemSchema, problem, true);
  assert.equal(problem.status, status);
  if (named !== undefined) assert.ok(problem.detail.includes(named), `"${named}" is not named: ${problem.detail}`);
}

// --- examples

const kOfServer = ["showSession", "signIn", "signOut", "events", "metrics"]; // the server's tests send these

for (const operation of operations) {
  for (const parameter of operation.parameters) {
    if (parameter.in === "header") continue;
    check(`${operation.id}: example of ${parameter.name}`, () => {
      if (parameter.name === "cursor") return;
      assert.notEqual(parameter.example, undefined, "there is none");
      fits(parameter.schema, parameter.example);
    });
  }
  for (const [contentType, content] of Object.entries(operation.bodies)) {
    check(`${operation.id}: there is an example of a body`, () => assert.ok(examplesOf(content).length > 0));
    for (const [name, value] of examplesOf(content)) check(`${operation.id}: body ${name}`, () => fits(content.schema, value));
    check(`${operation.id}: the body refuses what no schema names`, () => {
      if (contentType !== "application/json") return;
      assert.equal(resolved(content.schema).additionalProperties, false);
    });
  }
  const good = Object.entries(operation.responses).filter(([status]) => status === "200" || status === "201");
  check(`${operation.id}: there is an example of an answer`, () =>
    assert.ok(operation.responses["204"] || good.some(([, one]) => Object.values(one.content).some((content) => examplesOf(content).length > 0))));
  for (const [status, response] of good) {
    for (const content of Object.values(response.content)) {
      for (const [name, value] of examplesOf(content)) check(`${operation.id}: answer ${status} ${name}`, () => fits(content.schema, value, true));
    }
  }
}

// Every example of a request is answered, and where the document has an answer of the same name, by that.
function isTheExample(name) {
  return (answer, operation) => {
    assert.ok(answer.status >= 200 && answer.status < 300, answer.body);
    const value = isDocumented(answer, operation);
    const examples = Object.fromEntries(examplesOf(operation.responses[answer.status].content[answer.content_type]));
    assert.ok(name in examples, `the document has no example ${name} of this answer`);
    assert.deepEqual(value, examples[name]);
  };
}
const told = (answer, operation) => {
  assert.equal(answer.status, 200, answer.body);
  isDocumented(answer, operation);
};
for (const operation of operations.filter((one) => !kOfServer.includes(one.id))) {
  const bodies = Object.entries(operation.bodies).flatMap(([type, content]) => examplesOf(content).map(([name, value]) => ({ type, name, value })));
  if (operation.id === "ready") {
    ask("the shop is not ready: one of its intakes has trouble", operation, {}, (answer) => {
      assert.equal(answer.status, 503);
      assert.equal(isDocumented(answer, operation).status, "failing");
    });
  } else if (operation.method === "GET") {
    ask(operation.id, operation, {}, isTheExample("ordinary"));
  }
  for (const { type, name, value } of bodies) {
    const body = type === "application/json" ? JSON.stringify(value) : value;
    ask(operation.id, operation, { body, contentType: type === "*/*" ? "application/octet-stream" : type }, isTheExample(name));
  }
  for (const parameter of operation.parameters.filter((one) => one.in === "query" && one.example !== undefined)) {
    if (operation.method === "GET") ask(`${operation.id} ${parameter.name}`, operation, { query: [[parameter.name, String(parameter.example)]] }, told);
  }
}
askAll();

// --- what the schemas allow, and what they forbid

let state = 20261102;
function random(below) {
  state = (state + 0x6d2b79f5) | 0;
  let t = Math.imul(state ^ (state >>> 15), 1 | state);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) % below;
}
const one = (list) => list[random(list.length)];
const letters = [..."RSabc019 .-_/*'\"\\<&é漢", "😀", "e\u0301", "\u00a0"];
const moments = ["2026-11-02T10:15:30Z", "2026-11-02T11:15:30.123+01:00", "0001-01-01T00:00:00Z", "2030-06-30T23:59:60Z", "2026-02-28T23:00:00-12:00"];

function anyText(schema) {
  const most = schema["x-max-bytes"] ?? schema.maxLength ?? 50;
  const wanted = one([1, 2, 7, Math.max(1, most - 4), most]);
  let made = one(["R1042", "K", "é"]).slice(0, most);
  while (Buffer.byteLength(made) < wanted) {
    const letter = one(letters);
    if (Buffer.byteLength(made + letter) > most) break;
    made += letter;
  }
  return made;
}
function any(given) {
  const schema = resolved(given);
  if (schema.const !== undefined) return schema.const;
  if (schema.enum) return one(schema.enum);
  if (schema.type === "string") return schema.format === "date-time" ? one(moments) : anyText(schema);
  if (schema.type === "boolean") return random(2) === 1;
  if (schema.type === "integer") {
    return one([schema.minimum, Math.min(schema.minimum + random(300), schema.maximum), schema.maximum]);
  }
  if (schema.type === "array") {
    const size = one([schema.minItems, 1 + random(9), schema.maxItems]);
    const first = 1 + random(1000);
    return Array.from({ length: size }, (_, i) => first + i * 7);
  }
  const made = {};
  for (const [name, member] of Object.entries(schema.properties)) {
    if (schema.required?.includes(name) || random(2) === 1) made[name] = any(member);
  }
  return made;
}
function fitting(schema) {
  for (let tries = 0; tries < 100; ++tries) {
    const made = any(schema);
    if (isFit(schema, made)) return made;
  }
  throw new Error("the generator finds nothing that fits");
}

// One member, wrong in every way that its schema knows.
function wrongValues(given) {
  const schema = resolved(given);
  const wrong = [null, 0.5, {}, [[]]];
  if (schema.type !== "boolean") wrong.push(true);
  if (schema.type !== "string" && !schema.enum) wrong.push("x");
  if (schema.enum) wrong.push("x", one(schema.enum).toUpperCase(), one(schema.enum) + " ", "");
  if (schema.format === "date-time") return [...wrong, "", "yesterday", "2026-11-02", "2026-13-02T10:00:00Z", "2026-11-02T10:00:00"];
  if (schema.type === "string") {
    const most = schema["x-max-bytes"] ?? schema.maxLength;
    wrong.push("", "  ", "a\u0000b", "a\nb", "a\u001b[1mb", "a\u007fb", "a\u0085b", "\u202eb", "a\u2028b", "a\u2066b");
    wrong.push("x".repeat(most + 1), "é".repeat(Math.ceil((most + 1) / 2)), "😀".repeat(Math.ceil((most + 1) / 4)));
    if (schema.pattern?.includes("#")) wrong.push("R2001#2");
  }
  if (schema.type === "integer") wrong.push(0, -1, schema.maximum + 1, 1e30, "1");
  if (schema.type === "array") {
    wrong.push([], [0], [-3], [1.5], ["1"], [null], [[1]], [5, 6, 5], [schema.items && 2 ** 53], Array.from({ length: schema.maxItems + 1 }, (_, i) => i + 1));
  }
  return wrong;
}

const isTaken = (answer, operation) => {
  assert.ok([200, 201, 404, 409].includes(answer.status), `${answer.status} ${answer.body}`);
  isDocumented(answer, operation);
};
const refusedFor = (named) => (answer, operation) => isRefused(answer, operation, 400, named);
const contentType = "application/json";

for (const operation of operations.filter((one) => jsonBody(one) && !kOfServer.includes(one.id))) {
  const schema = jsonBody(operation);
  const { properties, required = [] } = resolved(schema);
  for (let i = 0; i < 200; ++i) {
    const body = JSON.stringify(fitting(schema));
    ask(`${operation.id} takes what is allowed`, operation, { body, contentType }, isTaken);
  }
  const asksWrong = (what, value, named) => {
    check(`${operation.id} ${what}: the schema forbids it`, () => assert.equal(isFit(schema, value), false, JSON.stringify(value)));
    ask(`${operation.id} ${what}`, operation, { body: JSON.stringify(value), contentType }, refusedFor(named));
  };
  for (let i = 0; i < 5; ++i) {
    for (const name of required) {
      const { [name]: gone, ...rest } = fitting(schema);
      asksWrong(`without ${name}`, rest, name);
    }
    for (const [name, member] of Object.entries(properties)) {
      for (const value of wrongValues(member)) asksWrong(`with another ${name}`, { ...fitting(schema), [name]: value }, name);
    }
    for (const name of ["Who", "comment", "__proto__", "a\u0000"]) {
      const wrong = Object.defineProperty(fitting(schema), name, { value: 1, enumerable: true, configurable: true });
      asksWrong("with a member that is not known", wrong, name.replace("\u0000", "\\x00"));
    }
  }
  for (const value of [null, true, 7, "x", [], [{}]]) asksWrong("with another kind of body", value, "object");
  const right = JSON.stringify(fitting(schema));
  for (const body of ["", " ", "{", right.slice(0, -1), right + right, right + ",", "{'a':1}", "\ufeff{}x", "[".repeat(5000), '{"a":'.repeat(3000)]) {
    ask(`${operation.id} with no JSON`, operation, { body, contentType }, refusedFor("JSON"));
  }
  for (const name of required) {
    const twice = JSON.stringify(fitting(schema)).replace(/}$/, `,${JSON.stringify(name)}:"x"}`);
    ask(`${operation.id} with ${name} twice`, operation, { body: twice, contentType }, refusedFor(name));
  }
  for (const other of ["", "text/plain", "application/x-www-form-urlencoded", "application/problem+json"]) {
    ask(`${operation.id} as ${other}`, operation, { body: right, contentType: other }, (answer) => isRefused(answer, operation, 415, "application/json"));
  }
  ask(`${operation.id} with a query`, operation, { body: right, contentType, query: [["q", "x"]] }, refusedFor('"q"'));
}
check("resend that says not which is forbidden", () => assert.equal(isFit({ $ref: "#/components/schemas/Resend" }, { outlet: "till" }), false));
const resend = operations.find((one) => one.id === "resend");
for (const body of ["{}", '{"outlet":"till"}', '{"parked":false}']) ask("resend says not which", resend, { body, contentType }, refusedFor("parked"));
askAll();

for (const operation of operations.filter((one) => one.method === "GET" && !kOfServer.includes(one.id) && !one.path.startsWith("/health"))) {
  const parameters = operation.parameters.filter((one) => one.in === "query" && one.name !== "cursor");
  for (let i = 0; i < 60; ++i) {
    const chosen = parameters.filter(() => random(3) === 0);
    const names = chosen.map((parameter) => parameter.name);
    if (names.includes("unbound") && names.includes("q")) continue;
    const query = chosen.map((parameter) => [parameter.name, String(fitting(parameter.schema))]);
    ask(`${operation.id} takes what is allowed`, operation, { query }, told);
  }
  for (const { name, schema: given } of parameters) {
    const schema = resolved(given);
    const wrong = wrongValues(schema).filter((value) => typeof value === "string");
    if (schema.const !== undefined) wrong.push("false", "1", "TRUE", "");
    if (schema.type === "integer") wrong.push("0", String(schema.maximum + 1), "1.5", "+1", " 1", "1e1", "99999999999999999999");
    for (const value of wrong.filter((one) => !(schema.type === "integer" && /^[1-9]$/.test(one)))) {
      ask(`${operation.id} with another ${name}`, operation, { query: [[name, value]] }, refusedFor(name));
    }
    ask(`${operation.id} with ${name} twice`, operation, { query: [[name, String(fitting(given))], [name, String(fitting(given))]] }, refusedFor(name));
  }
  const takesCursor = operation.parameters.some((one) => one.name === "cursor");
  for (const value of takesCursor ? ["x", "c", "c.1.2", "z.0.0.", "c.0.0.ff", "c.00.1.", "C.0.0.", "c.0.0.aF", "c.0.99999999999999999999."] : []) {
    ask(`${operation.id} with another cursor`, operation, { query: [["cursor", value]] }, refusedFor("cursor"));
  }
  ask(`${operation.id} with a parameter that is not known`, operation, { query: [["page", "2"]] }, refusedFor('"page"'));
  for (const name of operation.parameters.filter((one) => one.in === "path").map((one) => one.name)) {
    for (const value of ["nobody", "0", "-1", "01", "99999999999999999999", "k3f9a2b1-", "k3f9a2b1-7", "00000000-65536", "R1042#", "\u202e", "é", "' OR 1=1"]) {
      ask(`${operation.id} of ${value}`, operation, { path: { [name]: value } }, (answer) => isRefused(answer, operation, 404, "there is no"));
    }
  }
}
askAll();

// --- documents: any bytes are one, but a form and nothing

const postDocument = operations.find((one) => one.id === "postDocument");
for (const operation of operations.filter((one) => one.bodies["*/*"])) {
  for (const type of ["", "text/csv", "application/json", "application/octet-stream"]) {
    ask(`${operation.id} as ${type}`, operation, { body: "\u0001;x", contentType: type }, isTaken);
  }
  for (const type of ["multipart/form-data", "application/x-www-form-urlencoded"]) {
    ask(`${operation.id} as ${type}`, operation, { body: "a=b", contentType: type }, (answer) => isRefused(answer, operation, 415, "form"));
  }
  ask(`${operation.id} of nothing`, operation, { body: "", contentType: "text/csv" }, refusedFor("empty"));
  ask(`${operation.id} of no intake`, operation, { body: "x", contentType: "text/csv", path: { name: "nobody" } }, (answer) => isRefused(answer, operation, 404, "nobody"));
}
ask("a folder takes no posts", postDocument, { body: "x", contentType: "text/csv", path: { name: "stock-list" } }, (answer) => isRefused(answer, postDocument, 409, "folder"));
ask("a document's name is text", postDocument, { body: "x", contentType: "text/csv", query: [["name", "a\nb"]] }, refusedFor("name"));
askAll();

// --- lists, page by page

function page(operation, query) {
  let value;
  ask(`${operation.id} ${JSON.stringify(query)}`, operation, { query }, (answer, of) => {
    assert.equal(answer.status, 200, answer.body);
    value = isDocumented(answer, of);
  });
  askAll();
  return value;
}
for (const operation of operations.filter((one) => one.parameters.some((parameter) => parameter.name === "cursor"))) {
  for (const filter of [[], ...(operation.parameters.some((one) => one.name === "q") ? [[["q", "R"]]] : [[["all", "true"]]])]) {
    check(`${operation.id} page by page is the whole list`, () => {
      const whole = page(operation, filter);
      assert.ok(whole.items.length >= 2 && whole.next === null, "the shop has too few");
      const pieces = [];
      for (let next = ""; next !== null; ) {
        const got = page(operation, [...filter, ["limit", "1"], ...(next === "" ? [] : [["cursor", next]])]);
        assert.ok(got.items.length <= 1 && pieces.length <= whole.items.length);
        pieces.push(...got.items);
        next = got.next;
      }
      assert.deepEqual(pieces, whole.items);
    });
  }
}

finish(` (${operations.length} operations)`);
