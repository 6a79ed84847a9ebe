#!/usr/bin/env python3
"""Kills girdled with SIGKILL at random moments while its till misbehaves, and looks for what is lost.

Sources of what is checked: the promises in the README (nothing acknowledged is lost; each
measurement counts once; every outlet learns the last outcome of every case, in order per case,
under an id that stays the same), the default policy as documented, Standard Webhooks 1.0.0
(id.timestamp.body signed with HMAC-SHA-256) and CloudEvents 1.0.2 (id, subject, sequence).

A killed process keeps what the system has buffered for it: power loss is not tested here.
"""

import argparse
import base64
import collections
import dataclasses
import datetime
import hashlib
import hmac
import http.server
import json
import os
import pathlib
import random
import resource
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time

FINDINGS = {"A": "natural", "B": "simulant", "C": "indeterminate", "-": "void"}
REQUIRED_RUNS = 2  # of the default policy
READY_PATIENCE = 15.0  # seconds
DRAIN_PATIENCE = 60.0  # seconds
SIGNATURE_AGE = 300  # seconds; what Standard Webhooks lets a receiver refuse is common practice
HEAD = "no;device;date;time;item;result;temp\n"
GROWING_HEAD = "run,device,at,item,result,temp\n"

CONFIG = """\
site: quay-street
timezone: Europe/Brussels
ledger: {{ path: state/ledger.db }}
instruments:
  - {{ serial: A-0117, bench: counter-1, cycle: 45s }}
  - {{ serial: A-0122, bench: counter-2, cycle: 45s }}
  - {{ serial: A-0203, bench: counter-3, cycle: 45s }}
intakes:
  - name: counter-1-exports
    folder: {{ path: inbox/counter-1, match: "*.csv", content: whole }}
    reader: delimited
    options: {{ delimiter: ";" }}
    mapping: export.mapping.yaml
  - name: counter-2-exports
    folder: {{ path: inbox/counter-2, match: "*.csv", content: whole, done: move }}
    reader: delimited
    options: {{ delimiter: ";" }}
    mapping: export.mapping.yaml
  - name: counter-3-log
    folder: {{ path: inbox/counter-3, match: "*.csv", content: growing }}
    reader: delimited
    mapping: log.mapping.yaml
outlets:
  - name: till
    webhook: {{ url: "http://127.0.0.1:{port}/hooks", secret_file: secrets/till }}
    retry: [{waits}]
    in_flight: 8
"""

MAPPING = """\
record: reading
fields:
  instrument:    {{ from: device }}
  run:           {{ from: {run} }}
  measured_at:   {{ {at} }}
  stock_number:  {{ from: item }}
  finding:       {{ from: result, words: {{ "A": natural, "B": simulant, "C": indeterminate, "-": void }} }}
  temperature_c: {{ from: temp{decimal} }}
"""


@dataclasses.dataclass(frozen=True)
class Measurement:
    instrument: str
    run: int
    at: datetime.datetime  # UTC
    stock: str
    letter: str
    tenths: int  # of a degree Celsius

    def key(self):
        return self.instrument, str(self.run)

    def as_read(self):
        at = self.at.strftime("%Y-%m-%dT%H:%M:%S.000Z")
        return at, self.stock, FINDINGS[self.letter], self.tenths / 10

    def export_line(self):
        local = self.at + datetime.timedelta(hours=1)  # Brussels in November
        when = local.strftime("%d.%m.%Y;%H:%M:%S")
        temp = f"{self.tenths // 10},{self.tenths % 10}"
        return f"{self.run};{self.instrument};{when};{self.stock};{self.letter};{temp}\n"

    def log_line(self):
        at = self.at.strftime("%Y-%m-%dT%H:%M:%SZ")
        temp = f"{self.tenths // 10}.{self.tenths % 10}"
        return f"{self.run},{self.instrument},{at},{self.stock},{self.letter},{temp}\n"


