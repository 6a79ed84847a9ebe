"""girdled check as an administrator calls it: all that is wrong in one pass, each in a line of its own that says where, what
and what would be right. And decide, of a decision table file.

    python3 check_test.py GIRDLED
"""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

GIRDLED = os.path.abspath(sys.argv.pop(1))

CONFIG = """site: quay-street
timezone: Europe/Brussels
ledger: { path: state/ledger.db }
policy: policy.yaml
instruments:
  - serial: A-0117
    scope: { carat: "[0.03..10]" }
intakes:
  - name: exports
    folder: { path: inbox, match: "*.csv" }
    reader: delimited
    options: { delimiter: ";" }
    mapping: mapping.yaml
outlets:
  - name: till
    webhook: { url: "https://till.example/hook", secret_file: secret }
"""
MAPPING = """record: reading
fields:
  instrument:   { value: A-0117 }
  run:          { from: no }
  measured_at:  { from: at, form: "%d.%m.%Y %H:%M" }
  stock_number: { from: item }
  finding:      { from: result, words: { A: natural, B: simulant } }
"""
POLICY = """name: ours
version: 1
table:
  hit_policy: FIRST
  inputs:
    - { expression: finding, type: string, allowed_values: '"natural", "none", "mixed"' }
    - { expression: valid, type: number }
  outputs:
    - { name: disposition, type: string, allowed_values: '"hold", "release", "refer"' }
    - { name: reason, type: string }
  rules:
    - { when: ['"natural"', '>= required'], then: ['"release"', '"as_declared"'] }
    - { when: ['-', '-'], then: ['"hold"', '"no_rule"'] }
"""
NO_DISPOSITION = ' is no disposition; it is one of "repeat", "release", "hold", "refer" and "reject", in double quotes'


def changed(text, *pairs):
    for old, new in zip(pairs[::2], pairs[1::2]):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


