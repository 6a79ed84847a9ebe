#!/usr/bin/env python3
"""Kills girdled at random moments while all that it tells misbehave; looks for what is lost.

What is checked, and its sources: books.py. The receivers besides take Standard Webhooks 1.0.0
(id.timestamp.body signed with HMAC-SHA-256) and CloudEvents 1.0.2 (id, subject, sequence) at
their word.

A killed process keeps what the system has buffered for it: power loss is not tested here.
"""

import argparse
import base64
import collections
import ctypes
import json
import os
import pathlib
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time

sys.dont_write_bytecode = True  # nothing is left beside the sources

import books as bookkeeping
from importers import Archive, Books
from receivers import Shelf, Till
from shop import Shop

READY_PATIENCE = 15.0  # seconds
DRAIN_PATIENCE = 60.0  # seconds, and
DRAINED = 20  # deliveries a second at least; a folder takes one file after another

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
    webhook: {{ url: "http://127.0.0.1:{till}/hooks", secret_file: secrets/till }}
    retry: [{waits}]
    in_flight: 8
  - name: books
    folder: {{ path: drop/books, name: "{{stock_number}}-{{id}}.csv" }}
    body:
      csv:
        id: {{ from: /id }}
        case: {{ from: /data/case }}
        number: {{ from: /data/sequence }}
        item: {{ from: /data/subject/stock_number }}
        todo: {{ from: /data/disposition, words: {todo} }}
        decided: {{ from: /data/decided_at }}
      delimiter: ";"
    retry: [{waits}]
  - name: archive
    folder: {{ path: drop/archive }}
    batch: {{ count: {most}, wait: 60ms }}
    retry: [{waits}]
  - name: shelf
    webhook:
      url: "http://127.0.0.1:{shelf}/items"
      method: PUT
      path: [{{ from: /data/subject/stock_number }}]
      secret_file: secrets/shelf
      reference: /revision
      timeout: 500ms
    outcomes: latest
    body:
      json:
        shop: quay-street
        id: {{ from: /id }}
        case: {{ from: /data/case }}
        number: {{ from: /data/sequence }}
        item: {{ from: /data/subject/stock_number }}
        sellable:
          from: /data/disposition
          as: flag
          words: {{ release: true }}
          default: false
        checked: {{ at: {{ from: /data/decided_at }}, runs: {{ from: /data/readings/valid }} }}
    retry: [{waits}]
    in_flight: 4
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


class Daemon:
    """One life of `girdled run`."""

    FAULTS = (b" error ", b"Sanitizer", b"runtime error:")  # the last two of instrumented builds
    # A receiver that says 410 closes its outlet; that is told as an error, and all others are ours.
    EXPECTED = b"outlet is closed until a person opens it"

    def __init__(self, program, config):
        self.process = subprocess.Popen([program, "run", "--config", str(config)],
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                        stderr=subprocess.PIPE)
        self.ready = threading.Event()
        self.ended = threading.Event()
        self.said = collections.deque(maxlen=10)
        self.errors = []
        self.reloads = 0
        self.listener = threading.Thread(target=self.listen, daemon=True)
        self.listener.start()

    def listen(self):
        for line in self.process.stderr:
            self.said.append(line.decode(errors="replace").rstrip())
            if b" ready " in line:
                self.ready.set()
            self.reloads += b"configuration read anew" in line
            if any(fault in line for fault in self.FAULTS) and self.EXPECTED not in line:
                self.errors.append(self.said[-1])
        self.ended.set()
        self.ready.set()  # whoever waits for it need not wait longer

    def kill(self):
        """False when it had ended, or was ending, by itself: a fault's core dump takes its time."""
        self.process.kill()
        self.process.wait()
        self.listener.join()
        self.process.stderr.close()
        return self.process.returncode == -signal.SIGKILL


