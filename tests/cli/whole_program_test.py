"""girdled as a whole, called as people call it: what bad input gets, and the promises that only the whole can keep.

    python3 whole_program_test.py GIRDLED
"""
import http.server
import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import unittest

GIRDLED = os.path.abspath(sys.argv.pop(1))

CONFIG = """site: quay-street
timezone: Europe/Brussels
ledger: { path: state/ledger.db }
instruments:
  - serial: A-0117
    bench: counter-1
    scope: { carat: "[0.03..10]" }
intakes:
  - name: exports
    folder: { path: inbox, match: "*.csv", content: whole, settle: 200ms }
    reader: delimited
    options: { delimiter: ";" }
    mapping: exports.mapping.yaml
"""
OUTLET = """outlets:
  - name: till
    webhook: { url: "http://127.0.0.1:%d/hook", secret_file: secret, timeout: 2s }
    retry: [100ms, 200ms, 1h]
"""
MAPPING = """record: reading
fields:
  instrument:   { value: A-0117 }
  run:          { from: no }
  measured_at:  { from: at, form: "%d.%m.%Y %H:%M" }
  stock_number: { from: item }
  finding:      { from: result, words: { A: natural, B: simulant, "-": void } }
  carat:        { from: weight }
"""
STOCK_LIST = """  - name: stock-list
    folder: { path: stock, match: "*.csv" }
    reader: delimited
    mapping: stock.mapping.yaml
"""
STOCK_MAPPING = """record: declaration
fields:
  stock_number: { from: stock }
  identity:     { from: identity }
  carat:        { from: carat }
  extra.cut:    { from: cut }
"""
HEAD = "no;at;item;result;weight\n"
GOOD = HEAD + "1;02.11.2026 10:15;R1042;A;0.53\n2;02.11.2026 10:17;R1042;A;0.53\n"
SECRET = "whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE="


class Shop(unittest.TestCase):
    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-whole-"))
        (self.root / "inbox").mkdir()
        self.write("girdled.yaml", CONFIG)
        self.write("exports.mapping.yaml", MAPPING)
        self.write("secret", SECRET + "\n")
        (self.root / "secret").chmod(0o600)
        self.running = []

    def tearDown(self):
        for process in self.running:
            process.kill()
            process.communicate()
        shutil.rmtree(self.root, ignore_errors=True)

    def write(self, name, text):
        data = text if isinstance(text, bytes) else text.encode()
        part = self.root / ".part"
        part.write_bytes(data)
        part.rename(self.root / name)

    def call(self, *arguments, config=True):
        command = [GIRDLED, *map(str, arguments)]
        if config:
            command += ["--config", str(self.root / "girdled.yaml")]
        done = subprocess.run(command, capture_output=True, text=True, timeout=60)
        return done.returncode, done.stdout, done.stderr

    def lines(self, *arguments):
        code, out, err = self.call(*arguments, "--json")
        self.assertEqual(code, 0, err)
        return [json.loads(line) for line in out.splitlines()]

    def start(self):
        process = subprocess.Popen([GIRDLED, "run", "--config", str(self.root / "girdled.yaml")], stderr=subprocess.PIPE, text=True)
        self.running.append(process)
        for line in process.stderr:
            if " ready " in line:
                return process
        self.fail(f"girdled ended with {process.wait()}")

    def wait_until(self, holds, what):
        deadline = time.time() + 20
        while not holds():
            self.assertLess(time.time(), deadline, what)
            time.sleep(0.05)


