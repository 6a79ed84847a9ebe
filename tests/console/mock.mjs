// A service to try the pages with: it serves the console's files from their folder with the service's own policy for
// contents, and a day at quay-street that shows all that a real one rarely has at once. Nothing is stored.
//   node mock.mjs [PORT]      to look around in
import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import { createServer } from "node:http";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const pages = join(here, "../../daemon/api/console");
const chartLibrary = "/usr/share/javascript/chart.js/chart.min.js";
const chartLicence = "/usr/share/doc/libjs-chart.js/copyright";

export const csp =
  "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
  "form-action 'none'; base-uri 'none'; frame-ancestors 'none'";
const notice =
  "Screening result, not an identification report. Where it matters, ask a qualified gemmological laboratory; " +
  "local rules on disclosure apply.";
const digest = `sha256:${"1c33b220".repeat(8)}`;
const types = { ".html": "text/html", ".js": "text/javascript", ".css": "text/css", ".txt": "text/plain" };
const roles = { "look-token": "look", "work-token": "work", "admin-token": "admin" };
const ranks = ["nobody", "look", "work", "admin"];

// --- the day

const start = Date.now();
const ago = (minutes) => new Date(start - minutes * 60_000).toISOString();

const texts = {
  as_declared: "The runs agree with what was declared.",
  findings_differ: "The runs disagree: a gemmological laboratory decides.",
  more_readings_needed: "1 of 2 agreeing runs so far: measure once more.",
  no_valid_measurement: "No valid measurement yet: clean the stone, seat it, and measure again.",
  outside_instrument_scope: "The stone is outside what the instrument can judge: a laboratory decides.",
  scope_unknown: "Nobody said what the instrument can judge of this stone: a person must look.",
  simulant: "It is no diamond, and was declared as one.",
};

// [stock number, disposition, code, finding, valid, required, void, minutes ago, bench, instrument]
const stones = [
  ["R1043", "refer", "findings_differ", "mixed", 2, 2, 0, 2, "counter-2", "B-0042"],
  ["R1047", "refer", "outside_instrument_scope", "natural", 1, 2, 0, 1, "counter-1", "A-0117"],
  ["R1045", "release", "as_declared", "natural", 2, 2, 1, 3, "counter-1", "A-0117"],
  ["R1048#2", "reject", "simulant", "simulant", 2, 2, 0, 5, "counter-3", "C-0007"],
  ["R1048#1", "release", "as_declared", "natural", 2, 2, 0, 8, "counter-3", "C-0007"],
  ["R1042", "release", "as_declared", "natural", 2, 2, 0, 23, "counter-1", "A-0117"],
  ["R1046", "release", "as_declared", "laboratory_grown", 2, 2, 0, 12, "counter-2", "B-0042"],
  ["R1044", "repeat", "more_readings_needed", "natural", 1, 2, 0, 0.4, "counter-4", "D-0003"],
  ["R1051", "hold", "scope_unknown", "natural", 2, 2, 0, 31, "counter-5", "E-1200"],
  ["R1052", "repeat", "no_valid_measurement", "none", 0, 2, 2, 40, "counter-5", "E-1200"],
  ["QS-2026-000317-B", "hold", "scope_unknown", "natural", 2, 2, 0, 55, "counter-5", "E-1200"],
];

function caseOf([key, disposition, code, finding, valid, required, voids, minutes, bench, instrument], i) {
  const at = ago(minutes);
  return {
    bench,
    instrument,
    line: {
      id: `k3f9a2b1-${65536 * (i + 1)}`,
      key,
      stock_number: key.split("#")[0],
      position: key.split("#")[1] ?? null,
      state: "open",
      sequence: 2,
      disposition,
      finding,
      reason: { code, text: texts[code] },
      by_hand: null,
      readings: { valid, void: voids, discounted: 0, required },
      first_measured_at: ago(minutes + 1),
      last_measured_at: at,
      decided_at: at,
    },
  };
}