class Person:
    """Pauses outlets, opens them, has things sent again, has the configuration read anew."""

    DEEDS = ("pause", "resume", "resend_parked", "resend_since", "resend_case")
    WEIGHTS = (3, 5, 1, 1, 1)

    def __init__(self, program, config, outlets, shop, seed):
        self.program, self.config, self.outlets, self.shop = program, config, outlets, shop
        self.random = random.Random(f"person {seed}")
        self.deeds = collections.Counter()
        self.paused = {}  # outlet: what had come when it surely was; None = not looked yet
        self.stopped = []  # as Books have it
        self.problems = []
        self.call = None  # (deed, outlet, words, process)

    def act(self, daemon):
        if self.random.random() < 0.4:
            self.deeds["reload"] += 1
            daemon.process.send_signal(signal.SIGHUP)
        if self.random.random() < 0.8:
            self.ask_for(self.random.choices(self.DEEDS, self.WEIGHTS)[0])

    def ask_for(self, deed):
        outlet = self.random.choice(list(self.paused or self.outlets) if deed == "resume"
                                    else list(self.outlets))
        if deed == "resume":
            self.close_book(outlet)
        words = self.words(deed, outlet)
        self.call = deed, outlet, words, subprocess.Popen(
            [self.program, *words, "--config", str(self.config)],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)

    def words(self, deed, outlet):
        if deed == "pause":
            return "outlet", "pause", outlet, "--why", "the receiver is being moved"
        if deed == "resume":
            return "outlet", "resume", outlet
        what = {"resend_parked": ("--parked",), "resend_since": ("--since", "20s"),
                "resend_case": ("--case", self.random.choice(list(self.shop.letters) or ["R1"]))}
        return "resend", "--outlet", outlet, *what[deed]

    def finish(self):
        """Waits for what was asked for; after the service was killed it may be done without it."""
        if self.call is None:
            return
        deed, outlet, words, process = self.call
        self.call = None
        said = process.communicate(timeout=60)[1].decode(errors="replace").strip()
        self.deeds[deed if process.returncode == 0 else deed + " in vain"] += 1
        if process.returncode not in (0, 1, 3):
            self.problems.append(f"`girdled {' '.join(words)}` ended with {process.returncode}: "
                                 f"{said}")
        if deed == "pause" and process.returncode == 0:
            self.paused.setdefault(outlet, None)

    def look(self):
        """Between two lives of the service: what was under way at a pause has ended."""
        for outlet, came in self.paused.items():
            if came is None:
                self.paused[outlet] = self.outlets[outlet].came()

    def close_book(self, outlet):
        came = self.paused.pop(outlet, None)
        if came is not None:
            self.stopped.append((outlet, came, self.outlets[outlet].came()))

    def close_all_books(self):
        for outlet in list(self.paused):
            self.close_book(outlet)


