#!/usr/bin/env python3
"""Kills girdled before each of its calls between sending an outcome and noting it, and looks for what is lost or doubled.

    every_point.py --girdled PATH --die-at LIBRARY [--step N]

LIBRARY (die_at.cc) counts the calls that change a file or talk to a peer. A ledger with waiting outcomes is delivered to a
till, to a shelf that wants only the latest of each case, and into two drop folders, one of them in batches; first to the
end, to count the calls, then once for each call (each N-th with --step), killed just before it. After each kill the service
runs again to the end, and the books are compared:

- what the ledger held for sent at the kill, its receiver had accepted, or its folder had whole;
- in the end every outcome was accepted, by the shelf the last of each case and the others are held for skipped; the
  outcomes of a case came in their order, a repeat under its first id and with its first body (Standard Webhooks 1.0.0: the
  id is the same for every attempt), and nothing waits;
- every file is whole, one of a single outcome is there under one name only, and no unfinished one is left.
"""

import argparse
import collections
import csv
import http.server
import json
import os
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading

CONFIG = """\
site: quay-street
ledger: {{ path: state/ledger.db }}
log: {{ level: error }}
intakes:
  - name: counter-1-exports
    folder: {{ path: inbox, match: "*.csv", content: whole }}
    reader: delimited
    mapping: mapping.yaml
outlets:
  - name: till
    webhook: {{ url: "http://127.0.0.1:{port}/hooks", secret_file: secret }}
    retry: [{wait}]
  - name: books
    folder: {{ path: books, name: "{{id}}.csv" }}
    body: {{ csv: {{ id: {{ from: /id }}, item: {{ from: /data/subject/stock_number }}, todo: {{ from: /data/disposition }} }} }}
    retry: [{wait}]
  - name: archive
    folder: {{ path: archive }}
    batch: {{ count: 2 }}
    retry: [{wait}]
  - name: shelf
    webhook: {{ url: "http://127.0.0.1:{port}/items", secret_file: secret }}
    outcomes: latest
    body: {{ json: {{ item: {{ from: /data/subject/stock_number }}, todo: {{ from: /data/disposition }} }} }}
    retry: [{wait}]
"""
MAPPING = """\
record: reading
fields:
  instrument:   { value: A-0117 }
  run:          { from: run }
  measured_at:  { from: at }
  stock_number: { from: item }
  finding:      { from: result, words: { "A": natural, "B": simulant } }
"""
# Two cases, the first with three outcomes: each document is decided before the next one comes.
DOCUMENTS = (
    "run,at,item,result\n1,2026-11-02T10:15:30Z,R1042,A\n2,2026-11-02T10:16:30Z,R1043,B\n",
    "run,at,item,result\n3,2026-11-02T10:17:30Z,R1042,A\n",
    "run,at,item,result\n4,2026-11-02T10:18:30Z,R1042,B\n",
)
OUTCOMES = 4
CASES = 2
SENT, SKIPPED = 1, 3  # as the ledger has them
FOLDERS = ("books", "archive")


class Receiver(http.server.ThreadingHTTPServer):
    """The till and the shelf: accepts everything, and keeps it."""

    PATHS = {"/hooks": "till", "/items": "shelf"}

    def __init__(self):
        super().__init__(("127.0.0.1", 0), ReceiverHandler)
        self.accepted = {name: [] for name in self.PATHS.values()}  # (id, body), in order

    def forget(self):
        for accepted in self.accepted.values():
            accepted.clear()

    def handle_error(self, *_):
        pass  # the other side was killed

    def ids(self, outlet):
        return [identity for identity, _ in self.accepted[outlet]]


class ReceiverHandler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_POST(self):
        body = self.rfile.read(int(self.headers["content-length"]))
        outlet = self.server.PATHS[self.path]
        self.server.accepted[outlet].append((self.headers["webhook-id"], body))
        try:
            self.send_response(204)
            self.end_headers()
        except OSError:
            pass  # killed while it was answered

    def log_message(self, *_):
        pass


