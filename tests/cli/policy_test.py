"""A policy's whole way, as the person who writes it goes it: check, back-test, shadow, in force, taken over; with the
policy of the manual.

    python3 policy_test.py GIRDLED SOURCE
"""
import csv
import datetime
import io
import json
import os
import pathlib
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

GIRDLED = os.path.abspath(sys.argv.pop(1))
SOURCE = pathlib.Path(sys.argv.pop(1)).resolve()
MANUAL = (SOURCE / "daemon/casework/README.md").read_text()
BLOCKS = re.findall(r"^```yaml\n(.*?)^```$", MANUAL, re.M | re.S)
TRADE_IN = next(block for block in BLOCKS if block.startswith("name: trade-in"))
KNOWN_STONES = next(block for block in BLOCKS if "known_stones:" in block)
PRIORS = next(block for block in BLOCKS if block.startswith("priors:"))

CONFIG = """site: quay-street
timezone: Europe/Brussels
ledger: { path: state/ledger.db }
intakes:
  - name: exports
    folder: { path: inbox, match: "*.csv", content: whole, settle: 1ms }
    reader: delimited
    options: { delimiter: ";" }
    mapping: exports.mapping.yaml
  - name: stock-list
    folder: { path: stock, match: "*.csv", content: whole, settle: 1ms }
    reader: delimited
    options: { delimiter: ";" }
    mapping: stock.mapping.yaml
outlets:
  - name: till
    webhook: { url: "http://127.0.0.1:9/till", secret_file: secret, timeout: 1s }
    retry: [1h]
  - name: vault
    webhook: { url: "http://127.0.0.1:9/vault", secret_file: secret, timeout: 1s }
    retry: [1h]
"""
EXPORTS = """record: reading
fields:
  instrument:   { from: device }
  run:          { from: no }
  measured_at:  { from: at, form: rfc3339 }
  stock_number: { from: item }
  finding:      { from: result, words: { A: natural, G: laboratory_grown, S: simulant, C: indeterminate } }
"""
STOCK = """record: declaration
fields:
  stock_number: { from: stock }
  identity:     { from: identity }
  value:        { from: value }
  carat:        { from: carat }
  channel:      { from: channel }
"""
INSTRUMENTS = """instruments:
  - serial: A-0117
    scope: { carat: "[0.03..10]" }
  - serial: B-0042
    scope: { carat: "[0.03..10]" }
"""
# R1 cheap; R2 above 2,000; R3 above 10,000; R4 disagrees.
STONES = "stock;identity;value;carat;channel\nR1;natural;500;0.5;pawn\nR2;natural;5000;0.9;shop\nR3;natural;12000;1.5;shop\nR4;natural;700;0.6;shop\n"
RUNS = [("R1", "A"), ("R1", "A"), ("R2", "A"), ("R2", "A"), ("R3", "A"), ("R3", "A"), ("R3", "A"), ("R4", "A"), ("R4", "S")]


def export(runs, first=1, device="A-0117"):
    rows = ["no;device;at;item;result"]
    for number, (item, result) in enumerate(runs, first):
        rows.append(f"{number};{device};2026-11-02T10:{number:02}:30Z;{item};{result}")
    return "\n".join(rows) + "\n"