class Shop:
    """Makes the files of three benches, and keeps the books of what must be known in the end."""

    SERIALS = ("A-0117", "A-0122", "A-0203")

    def __init__(self, root, seed):
        self.root = root
        self.random = random.Random(f"shop {seed}")
        self.expected = {}  # key of a measurement: the measurement
        self.runs = collections.Counter()
        self.letters = {}  # stock number: what its runs mostly say
        self.day = []  # what the export that is written anew each time holds
        self.pending = ""  # the rest of a half-written line
        self.files = 0
        self.repeats = 0  # records that were written although they were written before
        self.log = root / "inbox/counter-3/log.csv"

    def measure(self, serial):
        self.runs[serial] += 1
        run = self.runs[serial]
        if not self.letters or self.random.random() < 0.4:
            stock = f"R{1000 + len(self.letters)}"
            self.letters[stock] = self.random.choices("ABC-", (6, 2, 1, 1))[0]
        else:
            stock = self.random.choice(list(self.letters)[-40:])
        letter = self.letters[stock]
        if self.random.random() < 0.1:
            letter = self.random.choice("ABC-")
        start = datetime.datetime(2026, 11, 2, 8, 0, 0)
        at = start + datetime.timedelta(minutes=run)
        made = Measurement(serial, run, at, stock, letter, self.random.randint(180, 249))
        self.expected[made.key()] = made
        return made

    def some(self, serial, most):
        return [self.measure(serial) for _ in range(self.random.randint(1, most))]

    def old(self, most):
        known = list(self.expected.values())
        count = min(len(known), self.random.randint(0, most))
        self.repeats += count
        return self.random.sample(known, count)

    def step(self):
        """One thing that happens in a shop."""
        acts = (self.batch, self.moved_batch, self.rewritten_export, self.grow, self.large_batch,
                self.rotate)
        self.random.choices(acts, (5, 5, 3, 7, 1, 0.5))[0]()

    def batch(self):
        self.put("counter-1", self.new_name(), self.some("A-0117", 3) + self.old(2))

    def large_batch(self):
        lines = [self.measure("A-0117") for _ in range(40)] + self.old(200)
        self.put("counter-1", self.new_name(), lines)

    def moved_batch(self):
        self.put("counter-2", self.new_name(), self.some("A-0122", 3) + self.old(2))

    def rewritten_export(self):
        self.repeats += len(self.day)
        self.day = self.day[-60:] + self.some("A-0122", 3)
        self.put("counter-2", "day.csv", self.day)

    def new_name(self):
        self.files += 1
        return f"batch-{self.files:05}.csv"

    def put(self, counter, name, measurements):
        text = HEAD + "".join(m.export_line() for m in measurements)
        elsewhere = self.root / "elsewhere" / name
        elsewhere.write_text(text)
        folder = self.root / "inbox" / counter
        try:
            # The day's export is cut to its last lines; over one that was not taken yet it would
            # take records away that nobody has acknowledged.
            (folder / name).rename(folder / ("kept-" + self.new_name()))
        except FileNotFoundError:
            pass  # girdled has taken it, or there was none
        elsewhere.rename(folder / name)

    def grow(self):
        text = self.pending
        self.pending = ""
        lines = self.some("A-0203", 4) + self.old(2)
        text += "".join(m.log_line() for m in lines)
        if self.random.random() < 0.5:
            cut = self.random.randint(1, len(lines[-1].log_line()) - 1)
            text, self.pending = text[:-cut], text[-cut:]
        self.append(text)

    def append(self, text):
        is_new = not self.log.exists()
        with open(self.log, "a") as log:
            log.write(GROWING_HEAD + text if is_new else text)

    def rotate(self):
        if self.pending or not self.log.exists():
            return
        self.log.rename(self.log.with_name(f"log-{self.new_name()}"))

    def finish(self):
        if self.pending:
            self.append(self.pending)
            self.pending = ""

    def drop_taken(self):
        """Deletes the files that girdled moved away: it said that it has them."""
        done = self.root / "inbox/counter-2/done"
        count = 0
        for file in done.glob("*") if done.is_dir() else ():
            file.unlink()
            count += 1
        return count


@dataclasses.dataclass
class Seen:
    id: str
    subject: str
    sequence: int
    case: str
    body: bytes
    accepted: bool  # answered with 2xx, or at least tried to