class Campaign:
    WAYS = ("starting", "ready", "files", "till")
    WEIGHTS = (15, 15, 35, 35)

    def __init__(self, program, root, seed):
        self.program = program
        self.root = root
        self.random = random.Random(f"kills {seed}")
        self.config = root / "girdled.yaml"
        self.kills = collections.Counter()
        self.problems = []
        self.in_request = 0  # kills while a receiver had a request in hand
        self.reloads = 0
        self.dropped = 0
        self.to_ready = [0.0]  # seconds from each start
        self.round_seconds = 0.0
        self.once = []  # seconds of each `run --once`
        self.make_folders()
        self.shop = Shop(root, seed)
        self.till = Till("till", seed, self.secret("till", seed))
        self.shelf = Shelf("shelf", seed, self.secret("shelf", seed))
        self.outlets = {"till": self.till, "books": Books("books", root / "drop/books", seed),
                        "archive": Archive("archive", root / "drop/archive", seed),
                        "shelf": self.shelf}
        self.person = Person(program, self.config, self.outlets, self.shop, seed)
        self.configure()

    def make_folders(self):
        for folder in ("inbox/counter-1", "inbox/counter-2", "inbox/counter-3", "elsewhere",
                       "state", "secrets", "drop/books", "drop/archive"):
            (self.root / folder).mkdir(parents=True)

    def secret(self, name, seed):
        bytes_ = random.Random(f"{name} {seed}").randbytes(32)
        secret = "whsec_" + base64.b64encode(bytes_).decode()
        file = self.root / "secrets" / name
        file.touch(mode=0o600)
        file.write_text(secret + "\n")
        return secret

    def configure(self):
        waits = ", ".join(["50ms", "100ms"] + ["200ms"] * 98)
        self.config.write_text(CONFIG.format(
            till=self.till.port, shelf=self.shelf.port, waits=waits, most=Archive.MOST,
            todo=json.dumps(bookkeeping.TODO)))
        local = 'from: [date, time], form: "%d.%m.%Y %H:%M:%S"'
        (self.root / "export.mapping.yaml").write_text(
            MAPPING.format(run="no", at=local, decimal=', decimal: ","'))
        (self.root / "log.mapping.yaml").write_text(
            MAPPING.format(run="run", at="from: at, form: rfc3339", decimal=""))

    def close(self):
        for outlet in self.outlets.values():
            outlet.close()

    def round(self):
        way = self.random.choices(self.WAYS, self.WEIGHTS)[0]
        for _ in range(self.random.randint(0, 2)):
            self.shop.step()
        daemon = Daemon(self.program, self.config)
        try:
            self.wait(way, daemon)
        finally:
            was_ready = daemon.ready.is_set() and not daemon.ended.is_set()
            in_hand = self.till.hands + self.shelf.hands
            lived = daemon.kill()
        self.person.finish()
        for outlet in self.outlets.values():
            outlet.settle()
        self.person.look()
        self.dropped += self.shop.drop_taken()
        self.reloads += daemon.reloads
        if not lived:
            self.problems.append(f"round {self.kills.total()}: girdled ended by itself with "
                                 f"{daemon.process.returncode}: {list(daemon.said)}")
        self.problems += [f"round {self.kills.total()}: {error}" for error in daemon.errors]
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
        if self.random.random() < 0.4 and not daemon.ended.is_set():
            self.person.act(daemon)
            time.sleep(self.random.uniform(0, 0.15))
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

    def call(self, *words):
        done = subprocess.run([self.program, *words, "--config", str(self.config)],
                              capture_output=True, timeout=60)
        if done.returncode != 0:
            raise RuntimeError(f"`girdled {' '.join(words)}` ended with {done.returncode}: "
                               f"{done.stderr.decode(errors='replace').strip()}")
        return [json.loads(line) for line in done.stdout.splitlines() if line.startswith(b"{")]

    def ask(self, verb, *more):
        return self.call(verb, "--json", "--limit", "1000000", *more)

    def drain(self):
        """Lets everybody behave, has what was given up sent again, lets girdled end its work."""
        self.person.close_all_books()
        for name, outlet in self.outlets.items():
            outlet.behave()
            self.call("outlet", "resume", name)
        self.shop.finish()
        self.call("resend", "--parked")
        self.call("resend", "--since", "1d", "--outlet", "shelf")  # nobody waits for an hour
        self.run_to_the_end()
        for name in ("books", "archive"):  # what a kill left unfinished goes with the next file
            last = self.ask("deliveries", "--outlet", name)[:1]
            if last:
                self.call("resend", "--delivery", str(last[0]["delivery"]))
        self.run_to_the_end()
        again = self.call("resend", "--parked", "--json")
        if [one["again"] for one in again] != [0]:
            self.problems.append(f"parked in spite of receivers that behave: {again}")
        self.outlets["books"].end()
        self.outlets["archive"].end()

    def run_to_the_end(self):
        waiting = self.ask("deliveries", "--state", "waiting")
        patience = DRAIN_PATIENCE + len(waiting) / DRAINED
        end = time.monotonic() + patience
        while True:
            begun = time.monotonic()
            once = subprocess.run([self.program, "run", "--once", "--config", str(self.config)],
                                  capture_output=True, timeout=patience)
            self.once.append(time.monotonic() - begun)
            if once.returncode not in (0, 1):
                self.problems.append(f"`run --once` ended with {once.returncode}: "
                                     f"{once.stderr.decode(errors='replace').strip()}")
            waiting = self.ask("deliveries", "--state", "waiting")
            if once.returncode == 0 and not waiting:
                return
            if time.monotonic() > end:
                said = once.stderr.decode(errors="replace").strip()
                self.problems.append(f"after {patience:.0f} s of receivers that behave "
                                     f"`run --once` ends with {once.returncode} and "
                                     f"{len(waiting)} deliveries wait: {said}")
                return
            time.sleep(0.1)


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
    seen = {name: list(outlet.seen) for name, outlet in campaign.outlets.items()}
    books = bookkeeping.Books(campaign.shop.expected, readings, cases, deliveries, seen, {"shelf"},
                              campaign.person.stopped)
    if options.sabotage:
        books = bookkeeping.sabotaged(books, options.sabotage, options.seed)
    problems = [f"set aside: {one}" for one in campaign.ask("aside")]
    problems += bookkeeping.check(books)
    problems += bookkeeping.check_ledger(campaign.root / "state/ledger.db")
    tell(campaign, books, before, waiting)
    if not problems:
        problems += spoil(books, options.seed)
    parties = [campaign, campaign.person, *campaign.outlets.values()]
    return [problem for party in parties for problem in party.problems] + problems


