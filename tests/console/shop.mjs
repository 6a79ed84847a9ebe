// The shop of examples/quay-street with the real program: a copy of its folder, instruments that write files and send
// lines, a till that listens. Yesterday's morning, as examples/morning.py plays it.
import { execFileSync, spawn } from "node:child_process";
import { randomBytes } from "node:crypto";
import { once } from "node:events";
import {
  appendFileSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { createServer as createHttpServer } from "node:http";
import { createServer as createLineServer } from "node:net";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

const example = join(dirname(fileURLToPath(import.meta.url)), "../../examples/quay-street");
const patienceMs = 20_000;

async function portOf(server) {
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  return server.address().port;
}

async function freePort() {
  const probe = createLineServer();
  const port = await portOf(probe);
  probe.close();
  await once(probe, "close");
  return port;
}

export async function until(what, test) {
  const deadline = Date.now() + patienceMs;
  for (;;) {
    const found = await test();
    if (found) return found;
    if (Date.now() > deadline) throw new Error(`it did not come: ${what}`);
    await new Promise((wake) => {
      setTimeout(wake, 50);
    });
  }
}

// Yesterday: the console counts the days before today.
const yesterday = new Date(Date.now() - 86_400_000).toISOString().slice(0, 10);
const german = yesterday.split("-").reverse().join(".");

const stock =
  "stock,identity,carat,colour,shape,value\n" +
  "R1042,natural,0.53,F,round,1450\nR1043,natural,0.71,G,round,1980\nR1044,natural,1.02,E,oval,5200\n" +
  "R1045,natural,0.40,H,round,900\nR1046,laboratory_grown,1.50,E,round,880\nR1047,natural,12.40,F,cushion,310000\n" +
  "R1048#1,natural,0.10,G,round,\nR1048#2,natural,0.10,G,round,\nR1099,natural,0.30,F,round,700\n";
const head = "no;date;time;item;result;weight;temp\r\n";
const row = (text) => `${text.replace("DAY", german)}\r\n`;
const first = [
  "1;DAY;09:05:10;R1042;A;0,53;21,5",
  "2;DAY;09:05:50;R1042;A;0,53;21,5",
  "3;DAY;09:07:00;R1043;A;0,71;21,6",
  "4;DAY;09:08:10;R1045;-;;21,6",
]
  .map(row)
  .join("");
const second = [
  "5;DAY;09:25:00;R1045;A;0,40;21,8",
  "6;DAY;09:26:00;R1045;A;0,40;21,8",
  "7;DAY;09:27:00;R1047;A;12,40;21,9",
  "8;DAY;09:28:00;R1047;Q;12,40;21,9",
]
  .map(row)
  .join("");
const log =
  `device,run,at,stock,verdict\nB-0042,501,${yesterday} 09:12:00,R1043,sim\nB-0042,502,${yesterday} 09:13:00,R1044,lab\n` +
  `B-0042,503,${yesterday} 09:14:00,R1044,lab\nB-0042,504,${yesterday} 09:16:00,R1046,lab\nB-0042,505,${yesterday} 09:17:00,R1046,lab\n`;
const frame = (n, time, item, code) =>
  `{"device":"C-0007","n":${n},"at":"${yesterday}T${time}+01:00","item":"${item}","result":{"code":${code},"certainty":99.2}}\n`;

export const exportBytes = head + first + second;
// One that measures without knowing the stone.
export const withoutNumber = `device,run,at,stock,verdict\nF-0900,9,${yesterday} 09:30:00,,nat\n`;

export class Shop {
  static async open(girdled) {
    const shop = new Shop();
    shop.girdled = resolve(girdled);
    shop.folder = mkdtempSync(join(tmpdir(), "girdle-console-"));
    shop.port = await freePort();
    shop.url = `http://127.0.0.1:${shop.port}`;
    await shop.openTill();
    await shop.openLine();
    shop.writeFolder();
    await shop.start();
    return shop;
  }

  // Answers what `answer` says of a subject, and remembers what it was told.
  async openTill() {
    this.told = [];
    this.answer = () => 204;
    this.till = createHttpServer((request, response) => {
      const chunks = [];
      request.on("data", (chunk) => chunks.push(chunk));
      request.on("end", () => {
        const event = JSON.parse(Buffer.concat(chunks));
        this.told.push(event);
        response.writeHead(this.answer(event.subject), { "Content-Length": "0" });
        response.end();
      });
    });
    this.tillPort = await portOf(this.till);
  }

  // The instrument on the third counter; here it sits at the end of a network line.
  async openLine() {
    this.lines = new Set();
    this.line = createLineServer((socket) => {
      this.lines.add(socket);
      socket.on("close", () => this.lines.delete(socket));
      socket.on("error", () => {});
    });
    this.linePort = await portOf(this.line);
  }

  writeFolder() {
    cpSync(example, this.folder, { recursive: true });
    for (const name of ["inbox/counter-1", "inbox/counter-2", "inbox/stock", "outbox/inventory", "state", "secrets"]) {
      mkdirSync(join(this.folder, name), { recursive: true });
    }
    writeFileSync(join(this.folder, "secrets/till"), `whsec_${randomBytes(32).toString("base64")}\n`, { mode: 0o600 });
    const uploads =
      "  - name: uploads\n    post: {}\n    reader: delimited\n    mapping: counter-2.mapping.yaml\noutlets:\n";
    this.change("girdled.yaml", [
      [/127\.0\.0\.1:7447/, `127.0.0.1:${this.port}`],
      [/127\.0\.0\.1:7480/, `127.0.0.1:${this.tillPort}`],
      [/retry: \[.*\]/, "retry: [100ms, 100ms, 100ms]"],
      [/serial: \{.*\}/, `tcp: { connect: "127.0.0.1:${this.linePort}", frame: line }`],
      [/^outlets:\n/m, uploads],
    ]);
  }

  // Each pattern must be there: the example changed otherwise, and this file must follow.
  change(name, replacements) {
    const path = join(this.folder, name);
    let text = readFileSync(path, "utf8");
    for (const [pattern, replacement] of replacements) {
      if (!pattern.test(text)) throw new Error(`${name} of the example has nothing like ${pattern}`);
      text = text.replace(pattern, replacement);
    }
    writeFileSync(path, text);
  }

  async start() {
    const path = join(this.folder, "girdled.log");
    this.service = spawn(this.girdled, ["run", "--config", join(this.folder, "girdled.yaml")], {
      stdio: ["ignore", "ignore", openSync(path, "a")],
    });
    this.service.on("exit", (code) => {
      this.ended = code;
    });
    const before = readFileSync(path, "utf8").length;
    await until("girdled is ready", () => {
      const text = readFileSync(path, "utf8").slice(before);
      if (this.service.exitCode !== null) throw new Error(`girdled did not start:\n${text}`);
      return text.includes("ready");
    });
  }

  async stop() {
    if (this.service.exitCode !== null) return;
    this.service.kill("SIGTERM");
    await once(this.service, "exit");
  }

  reload() {
    this.service.kill("SIGHUP");
  }

  tool(...words) {
    return execFileSync(this.girdled, [...words, "--config", join(this.folder, "girdled.yaml")], {
      encoding: "utf8",
      stdio: ["ignore", "pipe", "ignore"],
    });
  }

  token(name, role) {
    return this.tool("token", "add", name, "--role", role).trim().split("\n").at(-1);
  }

  // As exporting software should: written elsewhere, then moved in as a whole.
  drop(name, text) {
    writeFileSync(join(this.folder, "inbox/part"), text);
    renameSync(join(this.folder, "inbox/part"), join(this.folder, "inbox", name));
  }

  async send(...texts) {
    await until("girdled calls the instrument", () => this.lines.size > 0);
    for (const text of texts) for (const socket of this.lines) socket.write(text);
  }

  async post(intake, text, token) {
    const response = await fetch(`${this.url}/api/v1/intakes/${intake}`, {
      method: "POST",
      body: text,
      headers: { Authorization: `Bearer ${token}`, "Content-Type": "text/csv" },
    });
    if (response.status !== 201) throw new Error(`${response.status}: ${await response.text()}`);
  }

  async get(path) {
    return (await fetch(`${this.url}${path}`)).json();
  }

  async heard(subject, disposition) {
    await until(`the till hears ${disposition} of ${subject}`, () =>
      this.told.some((event) => event.subject === subject && event.data.disposition === disposition),
    );
  }

  // A refused stone, one that two instruments judge differently, a garbled line, and a word that nobody knows.
  async playMorning() {
    this.drop("stock/list.csv", stock);
    await until("the stock list is read", async () => (await this.get("/api/v1/declarations")).items.length === 9);
    this.drop("counter-1/export-1.csv", head + first);
    await this.heard("R1043", "repeat");
    appendFileSync(join(this.folder, "inbox/counter-2/log.csv"), log);
    await this.heard("R1043", "refer");
    await this.heard("R1046", "release");
    await this.send(
      frame(71, "09:20:00", "R1048#1", 10),
      frame(72, "09:21:00", "R1048#1", 10),
      frame(72, "09:21:00", "R1048#1", 10),
      '{"device":"C-0007","n":73,"at":"2026-\n',
      frame(74, "09:23:00", "R1048#2", 30),
      frame(75, "09:24:00", "R1048#2", 30),
    );
    await this.heard("R1048#2", "reject");
    this.drop("counter-1/export-2.csv", exportBytes);
    await this.heard("R1045", "release");
    await this.heard("R1047", "refer");
  }

  async close() {
    await this.stop();
    this.till.closeAllConnections();
    this.till.close();
    for (const socket of this.lines) socket.destroy();
    this.line.close();
    rmSync(this.folder, { recursive: true, force: true });
  }
}