class BadConfiguration(Shop):
    def refused(self, config, *texts):
        self.write("girdled.yaml", config)
        code, out, _ = self.call("check")
        self.assertEqual(code, 1, out)
        for text in texts:
            self.assertIn(text, out)
        for line in out.splitlines():
            self.assertRegex(line, r"^/.*\.yaml(:\d+:\d+)?: .+")
        self.assertFalse((self.root / "state").exists(), "check touches nothing")
        code, _, err = self.call("run", "--once")
        self.assertEqual(code, 1)
        self.assertIn("nothing was started", err)

    def test_that_is_not_yaml(self):
        self.refused("site: [quay-street", "girdled.yaml:")

    def test_with_an_unknown_key_names_the_nearest(self):
        self.refused(CONFIG.replace("timezone:", "timezon:"), ":2:1:", '"timezone"')

    def test_that_names_a_missing_file(self):
        self.refused(CONFIG.replace("exports.mapping", "export.mapping"), "export.mapping.yaml", "does not exist")

    def test_with_two_intakes_on_one_folder(self):
        second = CONFIG[CONFIG.index("  - name: exports"):].replace("name: exports", "name: again").replace("path: inbox", "path: ./inbox/../inbox")
        self.refused(CONFIG + second, "inbox", "exports")

    def test_with_a_secret_that_others_may_read(self):
        (self.root / "secret").chmod(0o644)
        self.refused(CONFIG + OUTLET % 9, "secret", "chmod 600")
        code, out, err = self.call("check")
        self.assertNotIn("MDEyMzQ1", out + err)

    def test_with_a_reader_that_is_not_there(self):
        self.refused(CONFIG.replace("reader: delimited", "reader: delimted"), "delimted", "delimited")

    def test_with_a_scope_that_is_no_unary_test(self):
        self.refused(CONFIG.replace("[0.03..10]", "[0.03..ten]"), ":7:")

    def test_with_plain_http_to_another_machine(self):
        self.refused(CONFIG + OUTLET.replace("127.0.0.1", "till.example") % 80, "insecure: true")

    def test_is_told_whole_in_one_pass(self):
        self.refused(CONFIG.replace("timezone: Europe/Brussels", "timezone: Europe/Antwerp").replace("settle: 200ms", "settle: 200"),
                     "Europe/Antwerp", "duration")


class BadFiles(Shop):
    def once(self, code=1):
        got, _, err = self.call("run", "--once")
        self.assertEqual(got, code, err)
        return err

    def asides(self):
        return [line["aside"]["reason"] for line in self.lines("aside")]

    def test_that_are_no_text_are_set_aside_and_the_rest_goes_on(self):
        self.write("inbox/a.csv", bytes(range(256)) * 10)
        self.write("inbox/b.csv", GOOD)
        self.once()
        self.assertEqual(len(self.lines("readings")), 2)
        self.assertTrue(self.asides())

    def test_that_are_no_files_are_set_aside(self):
        os.mkfifo(self.root / "inbox/fifo.csv")
        (self.root / "inbox/link.csv").symlink_to("/etc/hostname")
        self.write("inbox/b.csv", GOOD)
        self.once()
        self.assertEqual(len(self.asides()), 2)
        self.assertEqual(len(self.lines("readings")), 2)

    def test_that_are_too_large_are_set_aside_unread(self):
        self.write("girdled.yaml", CONFIG.replace("settle: 200ms", "max_size: 1MiB"))
        with open(self.root / "inbox/huge.csv", "wb") as file:
            file.truncate(10 << 30)  # 10 GB, sparse
        start = time.time()
        self.once()
        self.assertLess(time.time() - start, 10)
        self.assertEqual(len(self.asides()), 1)

    def test_records_that_the_mapping_does_not_cover_are_set_aside_each_with_its_reason(self):
        rows = {
            "Q": "3;02.11.2026 10:18;R1;Q;0.5\n",                      # a word that is not mapped
            "no such day": "4;31.02.2026 10:18;R1;A;0.5\n",            # an impossible date
            "decimal": "5;02.11.2026 10:18;R1;A;1,25\n",               # a number under the wrong mark
            "more than 0": "6;02.11.2026 10:18;R1;A;-3\n",
            '"nan"': "7;02.11.2026 10:18;R1;A;nan\n",
            "fields": "8;02.11.2026 10:18;R1;A\n",                     # a ragged row
        }
        self.write("inbox/a.csv", GOOD + "".join(rows.values()))
        self.once()
        reasons = self.asides()
        self.assertEqual(len(reasons), len(rows), reasons)
        for word in rows:
            self.assertTrue(any(word in reason for reason in reasons), (word, reasons))
        self.assertEqual(len(self.lines("readings")), 2)
        self.assertEqual([case["subject"]["stock_number"] for case in self.lines("cases")], ["R1042"])

    def test_the_hour_that_comes_twice_needs_a_rule(self):
        # Europe/Brussels, 2024-10-27: 02:30 is 1729989000 or 1729992600 (IANA time zone database).
        row = HEAD + "1;27.10.2024 02:30;R1042;A;0.53\n"
        self.write("inbox/a.csv", row)
        self.once()
        self.assertIn("twice", self.asides()[0])
        self.write("exports.mapping.yaml", MAPPING.replace('%H:%M"', '%H:%M", twice: later'))
        self.write("inbox/b.csv", row + "\n")
        self.once(code=0)
        reading = self.lines("readings")[0]
        self.assertEqual(reading["measured_at"], "2024-10-27T01:30:00.000Z")
        self.assertEqual(reading["time_rule"], "later")