class Till:
    """A receiver of outcomes that misbehaves by a seeded random until it is told to behave."""

    FATES = ("accept", "unavailable", "close_unread", "close_read", "mute", "slow")
    WEIGHTS = (60, 10, 7, 7, 8, 8)

    def __init__(self, seed, secret):
        self.random = random.Random(f"till {seed}")
        self.key = base64.b64decode(secret.removeprefix("whsec_"))
        self.lock = threading.Lock()
        self.behaves = False
        self.seen = []
        self.fates = collections.Counter()
        self.problems = []
        self.in_hand = 0
        self.asked = threading.Event()  # a request came since it was cleared
        self.server = TillServer(("127.0.0.1", 0), TillHandler)
        self.server.till = self
        self.port = self.server.server_address[1]
        self.thread = threading.Thread(target=self.server.serve_forever, args=(0.05,), daemon=True)
        self.thread.start()

    def close(self):
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()

    def fate(self):
        with self.lock:
            fate = "accept"
            if not self.behaves:
                fate = self.random.choices(self.FATES, self.WEIGHTS)[0]
            self.fates[fate] += 1
            return fate, self.random.uniform(0.005, 0.15)

    def is_signed(self, headers, body):
        stamp = headers.get("webhook-timestamp", "")
        if not stamp.isdigit() or abs(time.time() - int(stamp)) > SIGNATURE_AGE:
            return False
        signed = f"{headers.get('webhook-id', '')}.{stamp}.".encode() + body
        right = base64.b64encode(hmac.new(self.key, signed, hashlib.sha256).digest()).decode()
        given = headers.get("webhook-signature", "").split()
        return any(hmac.compare_digest("v1," + right, one) for one in given)

    def note(self, headers, body, accepted):
        """Keeps a delivery; before the answer goes out, so that what follows it comes later here."""
        if not self.is_signed(headers, body):
            return self.complain(f"a wrong signature on {headers.get('webhook-id')}")
        try:
            event = json.loads(body)
            seen = Seen(event["id"], event["subject"], int(event["sequence"]),
                        event["data"]["case"], body, accepted)
            if headers.get("webhook-id") != seen.id or event["data"]["sequence"] != seen.sequence:
                self.complain(f"{seen.id}: header, event and data do not agree")
        except (ValueError, KeyError, TypeError) as failure:
            return self.complain(f"no event of ours: {failure!r} in {body[:200]!r}")
        with self.lock:
            self.seen.append(seen)

    def complain(self, text):
        with self.lock:
            self.problems.append("till: " + text)


class TillServer(http.server.ThreadingHTTPServer):
    daemon_threads = True
    request_queue_size = 128

    def handle_error(self, request, client_address):
        failure = sys.exc_info()[1]
        if not isinstance(failure, OSError):  # a killed peer is what is tested
            self.till.complain(f"failed itself: {failure!r}")


class TillHandler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    disable_nagle_algorithm = True

    def log_message(self, *_):
        pass

    def do_POST(self):
        till = self.server.till
        with till.lock:
            till.in_hand += 1
        till.asked.set()
        try:
            self.answer(till, *till.fate())
        finally:
            with till.lock:
                till.in_hand -= 1

    def answer(self, till, fate, pause):
        if fate == "close_unread":
            return self.hang_up()
        length = int(self.headers["content-length"])
        body = self.rfile.read(length)
        if len(body) < length:  # its sender was killed
            self.close_connection = True
            return
        if fate == "slow":
            time.sleep(pause)
        till.note(self.headers, body, accepted=fate in ("accept", "slow"))
        if fate in ("close_read", "mute"):
            return self.hang_up()
        self.send_response(503 if fate == "unavailable" else 200)
        self.send_header("content-length", "0")
        self.end_headers()

    def hang_up(self):
        self.close_connection = True
        try:
            self.connection.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass  # the peer was killed first


class Daemon:
    """One life of `girdled run`."""

    def __init__(self, program, config):
        self.process = subprocess.Popen([program, "run", "--config", str(config)],
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                        stderr=subprocess.PIPE)
        self.ready = threading.Event()
        self.ended = threading.Event()
        self.said = collections.deque(maxlen=10)
        self.listener = threading.Thread(target=self.listen, daemon=True)
        self.listener.start()

    def listen(self):
        for line in self.process.stderr:
            self.said.append(line.decode(errors="replace").rstrip())
            if b" ready " in line:
                self.ready.set()
        self.ended.set()
        self.ready.set()  # whoever waits for it need not wait longer

    def kill(self):
        """False when it had ended, or was ending, by itself: a fault's core dump takes its time."""
        self.process.kill()
        self.process.wait()
        self.listener.join()
        self.process.stderr.close()
        return self.process.returncode == -signal.SIGKILL