def spoil(books, seed):
    noticed = dict(bookkeeping.tried(books, seed))
    print(f"spoilt in {len(noticed)} of {len(bookkeeping.SABOTAGES)} ways, noticed "
          f"{sum(noticed.values())} times")
    return [f"the sabotage {name} goes unnoticed: the check proves nothing"
            for name, is_noticed in noticed.items() if not is_noticed]


def counted(counter):
    return ", ".join(f"{name} {count}" for name, count in sorted(counter.items()))


def tell(campaign, books, before, waiting):
    kills, outlets = campaign.kills, campaign.outlets
    print(f"kills before ready {kills['before ready']}, with a request in hand "
          f"{campaign.in_request}; before the drain {before} readings were in, {waiting} "
          f"deliveries waited; {campaign.dropped} taken files deleted; {campaign.shop.repeats} "
          "records written again")
    for name in ("till", "shelf"):
        print(f"{name}: {counted(outlets[name].fates)}")
    for name in ("books", "archive"):
        print(f"{name}: {counted(outlets[name].deeds)}; {len(outlets[name].occupied)} names "
              f"occupied, {outlets[name].taken} files taken")
    print(f"person: {counted(campaign.person.deeds)}; {campaign.reloads} reloads ended, "
          f"{len(books.stopped)} pauses watched")
    print(f"seconds: rounds {campaign.round_seconds:.1f}, "
          f"slowest start {max(campaign.to_ready):.2f}, "
          f"runs with --once " + " ".join(f"{one:.2f}" for one in campaign.once))
    for name, seen in books.seen.items():
        states = collections.Counter(one["state"] for one in books.deliveries
                                     if one["outlet"] == name)
        print(f"{name}: {counted(states)}; came {len(seen)}, "
              f"repeats {len(seen) - len({one.id for one in seen})}")
    print(f"kills {kills.total()}, readings {len(books.readings)}, cases {len(books.cases)}, "
          f"deliveries {len(books.deliveries)}")


def give_up_rights():
    """Root writes into read-only folders; the girdled that it starts here must not."""
    capbset_drop, dac_override, dac_read_search = 24, 1, 2  # linux/prctl.h, linux/capability.h
    for right in (dac_override, dac_read_search):
        ctypes.CDLL(None).prctl(capbset_drop, right, 0, 0, 0)


def parse():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--girdled", required=True, help="the program")
    parser.add_argument("--rounds", type=int, default=100)
    parser.add_argument("--seed", type=int, default=None, help="left out: another each time")
    parser.add_argument("--seconds-max", type=float, default=120,
                        help="no round begins later; fewer rounds than asked for fail")
    parser.add_argument("--sabotage", choices=bookkeeping.SABOTAGES,
                        help="spoils the script's own books: it must then exit 1")
    parser.add_argument("--keep", action="store_true", help="leaves its folder, and says where")
    options = parser.parse_args()
    if options.seed is None:
        options.seed = random.SystemRandom().randrange(1_000_000)
    return options


def main():
    options = parse()
    print(f"seed {options.seed}", flush=True)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))  # a fault is told; its dump would cost seconds
    give_up_rights()
    root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-kill-"))
    campaign = Campaign(os.path.abspath(options.girdled), root, options.seed)
    try:
        run_rounds(campaign, options.rounds, options.seconds_max)
        problems = judge(campaign, options)
    except (RuntimeError, subprocess.TimeoutExpired, OSError, sqlite3.Error) as failure:
        problems = campaign.problems + campaign.person.problems + [str(failure)]
    finally:
        campaign.close()
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
