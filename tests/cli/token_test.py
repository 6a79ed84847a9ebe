"""girdled token, as people call it: beside a service at work, and where none runs. And what persons said, in girdled case
and girdled aside.

    python3 token_test.py GIRDLED
"""
import base64
import hashlib
import json
import os
import pathlib
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import unittest

GIRDLED = os.path.abspath(sys.argv.pop(1))

CONFIG = """site: quay-street
timezone: Europe/Brussels
ledger: { path: state/ledger.db }
instruments:
  - serial: A-0117
    bench: counter-1
intakes:
  - name: exports
    folder: { path: inbox, match: "*.csv", content: whole, settle: 100ms }
    reader: delimited
    mapping: exports.mapping.yaml
"""
MAPPING = """record: reading
fields:
  instrument:   { value: A-0117 }
  run:          { from: no }
  measured_at:  { from: at, form: "%Y-%m-%d %H:%M" }
  stock_number: { from: item }
  finding:      { from: result, words: { A: natural, B: simulant } }
"""


class Shop(unittest.TestCase):
    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-token-"))
        for folder in ("inbox", "state"):
            (self.root / folder).mkdir()
        (self.root / "girdled.yaml").write_text(CONFIG)
        (self.root / "exports.mapping.yaml").write_text(MAPPING)
        self.ledger = self.root / "state" / "ledger.db"
        self.service = None
        self.log = []

    def tearDown(self):
        if self.service:
            self.service.kill()
            self.service.communicate()
        shutil.rmtree(self.root, ignore_errors=True)

    def call(self, *arguments):
        command = [GIRDLED, *map(str, arguments), "--config", str(self.root / "girdled.yaml")]
        done = subprocess.run(command, capture_output=True, text=True, timeout=90)
        return done.returncode, done.stdout, done.stderr

    def done(self, *arguments):
        code, out, err = self.call(*arguments)
        self.assertEqual(code, 0, (arguments, out, err))
        return out

    def refused(self, code, *arguments):
        got, out, err = self.call(*arguments)
        self.assertEqual(got, code, (arguments, out, err))
        return err

    def lines(self, *arguments):
        return [json.loads(line) for line in self.done(*arguments, "--json").splitlines()]

    def start(self):
        self.service = subprocess.Popen([GIRDLED, "run", "--config", str(self.root / "girdled.yaml")],
                                        stderr=subprocess.PIPE, text=True)
        for line in self.service.stderr:
            self.log.append(line)
            if " ready " in line:
                return threading.Thread(target=lambda: self.log.extend(self.service.stderr), daemon=True).start()
        self.fail(f"girdled ended with {self.service.wait()}: {self.log}")

    def stop(self):
        self.service.send_signal(signal.SIGTERM)
        self.assertEqual(self.service.wait(timeout=20), 0)


class AToken(Shop):
    def test_is_printed_once_and_kept_as_its_digest_alone(self):
        self.start()
        code, out, err = self.call("token", "add", "counter-1", "--role", "work")
        self.assertEqual(code, 0, err)
        token = out.rstrip("\n")
        # RFC 4648 section 5: 32 bytes are 43 characters without padding.
        self.assertRegex(out, r"\Agt_[A-Za-z0-9_-]{43}\n\Z")
        self.assertEqual(len(base64.urlsafe_b64decode(token[3:] + "=")), 32)
        self.assertNotIn(token, err)
        self.assertIn("counter-1 may work", err)
        self.stop()
        with sqlite3.connect(self.ledger) as rows:
            digest, role = rows.execute("SELECT digest, role FROM token").fetchone()
        self.assertEqual(digest, hashlib.sha256(token.encode()).digest())
        self.assertEqual(role, 1)
        for path in self.root.rglob("*"):
            if path.is_file():
                self.assertNotIn(token[3:].encode(), path.read_bytes(), path)
        self.assertNotIn(token[3:], "".join(self.log))

    def test_is_listed_and_revoked_while_no_service_runs(self):
        first = self.done("token", "add", "counter-1", "--role", "look")
        second = self.done("token", "add", "office", "--role", "admin")
        self.assertNotEqual(first, second)
        self.assertEqual(self.done("token", "revoke", "counter-1"), "the token counter-1 lets nobody in any more\n")
        listed = self.lines("token", "list")
        self.assertEqual([(t["token"], t["role"], t["revoked_at"] is None) for t in listed],
                         [("counter-1", "look", False), ("office", "admin", True)])
        self.assertEqual(set(listed[0]), {"token", "role", "made_at", "revoked_at"})
        text = self.done("token", "list")
        self.assertRegex(text, r"counter-1\s+look\s+20.*revoked")
        self.assertRegex(text, r"office\s+admin\s+20.*holds")

    def test_is_revoked_while_the_service_runs(self):
        self.start()
        self.done("token", "add", "counter-1", "--role", "look")
        self.done("token", "revoke", "counter-1")
        self.done("token", "add", "counter-1", "--role", "look")
        self.assertEqual(len(self.lines("token", "list")), 2)

    def test_that_cannot_be_is_refused(self):
        self.done("token", "add", "counter-1", "--role", "look")
        self.assertIn('there is a token "counter-1" already', self.refused(1, "token", "add", "counter-1", "--role", "admin"))
        self.assertIn("1 to 60 visible characters", self.refused(1, "token", "add", "two words", "--role", "look"))
        self.assertIn("there is counter-1", self.refused(1, "token", "revoke", "counter"))
        self.refused(2, "token", "add", "x", "--role", "root")
        self.refused(2, "token", "add", "x")
        self.refused(2, "token")
        self.assertEqual(len(self.lines("token", "list")), 1)

    def test_is_not_printed_where_it_was_not_kept(self):
        (self.root / "state").rename(self.root / "elsewhere")
        code, out, _ = self.call("token", "add", "counter-1", "--role", "look")
        self.assertEqual((code, out), (3, ""))