class TheService(Shop):
    def test_stops_within_two_seconds_and_keeps_the_old_configuration_when_the_new_one_is_wrong(self):
        service = self.start()
        self.write("girdled.yaml", CONFIG.replace("site:", "sight:"))
        service.send_signal(signal.SIGHUP)
        time.sleep(0.5)
        self.write("inbox/a.csv", GOOD)
        self.write("girdled.yaml", CONFIG)
        self.wait_until(lambda: len(self.lines("readings")) == 2, "the service goes on")
        start = time.time()
        service.send_signal(signal.SIGTERM)
        self.assertEqual(service.wait(timeout=5), 0)
        self.assertLess(time.time() - start, 2)
        self.assertIn("the old one stays in force", service.stderr.read())

    def test_a_second_one_on_the_same_ledger_is_refused(self):
        self.start()
        code, _, err = self.call("run", "--once")
        self.assertEqual(code, 3)
        self.assertIn("another girdled is at work", err)

    def test_files_that_come_while_it_runs_are_taken_once_and_a_restart_adds_nothing(self):
        service = self.start()
        self.write("inbox/a.csv", GOOD)
        self.wait_until(lambda: len(self.lines("readings")) == 2, "two readings")
        service.send_signal(signal.SIGTERM)
        service.wait()
        before = self.lines("cases")
        self.start()
        self.write("inbox/copy.csv", GOOD + "\n")
        self.wait_until(lambda: "duplicates" in self.call("case", "R1042", "--json")[1] and
                        len(json.loads(self.call("case", "R1042", "--json")[1])["readings"][0]["duplicates"]) == 1, "a receipt")
        self.assertEqual(self.lines("cases"), before)

    def test_idle_it_sleeps_and_stays_small(self):
        # Promise 8. The kernel counts voluntary switches: one a wake-up of a thread.
        service = self.start()
        time.sleep(1)
        switches = lambda: sum(int(path.read_text().split("voluntary_ctxt_switches:")[1].split()[0])
                               for path in pathlib.Path(f"/proc/{service.pid}/task").glob("*/status"))
        before = switches()
        time.sleep(5)
        self.assertLess(switches() - before, 10, "fewer than two wake-ups a second")
        status = pathlib.Path(f"/proc/{service.pid}/status").read_text()
        self.assertLess(int(status.split("VmRSS:")[1].split()[0]), 48 * 1024)