class Campaign:
    def __init__(self, options, root):
        self.girdled, self.library, self.root = options.girdled, options.die_at, root
        self.receiver = Receiver()
        threading.Thread(target=self.receiver.serve_forever, daemon=True).start()
        self.start = root / "start"
        self.prepare()

    def prepare(self):
        """A ledger in which everything waits."""
        for folder in ("inbox", "state", *FOLDERS):
            (self.start / folder).mkdir(parents=True)
        (self.start / "secret").write_text("whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE=\n")
        (self.start / "secret").chmod(0o600)
        (self.start / "mapping.yaml").write_text(MAPPING)
        self.configure(self.start, 9, "1h")
        for number, document in enumerate(DOCUMENTS):
            (self.start / "inbox" / f"{number}.csv").write_text(document)
            self.run(self.start)
        for folder in ("inbox", *FOLDERS):
            for path in (self.start / folder).iterdir():
                path.unlink()
        with self.ledger(self.start) as ledger:
            ledger.execute("UPDATE delivery SET state = 0, attempts = 0, due_at = NULL")
            ledger.execute("UPDATE delivery SET due_at = 0 WHERE sequence = 1")
            rows = ledger.execute("SELECT outlet, count(*) FROM delivery GROUP BY outlet").fetchall()
        if [count for _, count in rows] != [OUTCOMES] * 4:
            sys.exit(f"the preparation went wrong: {rows}")

    @staticmethod
    def configure(home, port, wait):
        (home / "girdled.yaml").write_text(CONFIG.format(port=port, wait=wait))

    @staticmethod
    def ledger(home):
        return sqlite3.connect(home / "state/ledger.db")

    def run(self, home, die_at=None):
        environment = dict(os.environ)
        if die_at is not None:
            environment |= {"LD_PRELOAD": str(self.library), "DIE_AT": str(die_at), "DIE_AT_COUNT": str(home / "calls")}
        return subprocess.run([self.girdled, "run", "--once", "--config", home / "girdled.yaml"], env=environment,
                              stderr=subprocess.PIPE, text=True, timeout=60)

    def home(self):
        home = self.root / "home"
        shutil.rmtree(home, ignore_errors=True)
        shutil.copytree(self.start, home)
        self.configure(home, self.receiver.server_address[1], "1s")
        self.receiver.forget()
        return home

    def calls(self):
        home = self.home()
        ran = self.run(home, 0)
        if ran.returncode != 0:
            sys.exit(f"without a kill girdled ended with {ran.returncode}: {ran.stderr}")
        self.compare(home)
        return int((home / "calls").read_text())

    def one(self, die_at):
        home = self.home()
        ran = self.run(home, die_at)
        if ran.returncode != -9:
            return False  # this time it made fewer calls
        self.compare_at_kill(home)
        again = self.run(home)
        if again.returncode != 0:
            raise AssertionError(f"the run after the kill ended with {again.returncode}: {again.stderr}")
        self.compare(home)
        return True

    def held(self, home, state):
        """Ids of what the ledger holds for sent, or for skipped, by outlet."""
        with self.ledger(home) as ledger:
            name = ledger.execute("SELECT value FROM about WHERE name = 'name'").fetchone()[0]
            rows = ledger.execute("SELECT o.name, d.case_number, d.sequence FROM delivery d JOIN outlet o ON o.id = d.outlet "
                                  "WHERE d.state = ?", (state,)).fetchall()
        held = collections.defaultdict(set)
        for outlet, case, sequence in rows:
            held[outlet].add(f"{name}-{case}-{sequence}")
        return held

    @staticmethod
    def files(folder):
        return [path for path in sorted(folder.iterdir()) if not path.name.startswith(".")]

    def books(self, home):
        """Ids by file; complains of files that are not whole."""
        found = {}
        for path in self.files(home / "books"):
            with open(path, newline="") as file:
                rows = list(csv.DictReader(file))
            assert len(rows) == 1 and None not in rows[0].values(), f"{path.name} is not whole: {rows}"
            found[path.name] = rows[0]["id"]
        return found

    def archive(self, home):
        """Pairs of id and line, in the order in which the files became; complains of files that are not whole."""
        found = []
        for path in sorted(self.files(home / "archive"), key=lambda path: path.stat().st_mtime_ns):
            lines = path.read_text().splitlines(keepends=True)
            assert 1 <= len(lines) <= 2 and lines[-1].endswith("\n"), f"{path.name} is not whole: {lines}"
            found += [(json.loads(line)["id"], line) for line in lines]
        return found

    def compare_at_kill(self, home):
        sent = self.held(home, SENT)
        came = {outlet: set(self.receiver.ids(outlet)) for outlet in ("till", "shelf")}
        came |= {"books": set(self.books(home).values()), "archive": {one for one, _ in self.archive(home)}}
        for outlet, ids in came.items():
            assert sent[outlet] <= ids, f"held for sent, and did not come to the {outlet}: {sent[outlet] - ids}"
            if outlet != "shelf":
                self.without_gaps(outlet, ids)

    def compare(self, home):
        sent, skipped = self.held(home, SENT), self.held(home, SKIPPED)
        for outlet in ("till", "books", "archive"):
            assert len(sent[outlet]) == OUTCOMES, f"{outlet}: held for sent: {sent[outlet]}"
        for outlet in ("till", "shelf"):
            ids = self.receiver.ids(outlet)
            assert set(ids) == sent[outlet], f"{outlet}: {ids}, ledger: {sent[outlet]}"
            self.same_bodies(self.receiver.accepted[outlet])
            self.in_order(ids)
        assert len(sent["shelf"]) == CASES and len(skipped["shelf"]) == OUTCOMES - CASES, f"shelf: {sent['shelf']}"
        assert self.lasts(sent["shelf"]) == self.lasts(sent["till"]), f"not the last ones: {sent['shelf']}"
        files = self.books(home)
        assert sorted(files.values()) == sorted(sent["books"]), f"files: {files}"
        lines = self.archive(home)
        assert {one for one, _ in lines} == sent["archive"], f"archive: {lines}"
        self.same_bodies(lines)
        left = [path.name for folder in FOLDERS for path in (home / folder).iterdir() if path.name.startswith(".")]
        assert not left, f"left over: {left}"

    @staticmethod
    def same_bodies(pairs):
        bodies = {}
        for identity, body in pairs:
            assert bodies.setdefault(identity, body) == body, f"{identity} came with two bodies"

    @staticmethod
    def without_gaps(outlet, ids):
        for identity in ids:
            case, sequence = identity.rsplit("-", 1)
            before = f"{case}-{int(sequence) - 1}"
            assert sequence == "1" or before in ids, f"{outlet}: {identity} came before {before}"

    @staticmethod
    def lasts(ids):
        """The last outcome of each case."""
        last = collections.defaultdict(int)
        for identity in ids:
            case, sequence = identity.rsplit("-", 1)
            last[case] = max(last[case], int(sequence))
        return last

    @staticmethod
    def in_order(ids):
        last = collections.defaultdict(int)
        for identity in ids:
            case, sequence = identity.rsplit("-", 1)
            assert int(sequence) >= last[case], f"out of order: {ids}"
            last[case] = int(sequence)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--girdled", required=True, type=os.path.abspath)
    parser.add_argument("--die-at", required=True, type=os.path.abspath)
    parser.add_argument("--step", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="girdle-every-point-") as root:
        campaign = Campaign(options, pathlib.Path(root))
        calls = campaign.calls()
        killed = 0
        for die_at in range(1, calls + 1, options.step):
            try:
                killed += campaign.one(die_at)
            except AssertionError as wrong:
                sys.exit(f"killed before call {die_at} of {calls}: {wrong}")
        print(f"{killed} kills, before each {'' if options.step == 1 else f'{options.step}th '}of {calls} calls: nothing lost, "
              "nothing out of order, every id its own")
        if killed < calls // options.step // 2:
            sys.exit("most runs ended before their kill")


if __name__ == "__main__":
    main()