class WhatPersonsSaid(Shop):
    def setUp(self):
        super().setUp()
        (self.root / "inbox" / "a.csv").write_text(
            "no,at,item,result\n1,2026-11-02 10:01,R1042,A\n2,2026-11-02 10:02,R1042,B\n3,2026-11-02 10:03,,A\n"
            "4,2026-11-02 10:04,R7,X\n")
        self.call("run", "--once")  # 1: something is set aside

    def change(self, *statements):
        """As the service writes it when the API asks."""
        rows = sqlite3.connect(self.ledger)
        for statement in statements:
            rows.execute(statement)
        rows.commit()
        rows.close()

    def test_stands_in_the_case(self):
        self.change(
            "CREATE TEMP TABLE o AS SELECT * FROM outcome",
            "UPDATE o SET sequence = 2, disposition = 1, previous = 3, rule = 0, reason = 'decided_by_hand'",
            "INSERT INTO outcome SELECT * FROM o",
            "INSERT INTO hand SELECT case_number, 2, 'Kim', 'seen under the microscope', 'counter-1', decided_at FROM o",
            "UPDATE cases SET sequence = 2",
            "INSERT INTO binding SELECT NULL, id, 'R1042', NULL, 'Ann', 'the label', NULL, 0 FROM reading WHERE subject IS NULL",
            "UPDATE reading SET subject = 1 WHERE subject IS NULL", "UPDATE cases SET last_at = last_at + 60000")
        text = self.done("case", "R1042")
        self.assertIn("Decided by hand by Kim: seen under the microscope.", text)
        self.assertIn("The policy says refer (findings_differ) of the same evidence.", text)
        self.assertIn("bound by hand by Ann: the label", text)
        self.assertRegex(text, r"2 .*release .*decided_by_hand: Kim, seen under the microscope")
        outcome = self.lines("case", "R1042")[0]["outcome"]
        self.assertEqual(outcome["by_hand"], {"who": "Kim", "why": "seen under the microscope"})
        self.assertEqual(list(outcome)[list(outcome).index("reasons") + 1], "by_hand")
        self.assertEqual(self.lines("case", "R1042")[0]["outcomes"][0]["by_hand"], None)

    def test_settles_what_was_set_aside(self):
        self.assertEqual(len(self.lines("aside")), 1)
        self.assertEqual(self.lines("aside")[0]["settled_at"], None)
        self.change("UPDATE aside SET settled_at = 1793614530000, tried_at = 1793614530000")
        self.assertEqual(self.lines("aside"), [])
        settled = self.lines("aside", "--all")
        self.assertEqual(settled[0]["settled_at"], "2026-11-02T10:15:30.000Z")
        self.assertIn("READ SINCE", self.done("aside", "--all"))
        self.assertTrue(re.search("2026-11-02 11:15:30", self.done("aside", "--all")))


if __name__ == "__main__":
    unittest.main()