class TheTill(Shop):
    def serve(self, answer):
        seen = []

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self):
                body = self.rfile.read(int(self.headers["content-length"]))
                seen.append((self.headers["webhook-id"], json.loads(body)))
                answer(self, len(seen))

            def log_message(self, *args):
                pass

        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        server.daemon_threads = True
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.addCleanup(server.server_close)
        self.addCleanup(server.shutdown)
        self.write("girdled.yaml", CONFIG + OUTLET % server.server_address[1])
        return seen

    @staticmethod
    def reply(handler, status):
        handler.send_response(status)
        handler.send_header("content-length", "0")
        handler.end_headers()

    def test_that_is_down_leaves_the_outcome_waiting(self):
        self.write("girdled.yaml", CONFIG + OUTLET % 1)  # nobody listens there
        self.write("inbox/a.csv", GOOD)
        code, _, _ = self.call("run", "--once")
        self.assertEqual(code, 1)
        [delivery] = self.lines("deliveries")
        self.assertEqual(delivery["state"], "waiting")
        self.assertGreaterEqual(delivery["attempts"], 1)

    def test_that_answers_503_first_hears_the_same_id_again(self):
        seen = self.serve(lambda handler, count: self.reply(handler, 503 if count < 3 else 204))
        self.write("inbox/a.csv", GOOD)
        self.start()
        self.wait_until(lambda: len(seen) == 3, "three attempts")
        self.assertEqual(len({name for name, _ in seen}), 1)
        self.wait_until(lambda: self.lines("deliveries")[0]["state"] == "sent", "sent")

    def test_that_redirects_is_not_followed(self):
        seen = self.serve(lambda handler, count: (handler.send_response(302), handler.send_header("location", "/other"),
                                                  handler.send_header("content-length", "0"), handler.end_headers()))
        self.write("inbox/a.csv", GOOD)
        self.call("run", "--once")
        self.assertGreaterEqual(len(seen), 1)
        self.assertNotEqual(self.lines("deliveries")[0]["state"], "sent")

    def test_that_answers_garbage_or_hangs_up_loses_nothing(self):
        def answer(handler, count):
            if count == 1:
                handler.wfile.write(b"\x00\xff garbage\r\n\r\n")
                handler.close_connection = True
            elif count == 2:
                handler.close_connection = True
            else:
                self.reply(handler, 204)
        seen = self.serve(answer)
        self.write("inbox/a.csv", GOOD)
        self.start()
        self.wait_until(lambda: self.lines("deliveries") and self.lines("deliveries")[0]["state"] == "sent", "sent")
        self.assertEqual(len({name for name, _ in seen}), 1)

    def test_secrets_are_never_shown(self):
        # Promise 10: not in logs, errors, listings, the process list or the ledger.
        self.serve(lambda handler, count: self.reply(handler, 500))
        self.write("girdled.yaml", (self.root / "girdled.yaml").read_text() + "log: { level: debug }\n")
        self.write("inbox/a.csv", GOOD)
        _, out, err = self.call("run", "--once")
        shown = out + err + "".join(self.call(verb, "--json")[1] for verb in ("cases", "readings", "deliveries", "aside"))
        for path in (self.root / "state").iterdir():
            shown += path.read_bytes().decode("latin-1")
        self.assertNotIn("MDEyMzQ1", shown)
        self.assertNotIn("0123456789012345", shown)