function outcomeOf({ line }, sequence, disposition, code, at) {
  const { valid, void: voids, required } = line.readings;
  return {
    case: line.id,
    sequence,
    site: "quay-street",
    subject: { kind: "stone", stock_number: line.stock_number, position: line.position },
    disposition,
    previous_disposition: sequence > 1 ? "repeat" : null,
    finding: line.finding,
    reasons: [
      { code, text: texts[code] ?? code },
      { code: "seen", text: "A-0117 says natural (1 run), B-0042 says simulant (1 run). Scope in; declared natural." },
      { code: "asked", text: "Policy default, version 1, asks for 2 runs of this stone; 2 count." },
      { code: "rule", text: "Rule 4 decided." },
    ],
    readings: { valid, void: voids, discounted: 0, duplicates: 1, required, missing: Math.max(0, required - valid) },
    evidence: {
      scope: "in",
      instrument: "fit",
      instruments: 2,
      dissent: 1,
      said: [],
      stone: { carat: "0.71" },
      probability: { of: "natural", value: "0.97312", low: "0.912", high: "0.999999" },
      carat_estimate: { carat: "0.70", low: "0.66", high: "0.74", plausible: true },
    },
    declared: { identity: "natural", carat: "0.71", color: "G", shape: "round", value: "1980" },
    disclosure: {
      market: "iso",
      rule: "ISO 18323:2015",
      source: "clause 4",
      words: ["diamond", "natural diamond"],
      barred: ["real stone"],
      caution: "Only a laboratory's report identifies a stone.",
    },
    policy: { name: "default", version: "1", digest, rule: 4 },
    decided_at: at,
    notice,
    by_hand: null,
  };
}

function readingOf(instrument, run, at, key, finding) {
  const [stock, position] = (key ?? "").split("#");
  return {
    record: "reading",
    instrument,
    run,
    measured_at: at,
    ...(stock ? { stock_number: stock } : {}),
    ...(position ? { position } : {}),
    finding,
    carat: "0.71",
    temperature_c: "21.6",
    place: { offset: 120, length: 39, line: 4 },
  };
}

function storyOf(known) {
  const { line, instrument } = known;
  const outcome = {
    ...outcomeOf(known, 2, line.disposition, line.reason.code, line.decided_at),
    by_hand: line.by_hand,
  };
  const copy = { intake: "counter-1-exports", document: "export-2.csv", came_at: line.decided_at };
  const delivery = (id, outlet, sequence, state, status, note) => ({
    id,
    outlet,
    sequence,
    state,
    attempts: 1,
    status,
    note,
    due_at: null,
    changed_at: line.decided_at,
  });
  return {
    id: line.id,
    key: line.key,
    outcome,
    state: line.state,
    stock_number: line.key,
    readings: [
      {
        id: 1,
        reading: readingOf(instrument, "3", line.first_measured_at, line.key, "natural"),
        worth: "counts",
        intake: "counter-1-exports",
        document: "export-1.csv",
        came_at: line.first_measured_at,
        duplicates: [copy, copy, copy, copy],
      },
      {
        id: 2,
        reading: readingOf(instrument, "4", line.first_measured_at, line.key, "void"),
        worth: "corrected by a newer record of the same run",
        intake: "counter-1-exports",
        document: "export-1.csv",
        came_at: line.first_measured_at,
        duplicates: [],
      },
      {
        id: 3,
        reading: readingOf("B-0042", "501", line.last_measured_at, line.key, "simulant"),
        worth: "counts",
        intake: "counter-2-log",
        document: "log.csv",
        came_at: line.last_measured_at,
        duplicates: [],
      },
    ],
    declarations: [
      {
        declaration: {
          record: "declaration",
          stock_number: line.key,
          identity: "natural",
          carat: "0.71",
          color: "G",
          shape: "round",
          value: "1980",
          "extra.tray": "7",
          place: { offset: 72, length: 31, line: 3 },
        },
        in_force: true,
        intake: "stock-list",
        document: "list.csv",
        came_at: ago(95),
        duplicates: [],
      },
    ],
    outcomes: [outcomeOf(known, 1, "repeat", "more_readings_needed", line.first_measured_at), outcome],
    deliveries: [
      delivery(1, "inventory", 1, "skipped", 0, "a later outcome of the case goes in its place"),
      delivery(2, "till", 1, "sent", 204, ""),
      delivery(3, "till", 2, "parked", 503, "the receiver had no room"),
      delivery(4, "inventory", 2, "waiting", 0, ""),
    ],
    would_change:
      line.disposition === "repeat"
        ? [
            {
              step: "natural",
              disposition: "release",
              reason: "as_declared",
              text: "With one more natural reading, it is released.",
            },
          ]
        : [
            {
              step: "else",
              disposition: "refer",
              reason: "findings_differ",
              text: "With a reading that says anything else, it goes to a laboratory.",
            },
          ],
    shadow: [{ sequence: 2, digest, disposition: "hold", reason: "instrument_unfit", rule: 1 }],
  };
}