class Check(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-check-"))
        self.addCleanup(shutil.rmtree, self.root, ignore_errors=True)
        (self.root / "inbox").mkdir()
        self.write(CONFIG, MAPPING, POLICY)
        (self.root / "secret").write_text("whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE=\n")
        (self.root / "secret").chmod(0o600)

    def write(self, config=CONFIG, mapping=MAPPING, policy=POLICY):
        (self.root / "girdled.yaml").write_text(config)
        (self.root / "mapping.yaml").write_text(mapping)
        (self.root / "policy.yaml").write_text(policy)

    def call(self, *arguments):
        done = subprocess.run([GIRDLED, *map(str, arguments)], capture_output=True, text=True, timeout=60)
        return done.returncode, done.stdout, done.stderr

    def told(self, *arguments):
        code, out, err = self.call("check", "--config", self.root / "girdled.yaml", *arguments)
        self.assertEqual(code, 1 if out else 0, out + err)
        self.assertFalse((self.root / "state").exists(), "check touches nothing")
        return [line.replace(f"{self.root}/", "") for line in out.splitlines()]

    def tells(self, *lines, **files):
        self.write(**files)
        self.assertEqual(self.told(), list(lines))


class Policies(Check):
    def test_that_are_right_are_taken(self):
        self.tells()

    def test_are_told_with_the_faults_of_their_keys_and_of_their_cells_in_one_pass(self):
        policy = changed(POLICY, "version: 1", "version: 1\nreopen_after: never", '"natural"\', \'>= required', '"natrual"\', \'>= requird',
                         '"no_rule"', "no rule")
        self.tells(
            'policy.yaml:3:15: reopen_after: it must be a duration from 1ms to 3650d, such as 200ms, 45s, 2min, 8h or 30d, not "never"',
            'policy.yaml:13:16: rule 1, input "finding": "natrual" is outside the allowed values of the column; did you mean "natural"?',
            'policy.yaml:13:29: rule 1, input "valid": there is no fact "requird"; did you mean "required"?; a text stands in double quotes',
            'policy.yaml:14:44: rule 2, output "reason": cannot read the cell "no rule": at character 4: "rule" stands where the end of '
            'the cell should be',
            policy=policy)

    def test_with_a_wrong_column_are_judged_by_the_others(self):
        # Rule 2 is too short; its cell of the wrong column could be anything.
        policy = changed(POLICY, "expression: valid", "expresion: valid", ">= required", ">= (", '"natural"\', ', '"natrual"\', ',
                         "['-', '-']", "['-']", '"hold"\', ', '"hodl"\', ')
        self.tells(
            'policy.yaml:7:7: an input needs the key "expression" (The name of a fact, or arithmetic over facts)',
            'policy.yaml:7:9: an input has no key "expresion"; did you mean "expression"?',
            'policy.yaml:12:16: rule 1, input "finding": "natrual" is outside the allowed values of the column; did you mean "natural"?',
            'policy.yaml:13:7: rule 2: 1 cells in "when"; the table needs 2',
            'policy.yaml:13:29: rule 2, output "disposition": "hodl" is outside the allowed values of the column',
            'policy.yaml:13:29: "hodl"' + NO_DISPOSITION,
            policy=policy)

    def test_without_their_inputs_are_judged_by_their_outputs(self):
        inputs = POLICY[POLICY.index("  inputs:"):POLICY.index("  outputs:")]
        policy = changed(POLICY, inputs, "", ">= required", ">= (", '"no_rule"', "5")
        self.tells(
            'policy.yaml:4:3: the table needs the key "inputs" (The columns that are tested)',
            'policy.yaml:10:44: rule 2, output "reason": 5 is a number, and the column holds a string; write "5"',
            policy=policy)

    def test_without_their_outputs_are_judged_by_their_inputs(self):
        outputs = POLICY[POLICY.index("  outputs:"):POLICY.index("  rules:")]
        policy = changed(POLICY, outputs, "  outputs: disposition\n", ">= required", "5, '", '"release"', "((", "'5, ''", "'\"5\"'")
        self.tells(
            'policy.yaml:8:12: outputs: it must be a list of at least one map of keys and values, each after a dash, not "disposition"',
            'policy.yaml:10:29: rule 1, input "valid": "5" is a string, and the column holds a number; write 5',
            policy=policy)

    def test_with_a_wrong_name_of_an_output_are_not_said_to_lack_it(self):
        self.tells('policy.yaml:9:9: an output has no key "nam"; did you mean "name"?',
                   policy=changed(POLICY, "name: disposition", "nam: disposition"))
        self.tells("policy.yaml:4:15: the table has no output named disposition",
                   policy=changed(POLICY, "name: disposition", "name: decision"))

    def test_with_a_wrong_hit_policy_are_not_measured_by_another(self):
        self.tells('policy.yaml:4:15: hit_policy: it must be UNIQUE, ANY, PRIORITY, FIRST, COLLECT, RULE ORDER or OUTPUT ORDER, not '
                   '"COLECT"; did you mean "COLLECT"?',
                   policy=changed(POLICY, "FIRST", "COLECT\n  aggregation: COUNT"))

    def test_with_wrong_rules_keep_the_numbers_of_the_others(self):
        policy = POLICY + "    - nothing\n    - { when: '-', then: [['a'], '5'] }\n    - { when: ['-', '<'] }\n"
        self.tells(
            'policy.yaml:14:7: a rule must be a map of keys and values, not "nothing"',
            'policy.yaml:15:15: when: it must be a list of cells, each a text in single quotes, not "-"',
            "policy.yaml:15:27: then: each must be a text in single quotes, not a list of 1",
            'policy.yaml:15:34: rule 4, output "reason": 5 is a number, and the column holds a string; write "5"',
            'policy.yaml:16:7: a rule needs the key "then" (One cell for each output: a value, in single quotes)',
            'policy.yaml:16:21: rule 5, input "valid": cannot read the cell "<": at character 2: the cell ends where a number, a text in '
            'double quotes, true, false or the name of a fact should be',
            policy=policy)

    def test_name_the_key_default_by_its_name(self):
        self.tells("policy.yaml:4:15: some outputs have a default and some have none; give it to all",
                   'policy.yaml:10:15: output "reason", default: it is a literal; texts stand in double quotes',
                   policy=changed(POLICY, "name: reason", "name: reason, default: none"))

    def test_may_ask_for_a_fact(self):
        self.tells(policy=changed(POLICY, "type: number", "type: number, required: true"))
        self.tells('policy.yaml:7:52: required: it must be true or false, not "yes"',
                   policy=changed(POLICY, "type: number", "type: number, required: yes"))

    def test_are_proved(self):
        idle = changed(POLICY, '"natural"\', \'>= required', '-\', \'-', "'-', '-'], then: ['\"hold\"', '\"no_rule\"']",
                       "'\"mixed\"', '>= 3'], then: ['\"refer\"', '\"findings_differ\"']")
        self.tells("policy.yaml:13:7: rule 2 can never decide: wherever it matches, a stronger rule does too (1); where: "
                   'finding "mixed"; valid >= 3; for example finding = "mixed", valid = 3', policy=idle)
        self.write(policy=changed(POLICY, "    - { when: ['-', '-'], then: ['\"hold\"', '\"no_rule\"'] }\n", ""))
        code, out, err = self.call("check", "--config", self.root / "girdled.yaml")
        self.assertEqual((code, out), (0, ""))
        notices = [line.replace(f"{self.root}/", "") for line in err.splitlines() if line.startswith("notice: ")]
        self.assertEqual(notices, ['notice: policy.yaml:4:15: no rule matches, and there is no default; where: ' + rest for rest in (
            'finding "mixed", "none"; for example finding = "mixed", required = 1, valid = 0; such a stone is held (no_rule)',
            'finding "natural"; for example finding = "natural", required = 1, valid = 0; such a stone is held (no_rule)')])

    def test_do_not_break_the_line_of_a_cell(self):
        self.tells('policy.yaml:13:34: rule 2, output "disposition": cannot read the cell "hold\\x0ait": at character 6: "it" stands '
                   'where the end of the cell should be',
                   "policy.yaml:13:34: hold\\x0ait" + NO_DISPOSITION,
                   policy=changed(POLICY, "then: ['\"hold\"',", 'then: ["hold\\nit",'))


class Mappings(Check):
    def test_tell_a_bad_constant_at_its_own_place(self):
        self.tells('mapping.yaml:3:26: value: the constant of instrument holds control characters: "A\\x07"',
                   mapping=changed(MAPPING, "value: A-0117", 'value: "A\\x07"'))
        self.tells("mapping.yaml:5:12: value: the constant of run holds a text of 201 bytes; at most 200 are kept",
                   mapping=changed(MAPPING, "{ from: no }", "\n    value: " + "9" * 201))

    def test_tell_every_bad_constant_beside_what_else_is_wrong(self):
        mapping = changed(MAPPING, "A-0117", '"A\\x07"', "from: item", "value: R1#") + "  carat: { value: -1 }\n  note: { form: n }\n"
        self.tells(
            'mapping.yaml:3:26: value: the constant of instrument holds control characters: "A\\x07"',
            'mapping.yaml:6:26: value: the constant of stock_number holds "R1#"; # stands between a piece and one of its stones, as in R1042#2',
            'mapping.yaml:8:19: value: the constant of carat holds "-1", which must be more than 0',
            "mapping.yaml:9:9: note needs exactly one of from and value; it has none",
            'mapping.yaml:9:11: note has no key "form"; it has from, join, value, gs1, match, take, words, fold and default',
            mapping=mapping)

    def test_tell_a_pattern_that_is_none_and_what_it_cannot_give_in_their_places(self):
        mapping = (changed(MAPPING, "from: no", "from: no, match: '(\\d+'", "from: item", "from: item, match: '(.)(.)', take: '\\3'") +
                   "  color: { from: c, match: '(\\pL{100}){10}' }\n  note: { from: n, match: (a)(b) }\n"
                   "  carat: { from: w, default: 0 }\n")
        self.tells(
            "mapping.yaml:4:36: match: it is no pattern of RE2: missing ): (\\d+",
            "mapping.yaml:6:54: take: there is no group \\3; the pattern has 2 groups",
            "mapping.yaml:8:28: match: it needs more than 1 MiB of memory; fewer or shorter repetitions need less",
            "mapping.yaml:9:27: match: the pattern has 2 groups; say with  take  what is taken of it, such as '\\1' or '\\2-\\1'",
            'mapping.yaml:10:30: default: it holds "0", which must be more than 0',
            mapping=mapping)

    def test_with_sections_tell_what_is_wrong_in_each(self):
        section = "\n".join("    " + line for line in MAPPING.splitlines())
        mapping = ("records:\n  - when: { kind: R }\n" + section.replace("from: no", "from: no, match: ')'") +
                   "\n  - when: { kind: S }\n" + section.replace("A-0117", '"A\\x07"') + "\n  - { when: { kind: L }, ignore: trailer }\n")
        self.tells("mapping.yaml:6:40: match: it is no pattern of RE2: unexpected ): )",
                   'mapping.yaml:13:30: value: the constant of instrument holds control characters: "A\\x07"', mapping=mapping)

    def test_that_serve_two_intakes_are_told_once(self):
        (self.root / "second").mkdir()
        second = "  - { name: lines, folder: { path: second }, reader: json, mapping: mapping.yaml }\n"
        self.tells('mapping.yaml:3:26: value: the constant of instrument holds control characters: "A\\x07"',
                   config=changed(CONFIG, "outlets:\n", second + "outlets:\n"), mapping=changed(MAPPING, "A-0117", '"A\\x07"'))

    def test_that_are_wrong_hide_nothing_of_their_intake(self):
        wrong = changed(MAPPING, "from: no", "form: no")
        told = ("mapping.yaml:4:17: run needs exactly one of from and value; it has none",
                'mapping.yaml:4:19: run has no key "form"; it has from, join, value, gs1, match, take, words and fold')
        self.tells('girdled.yaml:12:27: option delimiter must be one character, tab, or none, not ";;"', *told,
                   config=changed(CONFIG, '";"', '";;"'), mapping=wrong)
        self.tells("girdled.yaml:11:13: reader: reader delimited: delimiter, quote and comment must be three different characters", *told,
                   config=changed(CONFIG, '";"', "'\"'"), mapping=wrong)
        self.tells('girdled.yaml:11:13: reader: there is no reader "delimted"; did you mean delimited?', *told,
                   config=changed(CONFIG, "reader: delimited", "reader: delimted"), mapping=wrong)

    def test_are_not_blamed_for_the_time_zone_of_the_site(self):
        self.tells('girdled.yaml:2:11: timezone: no time zone "Europe/Brussel"; did you mean Europe/Brussels?',
                   config=changed(CONFIG, "Europe/Brussels", "Europe/Brussel"))


class Intakes(Check):
    def test_tell_a_room_for_records_that_is_too_small_at_its_key(self):
        self.tells('girdled.yaml:14:17: max_record: it must be a size from 64 to 64MiB, such as 4096, 64KiB or 1MiB, not "63"',
                   config=changed(CONFIG, "mapping.yaml\n", "mapping.yaml\n    max_record: 63\n"))
        self.tells(config=changed(CONFIG, "mapping.yaml\n", "mapping.yaml\n    max_record: 64\n"))


class Instruments(Check):
    def test_tell_which_limit_can_never_hold(self):
        self.tells('girdled.yaml:7:21: carat: "1" is no number; a limit is written like [0.03..10] or >= 1.5',
                   "girdled.yaml:7:37: color: the range runs backwards: write the grade nearer to D first",
                   config=changed(CONFIG, '"[0.03..10]"', "'< \"1\"', color: \"[J..D]\""))
        self.tells("girdled.yaml:7:33: color: 5 is no colour grade from D to Z; a limit is written like [D..J]",
                   config=changed(CONFIG, '"[0.03..10]"', "'-', color: \"[D..H], 5\""))
        self.tells(config=changed(CONFIG, '"[0.03..10]"', "'not(< 0.5)', color: \"not([T..Z])\""))


class Lines(Check):
    def test_are_one_a_problem_whatever_paths_hold(self):
        (self.root / "map\n.yaml").write_text("record: x\n")
        config = changed(CONFIG, "path: inbox", 'path: "in\\nbox"', "mapping.yaml", '"map\\n.yaml"', "policy.yaml", '"p\\np"',
                         "secret_file: secret", 'secret_file: "s\\ns", ca_file: "c\\nc"')
        self.tells("girdled.yaml:4:9: policy: the file p\\x0ap does not exist",
                   "girdled.yaml:10:21: path: the folder in\\x0abox does not exist; make it, or name another",
                   "girdled.yaml:16:63: secret_file: s\\x0as: cannot be read: No such file or directory",
                   "girdled.yaml:16:80: ca_file: the file c\\x0ac does not exist",
                   'map\\x0a.yaml:1:9: record: this version reads reading, declaration and scan, not "x"',
                   config=config)

    def test_have_a_place_in_json_too(self):
        self.write(mapping=changed(MAPPING, "A-0117", '"A\\x07"'))
        [line] = self.told("--json")
        self.assertEqual(json.loads(line), {"file": "mapping.yaml", "line": 3, "column": 26, "severity": "error",
                                            "text": 'value: the constant of instrument holds control characters: "A\\x07"'})


class Decide(Check):
    TABLE = ("hit_policy: FIRST\ninputs:\n  - { expression: x, type: number, required: true }\noutputs:\n  - { name: y, type: string }\n"
             "rules:\n  - { when: ['>= 10'], then: ['\"a\"'] }\n  - { when: ['-'], then: ['\"b\"'] }\n")

    def decide(self, table, facts="{}", *more, name="table.yaml"):
        (self.root / name).write_text(table)
        (self.root / "facts.json").write_text(facts)
        code, out, err = self.call("decide", "--table", self.root / name, "--input", self.root / "facts.json", *more)
        return code, out, err.replace(f"{self.root}/", "").splitlines()

    def test_tells_the_faults_of_a_table_file_and_of_its_cells_in_one_pass(self):
        table = changed(self.TABLE, "FIRST", "FRIST", "'>= 10'", "'>= \"10\"'", "'\"b\"'", "b c")
        code, out, err = self.decide(table)
        self.assertEqual((code, out), (1, ""))
        self.assertEqual(err, [
            'table.yaml:1:13: hit_policy: it must be UNIQUE, ANY, PRIORITY, FIRST, COLLECT, RULE ORDER or OUTPUT ORDER, not "FRIST"',
            'table.yaml:7:14: rule 1, input "x": "10" is a string, and the column holds a number; write 10',
            'table.yaml:8:27: rule 2, output "y": cannot read the cell "b c": at character 3: "c" stands where the end of the cell should be'])

    def test_tells_what_is_no_table(self):
        self.assertEqual(self.decide("- a\n"), (1, "", ["table.yaml:1:1: the table must be a map of keys and values, not a list of 1"]))
        self.assertEqual(self.decide(""), (1, "", ["table.yaml: is empty; it must be a map of keys and values"]))

    # The choice of daemon/policy/README.md, where DMN 1.5 8.1 and 10.3.2.10 differ: `-` accepts null, a required column does not.
    def test_refuses_a_missing_fact_that_a_column_requires(self):
        code, out, err = self.decide(self.TABLE, "{}\n")
        self.assertEqual((code, err), (0, []))
        self.assertEqual(json.loads(out)["error"]["kind"], "missing")
        code, out, err = self.decide(changed(self.TABLE, ", required: true", ""), "{}\n")
        self.assertEqual(json.loads(out), {"outputs": {"y": "b"}, "rules": [2]})

    def test_takes_dates_as_texts_and_calculates(self):
        table = ("hit_policy: FIRST\ninputs:\n  - { expression: price / carat, type: number }\n  - { expression: taken_in, type: date }\n"
                 "outputs:\n  - { name: until, type: date }\nrules:\n"
                 "  - { when: ['> 5000', '>= date(\"2026-11-01\")'], then: ['taken_in + duration(\"P30D\")'] }\n"
                 "  - { when: ['-', '-'], then: ['null'] }\n")
        code, out, err = self.decide(table, '{"price":"9000","carat":1.5,"taken_in":"2026-11-20"}\n{"price":1,"carat":0}\n'
                                            '{"price":1,"carat":1,"taken_in":"2026-11-31"}\n')
        self.assertEqual((code, err), (0, []))
        rows = [json.loads(line) for line in out.splitlines()]
        self.assertEqual(rows[0], {"outputs": {"until": "2026-12-20"}, "rules": [1]})
        self.assertEqual(rows[1]["error"], {"kind": "arithmetic", "rules": [],
                                            "text": 'the input "price / carat" has no value: 1 / 0 divides by zero'})
        self.assertEqual(rows[2]["error"]["text"], '"taken_in" is "2026-11-31"; it should be a date, written like 2026-11-02')

    def test_tells_a_date_that_is_none_with_its_place(self):
        table = changed(self.TABLE, "type: number", "type: date", ">= 10", '>= date(\"2026-02-30\")')
        self.assertEqual(self.decide(table)[2], [
            'table.yaml:7:14: rule 1, input "x": cannot read the cell ">= date("2026-02-30")": at character 4: date(…): "2026-02-30" '
            'has no day 30 in that month'])

    # A model of our own; --explain says of each rule why it did not match.
    def test_reads_a_decision_of_a_dmn_model(self):
        model = (pathlib.Path(__file__).parent.parent / "corpus/policy/dmn/counter.dmn").read_text()
        facts = '{"Stone":{"price":"900","carat weight":"1.5","finding":"natural"}}'
        code, out, err = self.decide(model, facts, "--decision", "Route", "--explain", name="model.dmn")
        self.assertEqual((code, err), (0, []))
        self.assertEqual(json.loads(out), {
            "decision": {"outputs": "counter", "rules": [2]},
            "rules": [{"rule": 1, "result": "not_matched", "column": 1, "fact": "Stone.price / Stone.carat weight", "value": 600,
                       "cell": "> 5000", "failing": 1}, {"rule": 2, "result": "matched"}]})
        self.assertEqual(self.decide(model, facts, name="model.dmn"), (1, "", [
            'model.dmn:2:2: say which decision (--decision NAME): its decision tables are "Route" and "Hold until"']))
        self.assertEqual(self.decide(self.TABLE, facts, "--decision", "Route"), (1, "", [
            "table.yaml: --decision is for models in DMN XML; this file has one table"]))


if __name__ == "__main__":
    unittest.main(verbosity=1)