class TheCase(Shop):
    def setUp(self):
        super().setUp()
        (self.root / "stock").mkdir()
        self.write("girdled.yaml", CONFIG + STOCK_LIST)
        self.write("stock.mapping.yaml", STOCK_MAPPING)
        self.lists = 0

    def takes(self, *rows):
        """A stock list comes in, an hour after the one before (from 2026-11-01 08:00 UTC); gives the closing line."""
        self.lists += 1
        name = f"stock/list-{self.lists}.csv"
        self.write(name, "stock,identity,carat,cut\n" + "".join(row + "\n" for row in rows))
        os.utime(self.root / name, (1_793_516_400 + 3600 * self.lists,) * 2)
        return self.once()

    def once(self):
        code, _, err = self.call("run", "--once")
        self.assertEqual(code, 0, err)
        return err.splitlines()[-1].split(" info came in ")[1]

    def test_of_a_stone_that_is_declared_and_not_measured_yet_tells_the_declaration_and_its_duplicates(self):
        self.takes("R1,natural,0.30,Ideal", "R2,natural,0.31,")
        self.takes("R2,natural,0.31,", "R1,natural,0.30,Ideal")
        code, out, err = self.call("case", "R1")
        self.assertEqual((code, err), (0, ""))
        said, _, head, first, again, *_ = out.splitlines()
        self.assertEqual(said, "R1 is declared, and was not measured yet")
        self.assertEqual(head.split(), ["DECLARED", "FROM", "WORTH", "CLAIM"])
        self.assertRegex(first, r"^2026-11-01 09:00:00 \+01:00  stock-list list-1\.csv:2  in force   natural, carat 0\.30, extra\.cut Ideal$")
        self.assertRegex(again, r"^2026-11-01 10:00:00 \+01:00  stock-list list-2\.csv    duplicate  the same as above$")
        self.assertNotIn("\x1b", out, "colour only on a terminal")
        [told] = self.lines("case", "R1")
        self.assertEqual([told["outcome"], told["state"], told["stock_number"]], [None, None, "R1"])
        self.assertEqual([told["readings"], told["outcomes"], told["deliveries"]], [[], [], []])
        [declared] = told["declarations"]
        self.assertEqual(declared["declaration"]["extra"], {"cut": "Ideal"})
        self.assertEqual((declared["in_force"], declared["document"]), (True, "list-1.csv"))
        self.assertEqual([(again["document"], again["came_at"]) for again in declared["duplicates"]],
                         [("list-2.csv", "2026-11-01T09:00:00.000Z")])

    def test_marks_the_declaration_in_force_that_the_outcome_rests_on(self):
        self.takes("R1042,natural,0.53,Good")
        self.takes("R1042,simulant,0.53,Good")
        self.takes("R1042,natural,0.53,Good")  # the bytes of the first list again: it says so anew
        self.write("inbox/a.csv", GOOD)
        self.once()
        [told] = self.lines("case", "R1042")
        self.assertEqual([(d["declaration"]["identity"], d["in_force"], len(d["duplicates"])) for d in told["declarations"]],
                         [("natural", True, 1), ("simulant", False, 0)])
        self.assertEqual(told["outcome"]["declared"]["identity"], "natural")
        self.assertEqual(len(told["readings"]), 2)
        self.takes("R1042,simulant,0.53,Good")
        [told] = self.lines("case", "R1042")
        self.assertEqual([d["in_force"] for d in told["declarations"]], [False, True])
        self.assertEqual(told["outcome"]["declared"]["identity"], "simulant")

    def test_shows_a_person_the_newest_five_duplicates_and_a_program_all(self):
        self.takes("R1,natural,0.30,Ideal", *["R1,natural,0.30,Ideal"] * 7)
        out = self.call("case", "R1")[1]
        self.assertEqual(out.count(" duplicate  "), 5)
        self.assertIn("2 older duplicates", out)
        [told] = self.lines("case", "R1")
        self.assertEqual(len(told["declarations"][0]["duplicates"]), 7)

    def test_of_a_number_whose_only_reading_was_corrected_away_shows_that_reading(self):
        self.write("inbox/a.csv", HEAD + "1;02.11.2026 10:15;R7;A;0.53\n1;02.11.2026 10:16;R8;A;0.53\n")
        self.once()
        code, out, _ = self.call("case", "R7")
        self.assertEqual(code, 0)
        self.assertIn("R7 has no reading that counts", out)
        self.assertIn("corrected by a newer record of the same run", out)

    def test_of_a_number_that_nobody_knows_is_refused(self):
        self.takes("R1,natural,0.30,Ideal")
        code, out, err = self.call("case", "R9")
        self.assertEqual((code, out), (1, ""))
        self.assertIn("R9 is not known here", err)

    def test_is_summed_up_by_the_closing_line_of_run_once(self):
        self.write("girdled.yaml", CONFIG + STOCK_LIST + OUTLET % 1)  # nobody listens there
        self.write("inbox/a.csv", GOOD)
        self.write("inbox/b.csv", GOOD + "3;02.11.2026 10:20;R1043;A;0.5\n3;02.11.2026 10:21;R1043;B;0.5\n4;02.11.2026 10:22;R1;Q;1\n")
        self.write("stock/list.csv", "stock,identity,carat,cut\nR1042,natural,0.53,\nR1042,natural,0.53,\nR2,natural,0.3,\n")
        _, _, err = self.call("run", "--once")
        self.assertRegex(err.splitlines()[-1], r" info came in readings=4 duplicates=2 corrections=1 declarations=2 "
                         r"duplicate_declarations=1 scans=0 set_aside=1 ignored=0 outcomes=(\d+) sent=0 parked=0 waiting=\1$")