class Day {
  constructor({ isEmpty = false } = {}) {
    this.cases = isEmpty ? [] : stones.map(caseOf);
    this.hasUnbound = !isEmpty;
    this.asides = isEmpty
      ? []
      : [
          {
            id: 2,
            intake: "counter-1-exports",
            document: "export-2.csv",
            at: ago(4),
            line: 9,
            offset: 322,
            length: 40,
            reason: 'column "result" holds "Q", which the mapping has no word for (it has -, A, B and C)',
            cause: "column … holds …, which the mapping has no word for (it has -, A, B and C)",
            text: "8;02.11.2026;09:28:00;R1047;Q;12,40;21,9",
            truncated: false,
            settled_at: null,
            can_try_again: true,
          },
          {
            id: 1,
            intake: "counter-3-line",
            document: "state/counter-3",
            at: ago(9),
            line: 1,
            offset: 0,
            length: 51,
            reason: "the document ends inside a value",
            cause: "the document ends inside a value",
            text: '{"device":"C-0007","n":73,"at":"2026-11-02T09:2\uFFFD\uFFFD!!',
            truncated: true,
            settled_at: null,
            can_try_again: false,
          },
        ].map((aside) => ({ ...aside, base64: Buffer.from(aside.text).toString("base64") }));
    const till = { at: ago(0.2), took_ms: 38, status: 204, note: null, answer: null };
    const outlet = (name, kind, state, more) => ({
      name,
      kind,
      state,
      why: null,
      waiting: 0,
      sent: 41,
      parked: 0,
      skipped: 0,
      oldest_waiting_at: null,
      in_flight: 0,
      last: till,
      ...more,
    });
    this.outlets = [
      outlet("till", "webhook", "open", { waiting: 2, parked: 1, oldest_waiting_at: ago(3) }),
      outlet("inventory", "folder", "open", {
        skipped: 6,
        last: { at: ago(1), took_ms: 2, status: null, note: "screening-1.csv", answer: null },
      }),
      outlet("head-office", "webhook", "closed", {
        why: "the receiver answered 410: it wants nothing any more",
        waiting: 17,
        oldest_waiting_at: ago(2900),
        last: { at: ago(2880), took_ms: 120, status: 410, note: null, answer: '{"error":"gone"}' },
      }),
      outlet("archive", "webhook", "resting", {
        why: "no connection: refused",
        waiting: 3,
        oldest_waiting_at: ago(18),
        last: { at: ago(1), took_ms: 4, status: null, note: "no connection: refused", answer: null },
      }),
      outlet("web-shop", "webhook", "paused", {
        why: "by Kim: stocktaking",
        waiting: 5,
        oldest_waiting_at: ago(200),
        last: null,
      }),
    ];
  }