class Policy(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-policy-"))
        self.addCleanup(shutil.rmtree, self.root, ignore_errors=True)
        for folder in ("inbox", "stock", "state"):
            (self.root / folder).mkdir()
        self.write("exports.mapping.yaml", EXPORTS)
        self.write("stock.mapping.yaml", STOCK)
        self.write("trade-in.yaml", TRADE_IN)
        self.write("secret", "whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE=\n")
        (self.root / "secret").chmod(0o600)
        self.configure()

    def write(self, name, text):
        (self.root / name).write_text(text)

    def configure(self, *lines, instruments=INSTRUMENTS):
        self.write("girdled.yaml", CONFIG + instruments + "".join(line + "\n" for line in lines))

    def call(self, *arguments, code=0):
        done = subprocess.run([GIRDLED, *arguments], cwd=self.root, capture_output=True, text=True, timeout=60)
        if code is not None:
            self.assertEqual(done.returncode, code, done.stdout + done.stderr)
        return done

    def take_in(self, runs=RUNS, first=1, device="A-0117"):
        self.write("stock/stones.csv", STONES)
        self.call("run", "--once", code=None)  # the outlets do not answer
        self.write(f"inbox/{device}-{first}.csv", export(runs, first, device))
        self.call("run", "--once", code=None)

    def last_outcome(self, stock):
        return json.loads(self.call("case", stock, "--json").stdout.splitlines()[0])["outcome"]

    def test_the_manuals_policy_is_right_and_says_what_it_promises(self):
        self.configure("policy: trade-in.yaml")
        checked = self.call("check")
        self.assertNotIn("notice", checked.stderr)
        self.take_in()
        answers = {stock: self.last_outcome(stock) for stock in ("R1", "R2", "R3", "R4")}
        self.assertEqual({stock: o["disposition"] for stock, o in answers.items()},
                         {"R1": "release", "R2": "repeat", "R3": "repeat", "R4": "refer"})
        self.assertEqual(answers["R2"]["readings"]["required"], 3)
        self.assertEqual(answers["R2"]["reasons"][0]["text"], "2 of 3 runs: measure again.")
        self.assertEqual(answers["R3"]["reasons"][0]["text"], "A stone of this value needs a second instrument.")
        self.assertEqual(answers["R4"]["evidence"]["dissent"], 1)
        self.take_in([("R3", "A")], 40, "B-0042")
        self.assertEqual(self.last_outcome("R3")["disposition"], "release")
        heard = [json.loads(line) for line in self.call("deliveries", "--json").stdout.splitlines()]
        self.assertEqual({d["stock_number"] for d in heard if d["outlet"] == "vault"}, {"R4"})
        self.assertEqual({d["stock_number"] for d in heard if d["outlet"] == "till"}, {"R1", "R2", "R3", "R4"})

    def test_reasons_are_in_the_sites_language(self):
        self.configure("policy: trade-in.yaml", "language: de-AT")
        self.take_in()
        self.assertEqual(self.last_outcome("R2")["reasons"][0]["text"], "2 von 3 Messungen: noch einmal messen.")

    def test_an_example_that_comes_out_otherwise_keeps_the_policy_out(self):
        self.configure("policy: trade-in.yaml")
        self.write("trade-in.yaml", TRADE_IN.replace("required: 2, outlets: [till]", "required: 3, outlets: [vault]"))
        said = self.call("check", code=1).stdout
        line = TRADE_IN.splitlines().index("    then: { disposition: release, reason: as_declared, required: 2, outlets: [till] }") + 1
        self.assertIn(f"trade-in.yaml:{line}:", said)
        self.assertIn("example 1: it wants 3 runs asked for, and the policy asks for 2", said)
        self.assertIn("example 1: it wants vault to hear of it, and the policy tells till", said)
        self.assertIn("nothing was started", self.call("run", "--once", code=1).stderr)

    def test_an_outlet_that_is_not_there_is_told_at_its_cell(self):
        self.configure("policy: trade-in.yaml")
        self.write("trade-in.yaml", TRADE_IN.replace('\'"vault"\'', '\'"safe"\''))
        self.assertRegex(self.call("check", code=1).stdout,
                         r"trade-in\.yaml:\d+:\d+: no outlet is called \"safe\"; there is till and vault")

    def test_a_draft_is_checked_in_the_place_of_the_policy_in_force(self):
        self.assertNotIn("trade-in", self.call("check").stderr)
        self.assertIn("policy trade-in version 4, whose 3 examples come out as they say",
                      self.call("check", "--policy", "trade-in.yaml").stderr)
        self.write("trade-in.yaml", TRADE_IN.replace("'> 2000'", "'> 2,000'"))
        self.assertIn("notice: ", self.call("check", "--policy", "trade-in.yaml", code=None).stderr)
        self.assertIn("a number has no mark for thousands", self.call("check", "--policy", "trade-in.yaml", code=None).stderr)

    def test_the_example_for_a_pawn_counter_is_right(self):
        policy = (SOURCE / "examples/pawn-counter.yaml").read_text()
        self.configure(instruments=INSTRUMENTS)
        self.write("girdled.yaml", (self.root / "girdled.yaml").read_text().replace("name: vault", "name: office"))
        self.write("pawn-counter.yaml", policy)
        checked = self.call("check", "--policy", "pawn-counter.yaml")
        self.assertRegex(checked.stderr, r"policy pawn-counter version 1, whose 1\d examples come out as they say")
        self.assertNotIn("notice", checked.stderr)

    # Promise 7: what check refuses never decides.
    def test_a_policy_whose_proof_fails_is_not_loaded_and_not_tried(self):
        idle = TRADE_IN.replace("    - { when: ['-', '-', '-', '-', '-', '-'],", "    - { when: ['-', '-', '-', '-', '-', '-'], then: ['\"hold\"', '\"x\"'] }\n    - { when: ['\"natural\"', '-', '-', '-', '-', '-'],", 1)
        self.write("trade-in.yaml", idle)
        self.take_in()
        for arguments in (("check", "--policy", "trade-in.yaml"), ("backtest", "--policy", "trade-in.yaml")):
            done = self.call(*arguments, code=1)
            self.assertRegex(done.stdout + done.stderr, r"trade-in\.yaml:\d+:\d+: rule \d+ can never decide")
        self.configure("policy: trade-in.yaml")
        self.assertIn("nothing was started", self.call("run", "--once", code=1).stderr)

    def test_rules_in_order_under_the_default_hit_policy_are_told_once(self):
        self.write("trade-in.yaml", TRADE_IN.replace("table:                            # what to do\n  hit_policy: FIRST\n", "table:\n"))
        said = self.call("check", "--policy", "trade-in.yaml", code=1).stdout
        self.assertEqual(said.count("hit_policy is left out, which means UNIQUE"), 1)
        self.assertNotIn("match the same facts", said)

    def test_words_for_a_reason_that_no_rule_gives_are_told(self):
        self.write("trade-in.yaml", TRADE_IN.replace("    other_instrument_needed: ", "    other_instrument_neded: "))
        said = self.call("check", "--policy", "trade-in.yaml").stderr
        self.assertIn('no rule gives the reason "other_instrument_neded"; did you mean "other_instrument_needed"?', said)

    def test_decide_tries_a_table_of_a_policy(self):
        def decide(facts, *more, code=0):
            done = subprocess.run([GIRDLED, "decide", "--table", "trade-in.yaml", *more], cwd=self.root, text=True,
                                  input=json.dumps(facts), capture_output=True, timeout=60)
            self.assertEqual(done.returncode, code, done.stdout + done.stderr)
            return done.stderr if code else json.loads(done.stdout)
        self.assertEqual(decide({"value": 5000}, "--decision", "required"), {"outputs": {"required": 3}, "rules": [1]})
        facts = {"finding": "natural", "valid": 3, "required": 3, "scope": "in", "declared": "none", "instruments": 1, "value": 500}
        self.assertEqual(decide(facts)["outputs"]["disposition"], "release")
        self.assertIn('the fact "required" is missing', decide({k: v for k, v in facts.items() if k != "required"}, code=1))
        self.assertIn('"find" is no fact of this table', decide({**facts, "find": "natural"}, code=1))
        self.assertIn("--decision is table, required or routing", decide(facts, "--decision", "runs", code=1))

    # Under FIRST, two rules that match are no error; under UNIQUE the case says which.
    def test_a_case_tells_why_its_policy_could_not_be_evaluated(self):
        self.write("trade-in.yaml", TRADE_IN.replace("- { expression: value, type: number }\n    - { expression: mount", "- { expression: value, type: number, required: true }\n    - { expression: mount").replace("    - { when: ['null', '-'],          then: ['3'], note: \"a value that nobody said may be a high one\" }\n", ""))
        self.configure("policy: trade-in.yaml")
        self.write("inbox/a.csv", export([("R9", "A"), ("R9", "A")]))
        self.call("run", "--once", code=None)
        told = self.call("case", "R9").stdout
        self.assertIn("hold  (policy_error)", told)
        self.assertRegex(told, r"Because   The table of required runs could not be evaluated: .*value")

    def test_a_stock_list_is_taken_in_before_the_readings_with_once(self):
        self.write("stock/stones.csv", STONES)
        self.write("inbox/a.csv", export(RUNS))
        self.call("run", "--once", code=None)
        self.assertEqual(self.last_outcome("R1")["sequence"], 1, "nobody heard of it without its declaration")

    def test_backtest_replays_the_past_and_tells_what_would_change(self):
        self.take_in()
        before = (self.root / "state/ledger.db").read_bytes()
        people = self.call("backtest", "--policy", "trade-in.yaml").stdout
        self.assertRegex(people, r"history  (\d+) of \1 outcomes come out as stored\n")
        self.assertIn("cases    4 looked at by trade-in version 4; 2 would come out otherwise, 2 of them with another disposition", people)
        self.assertRegex(people, r"R2 +release \(as_declared, rule 12, asked for 2 runs\) +repeat \(more_readings_needed, rule 4, asked for 3 runs\)")
        rows = list(csv.DictReader(io.StringIO(self.call("backtest", "--policy", "trade-in.yaml", "--csv").stdout)))
        lines = [json.loads(line) for line in self.call("backtest", "--policy", "trade-in.yaml", "--json").stdout.splitlines()]
        summary = lines.pop()["summary"]
        self.assertEqual([row["stock_number"] for row in rows], [line["stock_number"] for line in lines])
        self.assertEqual([row["new_disposition"] for row in rows], [line["new"]["disposition"] for line in lines])
        self.assertEqual(summary["matrix"]["release"]["repeat"], 2)
        self.assertEqual(summary["replayed"], summary["outcomes"])
        self.assertEqual(summary["mismatched"], 0)
        self.assertEqual((self.root / "state/ledger.db").read_bytes(), before, "a back-test writes nothing")
        self.assertIn("quay-street alone", self.call("backtest", "--policy", "trade-in.yaml", "--site", "north-pier", code=2).stderr)
        self.assertIn("cases    0 ", self.call("backtest", "--policy", "trade-in.yaml", "--since", "2099-01-01").stdout)

    def test_a_shadow_policy_answers_and_nobody_is_told(self):
        self.configure("shadow_policy: trade-in.yaml")
        self.take_in()
        self.assertEqual(self.last_outcome("R2")["disposition"], "release")
        self.assertIn("Shadow    policy trade-in version 4 would say repeat (more_readings_needed); nobody is told of it",
                      self.call("case", "R2").stdout)
        said = self.call("backtest", "--shadow").stdout
        self.assertIn("cases    4 looked at by trade-in version 4", said)
        self.assertRegex(said, r"R2 +release \(as_declared, rule 12\) +repeat \(more_readings_needed, rule 4\)")
        versions = [json.loads(line)["name"] for line in self.call("policies", "--json").stdout.splitlines()]
        self.assertEqual(versions, ["default"], "a shadow does not come into force")

    def test_coming_into_force_is_kept_with_who_and_why(self):
        self.call("run", "--once")
        self.configure("policy: trade-in.yaml")
        self.call("run", "--once")
        self.call("run", "--once")
        lines = [json.loads(line) for line in self.call("policies", "--json").stdout.splitlines()]
        self.assertEqual([line["name"] for line in lines], ["default", "trade-in"])
        self.assertEqual(lines[1]["approved_by"], "the buyers' office")
        self.assertEqual(lines[1]["why"], "three runs above 2,000, two instruments above 10,000")
        self.assertEqual(lines[1]["valid_from"], "2025-12-31T23:00:00.000Z")

    def test_a_policy_before_its_time_is_refused_as_policy_and_waits_as_next(self):
        tomorrow = datetime.date.today() + datetime.timedelta(days=2)
        self.write("trade-in.yaml", TRADE_IN.replace("2026-01-01", tomorrow.isoformat()))
        self.configure("policy: trade-in.yaml")
        self.assertIn("until then name it under next_policy", self.call("check", code=1).stdout)
        self.configure("next_policy: trade-in.yaml")
        self.call("check")
        self.take_in()
        self.assertEqual(self.last_outcome("R2")["policy"]["name"], "default")

    def start(self):
        log = open(self.root / "log", "w")
        self.addCleanup(log.close)
        service = subprocess.Popen([GIRDLED, "run"], cwd=self.root, stderr=log, stdout=log)
        self.addCleanup(service.kill)
        self.wait_for("ready")
        return service

    def wait_for(self, text, times=1):
        deadline = time.monotonic() + 30
        while (self.root / "log").read_text().count(text) < times:
            self.assertLess(time.monotonic(), deadline, (self.root / "log").read_text())
            time.sleep(0.05)

    def stop(self, service):
        service.send_signal(signal.SIGTERM)
        self.assertEqual(service.wait(timeout=30), 0)

    def test_the_next_policy_takes_over_by_itself_when_its_time_comes(self):
        soon = datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(seconds=4)
        self.write("trade-in.yaml", TRADE_IN.replace("2026-01-01", soon.isoformat(timespec="seconds")))
        self.configure("next_policy: trade-in.yaml")
        service = self.start()
        self.wait_for("the next policy's time has come")
        self.wait_for("configuration read anew")
        self.stop(service)
        names = [json.loads(line)["name"] for line in self.call("policies", "--json").stdout.splitlines()]
        self.assertEqual(names, ["default", "trade-in"])

    # Promise 7: a broken policy never loads.
    def test_a_broken_policy_leaves_the_old_one_in_force_loudly(self):
        self.configure("policy: trade-in.yaml")
        service = self.start()
        self.write("trade-in.yaml", TRADE_IN.replace("disposition: release, reason: as_declared, required: 2", "disposition: hold"))
        service.send_signal(signal.SIGHUP)
        self.wait_for("the old one stays in force")
        self.assertIn("example 1", (self.root / "log").read_text())
        self.write("stock/stones.csv", STONES)
        self.write("inbox/a.csv", export(RUNS))
        self.wait_for("", 0)
        deadline = time.monotonic() + 20
        while "R4" not in self.call("cases").stdout:
            self.assertLess(time.monotonic(), deadline)
            time.sleep(0.1)
        self.stop(service)
        self.assertEqual(self.last_outcome("R2")["disposition"], "repeat")

    def test_probabilities_come_from_known_stones_and_priors(self):
        self.write("trade-in.yaml", TRADE_IN.replace("parameters:\n  required: 2", PRIORS.rstrip() + "\n  required: 2"))
        tested = KNOWN_STONES.rstrip() + "\n    scope: { carat: \"[0.03..10]\" }\n"
        self.configure("policy: trade-in.yaml", "market: us", instruments=tested)
        self.call("check")
        self.take_in()
        outcome = self.last_outcome("R1")
        probability = outcome["evidence"]["probability"]
        # By hand: Jeffreys' prior gives 1964.5 / 2003 and 0.5 / 503 for "natural"; two runs with correlation 0.5 weigh as
        # 2 / 1.5; the prior odds of the channel pawn are 9 to 1.
        weight = 2 / 1.5
        odds = 9 * ((1964.5 / 2003) / (0.5 / 503)) ** weight
        self.assertAlmostEqual(float(probability["value"]), odds / (1 + odds), delta=1e-6)
        self.assertEqual(probability["of"], "natural")
        self.assertEqual(outcome["disclosure"]["words"][0], "natural diamond")
        told = self.call("case", "R1").stdout
        self.assertIn("Probable  Probability of natural: " + probability["value"], told)
        self.assertIn("Words     a stone that is natural may be called natural diamond or diamond (16 CFR Part 23", told)
        instruments = self.call("instruments").stdout
        self.assertIn("none of 500", instruments)
        self.assertIn("test report of March 2026", instruments)
        report = json.loads(self.call("instruments", "--json").stdout)
        # Clopper and Pearson, one-sided, none of n: 1 - 0.05^(1/n).
        self.assertAlmostEqual(float(report["known_stones"]["miss"]["upper"]), 1 - 0.05 ** (1 / 500), delta=1e-6)


if __name__ == "__main__":
    unittest.main()