class Campaign:
    WAYS = ("starting", "ready", "files", "till")
    WEIGHTS = (15, 15, 35, 35)

    def __init__(self, program, root, seed):
        self.program = program
        self.root = root
        self.random = random.Random(f"kills {seed}")
        secret = "whsec_" + base64.b64encode(random.Random(seed).randbytes(32)).decode()
        self.till = Till(seed, secret)
        self.shop = Shop(root, seed)
        self.config = root / "girdled.yaml"
        self.kills = collections.Counter()
        self.problems = []
        self.in_request = 0  # kills while the till had a request in hand
        self.dropped = 0
        self.to_ready = [0.0]  # seconds from each start
        self.round_seconds = 0.0
        self.once = []  # seconds of each `run --once`
        self.furnish(secret)

    def furnish(self, secret):
        for folder in ("inbox/counter-1", "inbox/counter-2", "inbox/counter-3", "elsewhere",
                       "state", "secrets"):
            (self.root / folder).mkdir(parents=True)
        waits = ", ".join(["50ms", "100ms"] + ["200ms"] * 98)
        self.config.write_text(CONFIG.format(port=self.till.port, waits=waits))
        local = 'from: [date, time], form: "%d.%m.%Y %H:%M:%S"'
        (self.root / "export.mapping.yaml").write_text(
            MAPPING.format(run="no", at=local, decimal=', decimal: ","'))
        (self.root / "log.mapping.yaml").write_text(
            MAPPING.format(run="run", at="from: at, form: rfc3339", decimal=""))
        secret_file = self.root / "secrets/till"
        secret_file.touch(mode=0o600)
        secret_file.write_text(secret + "\n")

    def round(self):
        way = self.random.choices(self.WAYS, self.WEIGHTS)[0]
        for _ in range(self.random.randint(0, 2)):
            self.shop.step()
        daemon = Daemon(self.program, self.config)
        try:
            self.wait(way, daemon)
        finally:
            was_ready = daemon.ready.is_set() and not daemon.ended.is_set()
            in_hand = self.till.in_hand
            lived = daemon.kill()
        self.dropped += self.shop.drop_taken()
        if not lived:
            self.problems.append(f"round {self.kills.total()}: girdled ended by itself with "
                                 f"{daemon.process.returncode}: {list(daemon.said)}")
        self.kills["after ready" if was_ready else "before ready"] += 1
        self.in_request += in_hand > 0

    def wait(self, way, daemon):
        if way == "starting":
            time.sleep(self.random.uniform(0.005, 0.15))
            return
        begun = time.monotonic()
        is_ready = daemon.ready.wait(READY_PATIENCE)
        self.to_ready.append(time.monotonic() - begun)
        if not is_ready:
            self.problems.append(f"not ready after {READY_PATIENCE} s: {list(daemon.said)}")
            return
        if way == "ready":
            time.sleep(self.random.uniform(0, 0.1))
            return
        self.till.asked.clear()
        for _ in range(self.random.randint(1, 4)):
            self.shop.step()
            time.sleep(self.random.uniform(0, 0.02))
        if way == "till":
            self.till.asked.wait(0.5)
        time.sleep(self.random.uniform(0, 0.04))

    def ask(self, verb, *more):
        done = subprocess.run([self.program, verb, "--config", str(self.config), "--json",
                               "--limit", "1000000", *more], capture_output=True, timeout=60)
        if done.returncode != 0:
            raise RuntimeError(f"girdled {verb} ended with {done.returncode}: "
                               f"{done.stderr.decode(errors='replace').strip()}")
        return [json.loads(line) for line in done.stdout.splitlines()]

    def drain(self):
        """Lets the till behave and girdled end its work."""
        self.till.behaves = True
        self.shop.finish()
        end = time.monotonic() + DRAIN_PATIENCE
        while True:
            begun = time.monotonic()
            once = subprocess.run([self.program, "run", "--once", "--config", str(self.config)],
                                  capture_output=True, timeout=DRAIN_PATIENCE)
            self.once.append(time.monotonic() - begun)
            if once.returncode not in (0, 1):
                self.problems.append(f"`run --once` ended with {once.returncode}: "
                                     f"{once.stderr.decode(errors='replace').strip()}")
            waiting = self.ask("deliveries", "--state", "waiting")
            if once.returncode == 0 and not waiting:
                return
            if time.monotonic() > end:
                said = once.stderr.decode(errors="replace").strip()
                self.problems.append(f"after {DRAIN_PATIENCE:.0f} s of a till that behaves "
                                     f"`run --once` ends with {once.returncode} and "
                                     f"{len(waiting)} deliveries wait: {said}")
                return
            time.sleep(0.1)