  // Every bench that is configured has its entry.
  benches() {
    if (this.cases.length === 0) return [];
    const byBench = Map.groupBy
      ? Map.groupBy(this.cases, (known) => known.bench)
      : groupBy(this.cases, (known) => known.bench);
    const items = [...byBench]
      .map(([bench, all]) => ({
        bench,
        instruments: [all[0].instrument],
        latest: all
          .slice(0, 8)
          .map(({ line, instrument }, i) => ({
            at: line.last_measured_at,
            instrument,
            run: String(i),
            finding: line.finding,
            reading: i,
            key: line.key,
            case: line,
          }))
          .sort((a, b) => b.at.localeCompare(a.at)),
      }))
      .sort((a, b) => (a.bench < b.bench ? -1 : 1));
    if (this.hasUnbound) {
      items.push({
        bench: null,
        instruments: ["F-0900"],
        latest: [
          { at: ago(14), instrument: "F-0900", run: "9", finding: "natural", reading: 77, key: null, case: null },
          { at: ago(20), instrument: "F-0900", run: "8", finding: "void", reading: 76, key: "R1060", case: null },
        ],
      });
    }
    return items;
  }

  unbound() {
    if (!this.hasUnbound) return [];
    return [
      {
        id: 77,
        reading: { ...readingOf("F-0900", "9", ago(14), null, "natural"), operator: "kim", note: "tray 4" },
        counts: "unbound",
        key: null,
        intake: "counter-6-line",
        document: "state/counter-6",
        came_at: ago(14),
        bound_by: null,
      },
    ];
  }

  instruments() {
    if (this.cases.length === 0) return [];
    const one = (serial, bench, runs, voids, referrals, offset, configured = true) => ({
      serial,
      bench,
      configured,
      last_measured_at: ago(runs),
      last_came_at: ago(runs),
      clock_offset_s: offset,
      runs,
      voids,
      referrals,
    });
    return [
      one("A-0117", "counter-1", 1, 0, 0, null),
      one("B-0042", "counter-2", 212, 9, 14, 4),
      one("C-0007", "counter-3", 388, 21, 30, -190),
      one("D-0003", "counter-4", 12, 1, 0, 2),
      one("E-1200", "counter-5", 77, 30, 5, 900),
      one("F-0900", null, 3, 1, 0, 1, false),
    ];
  }
}

function groupBy(items, keyOf) {
  const groups = new Map();
  for (const item of items) groups.set(keyOf(item), [...(groups.get(keyOf(item)) ?? []), item]);
  return groups;
}

function days(n) {
  return Array.from({ length: n }, (_, i) => ({
    day: new Date(start - (n - 1 - i) * 86_400_000).toISOString().slice(0, 10),
    runs: 8 + ((i * 7) % 11),
    voids: (i * 3) % 4,
    referrals: i % 3,
  })).filter((_, i) => i % 7 !== 6);
}

// --- HTTP

class Refusal extends Error {
  constructor(status, detail) {
    super(detail);
    this.status = status;
  }
}

function bodyOf(request) {
  return new Promise((resolve) => {
    const chunks = [];
    request.on("data", (chunk) => chunks.push(chunk));
    request.on("end", () => resolve(Buffer.concat(chunks)));
  });
}