class ADocumentWithSeveralKindsOfRecords(Shop):
    """Columns mean one thing in a line of results and another in its header and trailer."""
    MAPPING = """records:
  - when: { kind: R }
    record: reading
    fields:
      instrument:   { value: A-0117 }
      run:          { from: no }
      measured_at:  { from: at, form: "%d.%m.%Y %H:%M" }
      stock_number: { from: item, match: '(?P<series>[A-Z]+)-(\\d+)/\\d+', take: '\\g<series>\\2' }
      position:     { from: item, match: '[A-Z]+-\\d+/(\\d+)' }
      finding:      { from: result, words: { nat: natural, "lab grown": laboratory_grown }, fold: [case, space] }
      carat:        { from: weight, unit: mg }
      operator:     { from: who, default: nobody }
  - when: { kind: S }
    record: scan
    fields:
      bench:        { value: counter-1 }
      stock_number: { from: item }
      scanned_at:   { from: at, form: "%d.%m.%Y %H:%M" }
  - { when: { kind: [H, L] }, ignore: header and trailer }
"""
    LINES = ("kind;no;at;item;result;weight;who\n"
             "H;;02.11.2026 10:00;;;;\n"
             "S;;02.11.2026 10:14;R1042;;;\n"
             "R;1;02.11.2026 10:15;R-1042/2;NAT;106,5;eve\n"
             "R;2;02.11.2026 10:17;R-1042/2;Lab  Grown;107;\n"
             "Q;3;02.11.2026 10:18;;;;\n"
             "R;4;02.11.2026 10:19;1042;Nat;107;eve\n"
             "L;2;02.11.2026 18:00;;;;\n")

    def setUp(self):
        super().setUp()
        self.write("exports.mapping.yaml", self.MAPPING)

    def test_is_previewed_with_what_is_ignored_and_what_is_set_aside(self):
        self.write("sample.csv", self.LINES.replace("106,5", "106.5"))
        code, out, err = self.call("preview", "--intake", "exports", self.root / "sample.csv")
        self.assertEqual(code, 1)
        first, second, scan = [json.loads(line) for line in out.splitlines()]
        self.assertEqual((first["stock_number"], first["position"], first["finding"], first["operator"]), ("R1042", "2", "natural", "eve"))
        # 107 mg are 0.535 ct: the metric carat is 200 mg (4th CGPM, 1907).
        self.assertEqual((second["finding"], second["carat"], second["operator"]), ("laboratory_grown", "0.535", "nobody"))
        self.assertEqual((first.get("defaults"), second["defaults"]), (None, ["operator"]))
        self.assertEqual((scan["record"], scan["bench"]), ("scan", "counter-1"))
        self.assertEqual([line.replace(f"{self.root}/", "") for line in err.splitlines()], [
            'sample.csv:6: set aside: fits no section of the mapping: column "kind" holds "Q" (it has sections for R, S, H and L)',
            'sample.csv:7: set aside: column "item" holds "1042", which does not match the pattern (?P<series>[A-Z]+)-(\\d+)/\\d+',
            "sample.csv: 2 records ignored: header and trailer"])

    def test_is_previewed_as_right_where_records_are_only_ignored(self):
        self.write("sample.csv", "kind\nL\n")
        self.assertEqual(self.call("preview", "--intake", "exports", self.root / "sample.csv"),
                         (0, "", f"{self.root}/sample.csv: 1 record ignored: header and trailer\n"))

    def test_is_taken_in_whole_and_its_ignored_records_are_counted(self):
        self.write("inbox/a.csv", self.LINES)
        _, _, err = self.call("run", "--once")
        self.assertRegex(err.splitlines()[-1], r" info came in readings=1 duplicates=0 corrections=0 declarations=0 "
                         r"duplicate_declarations=0 scans=1 set_aside=3 ignored=2 outcomes=1 ")
        reading, = self.lines("readings")
        self.assertEqual((reading["operator"], reading["defaults"]), ("nobody", ["operator"]))

    # Without a run it would count twice.
    def test_counts_no_measurement_again_because_the_mapping_got_a_default(self):
        mapping = self.MAPPING.replace("      run:          { from: no }\n", "")
        self.write("exports.mapping.yaml", mapping.replace(", default: nobody", ""))
        self.write("inbox/a.csv", self.LINES)
        self.call("run", "--once")
        self.write("exports.mapping.yaml", mapping)
        self.write("inbox/b.csv", self.LINES + "L;9;02.11.2026 18:01;;;;\n")
        _, _, err = self.call("run", "--once")
        self.assertRegex(err.splitlines()[-1], r" came in readings=0 duplicates=1 ")
        self.assertEqual([reading.get("defaults") for reading in self.lines("readings")], [None])