def expected_decision(measurements):
    """The default policy, as documented, for a case without declaration, scope or ambient limits."""
    findings = [FINDINGS[m.letter] for m in measurements]
    valid = [f for f in findings if f != "void"]
    voids = len(findings) - len(valid)
    if not valid:
        reason = ("repeat", "no_valid_measurement") if voids < 3 else ("hold", "cannot_be_measured")
    elif len(set(valid)) > 1:
        reason = ("refer", "findings_differ")
    elif len(valid) < REQUIRED_RUNS:
        reason = ("repeat", "more_readings_needed")
    else:
        reason = {"natural": ("hold", "scope_unknown"), "simulant": ("reject", "simulant"),
                  "indeterminate": ("refer", "instrument_cannot_tell")}[valid[0]]
    return (len(valid), voids, *reason)


def check_readings(expected, readings):
    known = collections.defaultdict(list)
    for r in readings:
        value = (r["measured_at"], r["stock_number"], r["finding"], float(r["temperature_c"]))
        known[r["instrument"], r["run"]].append(value)
    for key, measurement in expected.items():
        found = known.pop(key, [])
        if found != [measurement.as_read()]:
            yield f"reading {key}: {len(found)} times, as {found}; expected once {measurement.as_read()}"
    for key, found in known.items():
        yield f"reading {key}: nobody measured it: {found}"


def check_cases(expected, cases):
    by_stock = collections.defaultdict(list)
    for measurement in expected.values():
        by_stock[measurement.stock].append(measurement)
    known = collections.defaultdict(list)
    for case in cases:
        known[case["subject"]["stock_number"]].append(case)
    for stock in by_stock.keys() | known.keys():
        found = [(c["readings"]["valid"], c["readings"]["void"], c["disposition"],
                  c["reasons"][0]["code"]) for c in known[stock]]
        right = expected_decision(by_stock[stock]) if stock in by_stock else None
        if found != [right]:
            yield f"case of {stock}: {found}, expected {right}"


def check_sequence_of(seen):
    """An outcome may come again, but first comes when all before it were accepted."""
    first = {}
    accepted = collections.defaultdict(set)
    for one in seen:
        same = first.setdefault(one.id, one)
        if same is one and one.sequence != 1 and one.sequence - 1 not in accepted[one.case]:
            yield f"{one.id}: came before {one.sequence - 1} of its case was accepted"
        if (same.subject, same.sequence, same.case, same.body) != (one.subject, one.sequence,
                                                                   one.case, one.body):
            yield f"{one.id}: told in two ways: {same.body!r} and {one.body!r}"
        if one.accepted:
            accepted[one.case].add(one.sequence)
    ids = collections.Counter((one.case, one.sequence) for one in first.values())
    for (case, sequence), count in ids.items():
        if count > 1:
            yield f"outcome {sequence} of case {case} went out under {count} ids"


def check_deliveries(cases, deliveries, seen):
    accepted = {one.id for one in seen if one.accepted}
    for delivery in deliveries:
        if delivery["state"] != "sent":
            yield f"delivery {delivery['id']} is {delivery['state']}: {delivery['note']}"
        elif delivery["id"] not in accepted:
            yield f"delivery {delivery['id']} is held for sent, and the till did not accept it"
    ids = collections.Counter(d["id"] for d in deliveries)
    for one_id, count in ids.items():
        if count > 1:
            yield f"delivery {one_id} is listed {count} times"
    for one_id in {one.id for one in seen} - ids.keys():
        yield f"delivery {one_id} was told to the till, and the ledger does not know it"
    told = {(one.case, one.sequence): one for one in seen if one.accepted}
    for case in cases:
        one = told.get((case["case"], case["sequence"]))
        if one is None:
            yield f"the last outcome {case['sequence']} of {case['case']} never reached the till"
        elif json.loads(one.body)["data"] != case:
            yield f"the last outcome of {case['case']} is {case}, the till was told {one.body!r}"