// Starts on `port` (0: any). Gives {url, day, close, says: what was posted, events: what is listened to}.
export async function startMock({ port = 0, isEmpty = false, pagesFolder = pages } = {}) {
  const day = new Day({ isEmpty });
  const state = { role: "look", token: null, posts: [], streams: new Set(), isDead: false, retryId: 0 };
  const list = (items, query) => {
    const from = Number(query.get("cursor") ?? 0);
    const limit = Number(query.get("limit") ?? 50);
    return { items: items.slice(from, from + limit), next: from + limit < items.length ? String(from + limit) : null };
  };
  const whole = (items, query) => {
    if ([...query].length > 0) throw new Refusal(400, "this address takes no parameter");
    return { items, next: null };
  };
  const session = () => ({
    role: state.role,
    token: state.token,
    site: "quay-street",
    timezone: "Europe/Brussels",
    language: "en",
    version: "0.6.0",
    notice,
    now: new Date().toISOString(),
    signed_in: state.token !== null,
  });
  const need = (role) => {
    if (ranks.indexOf(state.role) >= ranks.indexOf(role)) return;
    throw new Refusal(state.token === null ? 401 : 403, `this needs a token with the role ${role}`);
  };
  const byOf = (body) => {
    for (const member of ["who", "why"]) if (!body[member]) throw new Refusal(400, `the member "${member}" is missing`);
    return { who: body.who, why: body.why };
  };
  const found = (items, test, what) =>
    items.find(test) ??
    (() => {
      throw new Refusal(404, `there is no such ${what}`);
    })();
  const cases = (query) =>
    day.cases
      .map(({ line }) => line)
      .filter(
        (line) =>
          line.key.startsWith(query.get("q") ?? "") &&
          (!query.get("disposition") || line.disposition === query.get("disposition")) &&
          (!query.get("state") || line.state === query.get("state")),
      )
      .sort((a, b) => (a.decided_at < b.decided_at ? 1 : -1));

  const gets = [
    [/^session$/, session],
    [/^cases$/, (query) => list(cases(query), query)],
    [/^cases\/([^/]+)$/, (query, id) => storyOf(found(day.cases, ({ line }) => line.id === id, "case"))],
    [
      /^subjects\/([^/]+)$/,
      (query, key) => {
        if (key !== "R1099") throw new Refusal(404, "nobody knows that stock number");
        return {
          key,
          cases: [],
          declarations: storyOf(day.cases[0]).declarations,
          readings_without_case: [{ id: 5, reading: readingOf("A-0117", "9", ago(7), key, "void") }],
        };
      },
    ],
    [/^readings$/, (query) => list(query.get("unbound") ? day.unbound() : [], query)],
    [
      /^aside-causes$/,
      () => ({
        items: day.asides.map((aside, i) => ({
          intake: aside.intake,
          cause: aside.cause,
          count: i === 0 ? 3 : 1,
          first_at: ago(300),
          last_at: aside.at,
          example: aside,
        })),
        next: null,
        of_all: true,
      }),
    ],
    [
      /^aside$/,
      (query) =>
        list(
          day.asides.filter((aside) => aside.cause === query.get("cause")).flatMap((aside) => [aside, aside, aside]),
          query,
        ),
    ],
    [/^benches$/, () => ({ items: day.benches() })],
    [/^instruments$/, (query) => whole(day.instruments(), query)],
    [
      /^instruments\/([^/]+)$/,
      (query, serial) => ({
        ...found(day.instruments(), (one) => one.serial === serial, "instrument"),
        days: days(Number(query.get("days") ?? 30)),
        complete: serial !== "C-0007",
      }),
    ],
    [
      /^intakes$/,
      (query) =>
        whole(
          isEmpty
            ? []
            : [
                {
                  name: "counter-1-exports",
                  kind: "folder",
                  reader: "delimited",
                  makes: ["reading"],
                  up: true,
                  trouble: null,
                  documents: 2,
                  bytes: 700,
                  known: 1,
                  set_aside: 1,
                  in_flight: 0,
                  last_at: ago(4),
                },
                {
                  name: "counter-3-line",
                  kind: "serial",
                  reader: "json",
                  makes: ["reading", "scan"],
                  up: false,
                  trouble: "state/counter-3: No such device",
                  documents: 5,
                  bytes: 600,
                  known: 1,
                  set_aside: 1,
                  in_flight: 0,
                  last_at: ago(9),
                },
                {
                  name: "stock-list",
                  kind: "post",
                  reader: "delimited",
                  makes: ["declaration"],
                  up: true,
                  trouble: null,
                  documents: 0,
                  bytes: 0,
                  known: 0,
                  set_aside: 0,
                  in_flight: 0,
                  last_at: null,
                },
              ],
          query,
        ),
    ],
    [/^outlets$/, (query) => whole(isEmpty ? [] : day.outlets, query)],
    [
      /^deliveries$/,
      (query) =>
        list(
          [
            {
              id: 3,
              outlet: query.get("outlet"),
              case: day.cases[0].line.id,
              key: "R1043",
              sequence: 2,
              state: "parked",
              attempts: 9,
              made: "outcome",
              due_at: null,
              status: 503,
              note: "the receiver had no room",
              reference: null,
              changed_at: ago(2),
            },
          ],
          query,
        ),
    ],
  ];
  const posts = [
    [
      /^session$/,
      (body) => {
        if (!(body.token in roles)) throw new Refusal(401, "no token is like this, or it was revoked");
        Object.assign(state, { role: roles[body.token], token: "desk-2" });
        return session();
      },
    ],
    [
      /^cases\/([^/]+)\/decisions$/,
      (body, id) => {
        need("work");
        const known = found(day.cases, ({ line }) => line.id === id, "case");
        if (body.sequence !== known.line.sequence) throw new Refusal(409, "there is a later outcome");
        known.line.by_hand = byOf(body);
        Object.assign(known.line, {
          disposition: body.disposition,
          sequence: 3,
          decided_at: new Date().toISOString(),
          reason: { code: "decided_by_hand", text: `Decided by hand by ${body.who}: ${body.why}.` },
        });
        return [201, storyOf(known).outcome];
      },
    ],
    [
      /^readings\/([^/]+)\/binding$/,
      (body, id) => {
        need("work");
        byOf(body);
        day.hasUnbound = false;
        return { reading: Number(id), key: body.stock_number, case: day.cases[0].line.id };
      },
    ],
    [
      /^aside\/retries$/,
      (body) => {
        need("work");
        day.asides = day.asides.filter((aside) => !body.ids.includes(aside.id));
        return {
          documents: 1,
          readings: 1,
          declarations: 0,
          settled: 1,
          still_aside: 0,
          not_kept: body.ids.includes(1) ? [1] : [],
        };
      },
    ],
    [
      /^deliveries\/([^/]+)\/resend$/,
      () => {
        need("work");
        return { again: 1, overtaken: 0, waiting: 0 };
      },
    ],
    [
      /^resends$/,
      (body) => {
        need("admin");
        day.outlets.find((outlet) => outlet.name === body.outlet).parked = 0;
        return { again: 1, overtaken: 2, waiting: 1 };
      },
    ],
    [
      /^outlets\/([^/]+)\/(pause|resume)$/,
      (body, name, what) => {
        need("admin");
        const outlet = found(day.outlets, (one) => one.name === name, "outlet");
        if (what === "pause") byOf(body);
        Object.assign(outlet, {
          state: what === "pause" ? "paused" : "open",
          why: what === "pause" ? `by ${body.who}: ${body.why}` : null,
        });
        return what === "pause" ? { changed: true } : { changed: true, waiting: outlet.waiting };
      },
    ],
    [
      /^intakes\/([^/]+)\/preview$/,
      () => {
        need("work");
        return {
          records: [
            { kind: "reading", record: readingOf("A-0117", "1", ago(500), "R1042", "natural") },
            { kind: "reading", record: readingOf("A-0117", "2", ago(499), "R1042", "natural") },
          ],
          set_aside: [
            {
              line: 4,
              reason: 'column "result" holds "Q", which the mapping has no word for (it has -, A, B and C)',
              text: "3;02.11.2026;10:18:05;R1043;Q;21,6",
            },
          ],
          ignored: 1,
        };
      },
    ],
  ];

  function file(path) {
    const name = path === "/" ? "index.html" : path.slice("/console/".length);
    const source =
      name === "chart.js" ? chartLibrary : name === "chart-licence.txt" ? chartLicence : join(pagesFolder, name);
    if (name.includes("..") || !existsSync(source)) return null;
    return { bytes: readFileSync(source), type: `${types[name.slice(name.lastIndexOf("."))]}; charset=utf-8` };
  }

  function stream(request, response) {
    response.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" });
    response.write(
      `retry: 2000\nid: 1-1\nevent: hello\ndata: ${JSON.stringify({ site: "quay-street", now: new Date().toISOString(), resumed: false })}\n\n`,
    );
    state.streams.add(response);
    request.on("close", () => state.streams.delete(response));
  }

  async function answer(request, response) {
    const url = new URL(request.url, "http://localhost");
    response.setHeader("Content-Security-Policy", csp);
    response.setHeader("X-Content-Type-Options", "nosniff");
    if (!url.pathname.startsWith("/api/")) {
      const served = file(url.pathname);
      if (served === null) throw new Refusal(404, "there is no such page");
      response.setHeader("Content-Type", served.type);
      response.setHeader("ETag", `"${createHash("sha256").update(served.bytes).digest("hex").slice(0, 32)}"`);
      return response.end(served.bytes);
    }
    const path = url.pathname.slice("/api/v1/".length);
    if (path === "events") return stream(request, response);
    if (request.method === "DELETE") {
      Object.assign(state, { role: "look", token: null });
      response.statusCode = 204;
      return response.end();
    }
    if (state.hasEnded) {
      state.hasEnded = false; // the answer takes the cookie away
      throw new Refusal(401, "the session has ended: sign in again");
    }
    const bytes = await bodyOf(request);
    if (request.method === "POST" && request.headers["girdle-console"] !== "1")
      throw new Refusal(403, "the header Girdle-Console is missing");
    const isJson = request.headers["content-type"] === "application/json";
    const argument = request.method === "POST" ? (isJson ? JSON.parse(bytes) : {}) : url.searchParams;
    if (request.method === "POST") state.posts.push({ path, body: isJson ? argument : bytes.toString() });
    for (const [pattern, work] of request.method === "POST" ? posts : gets) {
      const match = path.match(pattern);
      if (match === null) continue;
      const result = work(argument, ...match.slice(1).map(decodeURIComponent));
      const [status, body] = Array.isArray(result) ? result : [200, result];
      response.writeHead(status, { "Content-Type": "application/json" });
      return response.end(JSON.stringify(body));
    }
    throw new Refusal(404, "there is no such route");
  }

  const server = createServer(async (request, response) => {
    if (state.isDead) return request.socket.destroy();
    try {
      await answer(request, response);
    } catch (error) {
      const status = error instanceof Refusal ? error.status : 500;
      response.writeHead(status, { "Content-Type": "application/problem+json" });
      response.end(JSON.stringify({ type: "about:blank", title: String(status), status, detail: error.message }));
    }
  });
  await new Promise((resolve) => server.listen(port, "127.0.0.1", resolve));

  let frame = 1;
  return {
    url: `http://127.0.0.1:${server.address().port}`,
    day,
    posts: state.posts,
    endSession: () => Object.assign(state, { role: "look", token: null, hasEnded: true }),
    signOut: () => Object.assign(state, { role: "look", token: null }),
    send(changes) {
      frame += 1;
      const data = {
        decided: [],
        more: 0,
        readings: 0,
        duplicates: 0,
        asides: 0,
        declarations: 0,
        deliveries: 0,
        ...changes,
      };
      for (const response of state.streams)
        response.write(`id: 1-${frame}\nevent: changes\ndata: ${JSON.stringify(data)}\n\n`);
    },
    // The busy day's lists tell of what was sent.
    keep(changes) {
      const news = changes.map(({ bench, instrument, case: line }) => ({ bench, instrument, line })).reverse();
      day.cases = [...news, ...day.cases].slice(0, 300);
    },
    // As if the service were stopped, and started again.
    die() {
      state.isDead = true;
      for (const response of state.streams) response.destroy();
    },
    rise() {
      state.isDead = false;
    },
    close: () =>
      new Promise((resolve) => {
        server.closeAllConnections();
        server.close(resolve);
      }),
  };
}

// The case lines of a very busy shop, one after the other.
export function busyLine(n) {
  const benches = [
    ["counter-1", "A-0117"],
    ["counter-2", "B-0042"],
    ["counter-3", "C-0007"],
  ];
  const [bench, instrument] = benches[n % benches.length];
  const [, disposition, code, finding, valid, required] = stones[n % stones.length];
  const { line } = caseOf([`B${100000 + n}`, disposition, code, finding, valid, required, 0, 0, bench, instrument], n);
  const at = new Date().toISOString();
  return { bench, instrument, case: { ...line, last_measured_at: at, decided_at: at } };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const mock = await startMock({ port: Number(process.argv[2] ?? 7490) });
  console.log(mock.url);
}