class TheCommandLine(Shop):
    def test_has_exit_code_2_for_a_wrong_call(self):
        self.assertEqual(self.call("run", "--onec")[0], 2)
        self.assertEqual(self.call("nonsense", config=False)[0], 2)
        self.assertEqual(self.call("--help", config=False)[0], 0)

    def test_preview_shows_readings_and_touches_nothing(self):
        self.write("sample.csv", GOOD + "3;02.11.2026 10:18;R1;Q;0.5\n")
        code, out, err = self.call("preview", "--intake", "exports", self.root / "sample.csv")
        self.assertEqual(code, 1)
        self.assertEqual([json.loads(line)["run"] for line in out.splitlines()], ["1", "2"])
        self.assertIn("sample.csv:4: set aside", err)
        self.assertFalse((self.root / "state").exists())

    def test_decide_evaluates_any_table(self):
        # DMN 1.5 clause 8.2.10: FIRST takes the first match in rule order; no match is null.
        self.write("table.yaml", "hit_policy: FIRST\ninputs:\n  - { expression: x, type: number }\noutputs:\n  - { name: y, type: string }\n"
                   "rules:\n  - { when: ['>= 10'], then: ['\"a\"'] }\n  - { when: ['>= 5'], then: ['\"b\"'] }\n")
        self.write("facts.json", '{"x": 12}\n{"x": "7"}\n{"x": 1}\n')
        code, out, err = self.call("decide", "--table", self.root / "table.yaml", "--input", self.root / "facts.json", config=False)
        self.assertEqual(code, 0, err)
        self.assertEqual([json.loads(line) for line in out.splitlines()],
                         [{"outputs": {"y": "a"}, "rules": [1]}, {"outputs": {"y": "b"}, "rules": [2]}, {"outputs": None, "rules": []}])


if __name__ == "__main__":
    unittest.main(verbosity=1)