def check_ledger(path):
    ledger = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        said = ledger.execute("PRAGMA integrity_check").fetchall()
        if said != [("ok",)]:
            yield f"the ledger's file is damaged: {said[:5]}"
    finally:
        ledger.close()


def sabotage(what, campaign, cases, random_source):
    """Breaks this script's own books, so that the checks have something to find."""
    if what == "reading":
        del campaign.shop.expected[random_source.choice(sorted(campaign.shop.expected))]
    elif what == "delivery":
        case = random_source.choice(cases)
        last = (case["case"], case["sequence"])
        campaign.till.seen = [s for s in campaign.till.seen if (s.case, s.sequence) != last]


def run_rounds(campaign, rounds, seconds_max):
    begun = time.monotonic()
    end = begun + seconds_max
    for done in range(rounds):
        if time.monotonic() > end:
            campaign.problems.append(f"only {done} of {rounds} rounds in {seconds_max} s")
            return
        campaign.round()
        campaign.round_seconds = time.monotonic() - begun
    if campaign.kills["before ready"] * 2 > rounds:
        campaign.problems.append("most kills came before ready: this hit too little to prove much")


def judge(campaign, options):
    before = len(campaign.ask("readings"))
    waiting = len(campaign.ask("deliveries", "--state", "waiting"))
    campaign.drain()
    readings, cases, deliveries = (campaign.ask(v) for v in ("readings", "cases", "deliveries"))
    aside = campaign.ask("aside")
    if options.sabotage:
        sabotage(options.sabotage, campaign, cases, random.Random(options.seed))
    till, shop = campaign.till, campaign.shop
    with till.lock:
        seen = list(till.seen)
    problems = [f"set aside: {one}" for one in aside]
    problems += check_readings(shop.expected, readings)
    problems += check_cases(shop.expected, cases)
    problems += check_sequence_of(seen)
    problems += check_deliveries(cases, deliveries, seen)
    problems += check_ledger(campaign.root / "state/ledger.db")
    kills = campaign.kills
    print(f"kills before ready {kills['before ready']}, with a request at the till "
          f"{campaign.in_request}; before the drain {before} readings were in, {waiting} "
          f"deliveries waited; {campaign.dropped} taken files deleted; {shop.repeats} records "
          f"written again; till: " + ", ".join(f"{k} {v}" for k, v in sorted(till.fates.items())))
    print(f"seconds: rounds {campaign.round_seconds:.1f}, slowest start {max(campaign.to_ready):.2f}, "
          f"runs with --once " + " ".join(f"{one:.2f}" for one in campaign.once))
    print(f"kills {kills.total()}, readings {len(readings)}, outcomes {len(deliveries)}, "
          f"deliveries {len(seen)}, repeats {len(seen) - len({one.id for one in seen})}")
    return campaign.problems + till.problems + problems


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--girdled", required=True, help="the program")
    parser.add_argument("--rounds", type=int, default=100)
    parser.add_argument("--seed", type=int, default=None, help="left out: another each time")
    parser.add_argument("--seconds-max", type=float, default=120,
                        help="no round begins later; fewer rounds than asked for fail")
    parser.add_argument("--sabotage", choices=("reading", "delivery"),
                        help="spoils the script's own books: it must then exit 1")
    parser.add_argument("--keep", action="store_true", help="leaves its folder, and says where")
    options = parser.parse_args()
    if options.seed is None:
        options.seed = random.SystemRandom().randrange(1_000_000)
    print(f"seed {options.seed}", flush=True)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))  # a fault is told; its dump would cost seconds
    root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-kill-"))
    campaign = Campaign(os.path.abspath(options.girdled), root, options.seed)
    try:
        run_rounds(campaign, options.rounds, options.seconds_max)
        problems = judge(campaign, options)
    except (RuntimeError, subprocess.TimeoutExpired, OSError, sqlite3.Error) as failure:
        problems = campaign.problems + campaign.till.problems + [str(failure)]
    finally:
        campaign.till.close()
        if options.keep:
            print(f"kept: {root}")
        else:
            shutil.rmtree(root, ignore_errors=True)
    for problem in problems[:40]:
        print(f"differs: {problem}")
    if len(problems) > 40:
        print(f"differs: and {len(problems) - 40} more")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
