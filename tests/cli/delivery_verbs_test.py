"""girdled deliveries, resend and outlet, as people call them: beside a service at work, and where none runs.

    python3 delivery_verbs_test.py GIRDLED
"""
import fcntl
import http.server
import json
import os
import pathlib
import pty
import shutil
import signal
import socket
import stat
import struct
import subprocess
import sys
import tempfile
import termios
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
intakes:
  - name: exports
    folder: { path: inbox, match: "*.csv", content: whole, settle: 100ms }
    reader: delimited
    mapping: exports.mapping.yaml
outlets:
  - name: till
    webhook: { url: "http://127.0.0.1:%d/hook", secret_file: secret, timeout: 2s }
    retry: [%s]
  - name: inventory
    folder: { path: drop, name: "{stock_number}-{id}.json" }
"""
MAPPING = """record: reading
fields:
  instrument:   { value: A-0117 }
  run:          { from: no }
  measured_at:  { from: at, form: "%Y-%m-%d %H:%M" }
  stock_number: { from: item }
  finding:      { from: result, words: { A: natural, B: simulant } }
"""
SECRET = "whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE="


class Till(http.server.BaseHTTPRequestHandler):
    """Answers as it is told, and keeps what came."""

    status, came = 200, None

    def do_POST(self):
        self.rfile.read(int(self.headers["Content-Length"]))
        self.server.came.append(self.headers["webhook-id"])
        self.send_response(self.server.status)
        self.send_header("Content-Length", "2")
        self.end_headers()
        self.wfile.write(b"ok" if self.server.status == 200 else b"no")

    def log_message(self, *_):
        pass


class Shop(unittest.TestCase):
    RETRY = "1h"

    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-verbs-"))
        for folder in ("inbox", "drop"):
            (self.root / folder).mkdir()
        self.till = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Till)
        self.till.status, self.till.came = 200, []
        threading.Thread(target=self.till.serve_forever, daemon=True).start()
        (self.root / "girdled.yaml").write_text(CONFIG % (self.till.server_port, self.RETRY))
        (self.root / "exports.mapping.yaml").write_text(MAPPING)
        (self.root / "secret").write_text(SECRET + "\n")
        (self.root / "secret").chmod(0o600)
        self.runs = 0
        self.service = None

    def tearDown(self):
        if self.service:
            self.service.kill()
            self.service.communicate()
        self.till.shutdown()
        self.till.server_close()
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

    def measure(self, stock_number, result="A"):
        self.runs += 1
        row = f"no,at,item,result\n{self.runs},2026-11-02 10:{self.runs:02},{stock_number},{result}\n"
        part = self.root / ".part"
        part.write_text(row)
        part.rename(self.root / "inbox" / f"{self.runs}.csv")

    def once(self):
        self.call("run", "--once")

    def start(self):
        self.service = subprocess.Popen([GIRDLED, "run", "--config", str(self.root / "girdled.yaml")],
                                        stderr=subprocess.PIPE, text=True)
        for line in self.service.stderr:
            if " ready " in line:
                return threading.Thread(target=self.service.stderr.read, daemon=True).start()
        self.fail(f"girdled ended with {self.service.wait()}")

    def stop(self):
        self.service.send_signal(signal.SIGTERM)
        self.assertEqual(self.service.wait(timeout=20), 0)

    def wait_until(self, holds, what):
        deadline = time.time() + 20
        while not holds():
            self.assertLess(time.time(), deadline, what)
            time.sleep(0.05)

    def states(self, outlet="till"):
        return {(d["stock_number"], d["sequence"]): d["state"] for d in self.lines("deliveries", "--outlet", outlet)}

    def outlet(self, name="till"):
        return next(line for line in self.lines("outlet", "list") if line["outlet"] == name)


class TheList(Shop):
    def test_tells_how_each_delivery_stands_and_what_became_of_every_attempt(self):
        self.till.status = 503
        self.measure("R1042")
        self.once()
        delivery = self.lines("deliveries", "--outlet", "till")[0]
        self.assertEqual((delivery["state"], delivery["attempts"], delivery["status"]), ("waiting", 1, 503))
        self.assertEqual(delivery["id"], f'{delivery["case"]}-1')
        self.assertEqual(len(delivery["tries"]), 1)
        self.assertEqual(delivery["tries"][0]["status"], 503)
        self.assertEqual(delivery["tries"][0]["answer"], "no")
        dropped = self.lines("deliveries", "--outlet", "inventory")[0]
        self.assertEqual((dropped["state"], dropped["due"]), ("sent", None))
        self.assertTrue((self.root / "drop" / dropped["reference"]).exists())
        out = self.done("deliveries", "--why")
        self.assertIn("503", out)
        self.assertIn("taken", out)
        self.assertIn(dropped["reference"], out)

    def test_takes_filters(self):
        for stock_number in ("R1042", "R1043", "Q7"):
            self.measure(stock_number)
        self.once()
        def listed(*filters):
            return sorted((d["stock_number"], d["outlet"]) for d in self.lines("deliveries", *filters))
        self.assertEqual(len(listed()), 6)
        self.assertEqual(listed("--outlet", "till", "--stock", "R10*"), [("R1042", "till"), ("R1043", "till")])
        self.assertEqual(listed("Q7"), [("Q7", "inventory"), ("Q7", "till")])
        case = self.lines("deliveries", "Q7")[0]["case"]
        self.assertEqual(listed("--case", case), listed("Q7"))
        self.assertEqual(listed("--state", "parked"), [])
        self.assertEqual(len(listed("--state", "sent")), 6)
        self.assertEqual(len(listed("--limit", "2")), 2)
        self.assertEqual(len(listed("--since", "1h")), 6)
        self.assertEqual(listed("--until", "2001-01-01"), [])
        self.refused(2, "deliveries", "--state", "lost")
        self.refused(2, "deliveries", "--since", "yesterday")
        code, out, err = self.call("deliveries", "--stock", "R9")
        self.assertEqual((code, out, err), (0, "", "No deliveries.\n"))

    def test_fits_a_terminal_of_80_columns(self):
        self.till.status = 503
        self.measure("R1042")
        self.measure("EARRINGS-2026-0417")
        self.once()
        self.done("outlet", "pause", "till", "--why", "the till is being moved to the other side of the counter, until noon")
        for arguments in (["deliveries"], ["deliveries", "--why"], ["outlet", "list"], ["resend", "--since", "1d", "--dry-run"]):
            lines = self.on_a_terminal(80, *arguments)
            self.assertGreater(len(lines), 2, lines)
            for line in lines:
                self.assertLessEqual(len(line), 80, line)

    def on_a_terminal(self, columns, *arguments):
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        command = [GIRDLED, *arguments, "--config", str(self.root / "girdled.yaml")]
        environment = {**os.environ, "NO_COLOR": ""}
        process = subprocess.Popen(command, stdout=theirs, stderr=subprocess.DEVNULL, env=environment)
        os.close(theirs)
        shown = b""
        while True:
            try:
                piece = os.read(ours, 4096)
            except OSError:
                break
            if not piece:
                break
            shown += piece
        os.close(ours)
        self.assertEqual(process.wait(), 0)
        text = shown.decode().replace("\r\n", "\n")
        for escape in ("\x1b[1m", "\x1b[2m", "\x1b[0m"):
            text = text.replace(escape, "")
        return text.splitlines()


class SendingAgain(Shop):
    RETRY = ""  # parked after the first attempt

    def setUp(self):
        super().setUp()
        self.till.status = 503
        self.measure("R1042")
        self.measure("R1043")
        self.once()
        self.assertEqual(set(self.states().values()), {"parked"})
        self.till.status = 200
        self.till.came.clear()

    def ids(self, stock_number):
        return [d["id"] for d in self.lines("deliveries", "--outlet", "till", "--stock", stock_number)]

    def test_works_while_no_service_runs(self):
        out = self.done("resend", "--parked")
        self.assertEqual(out, "2 deliveries are sent again, under the ids that they have\n")
        self.assertEqual(set(self.states().values()), {"waiting"})
        self.once()
        self.assertEqual(set(self.states().values()), {"sent"})
        self.assertEqual(sorted(self.till.came), sorted(self.ids("R1042") + self.ids("R1043")))

    def test_works_while_the_service_runs(self):
        self.start()
        out = self.done("resend", "--parked", "--outlet", "till")
        self.assertEqual(out, "2 deliveries are sent again, under the ids that they have\n")
        self.wait_until(lambda: set(self.states().values()) == {"sent"}, "not sent again")
        self.assertEqual(sorted(self.till.came), sorted(self.ids("R1042") + self.ids("R1043")))

    def test_takes_one_delivery_by_its_number_or_by_the_id_of_its_event(self):
        number = self.lines("deliveries", "--outlet", "till", "--stock", "R1042")[0]["delivery"]
        self.assertIn("1 delivery is sent again", self.done("resend", "--delivery", number))
        self.assertEqual(self.states(), {("R1042", 1): "waiting", ("R1043", 1): "parked"})
        event = self.ids("R1043")[0]
        self.assertEqual(json.loads(self.done("resend", "--delivery", event, "--outlet", "till", "--json")),
                         {"again": 1, "waiting": 0, "overtaken": 0, "dry_run": False})
        self.assertEqual(set(self.states().values()), {"waiting"})
        # Without an outlet: at each that has it.
        self.assertEqual(json.loads(self.done("resend", "--delivery", event, "--json")),
                         {"again": 1, "waiting": 1, "overtaken": 0, "dry_run": False})

    def test_takes_a_stock_number_a_time_and_an_outlet(self):
        self.assertIn("1 delivery is", self.done("resend", "--case", "R1042", "--outlet", "till"))
        self.assertEqual(self.states()["R1043", 1], "parked")
        self.assertIn("2 deliveries are", self.done("resend", "--since", "1h", "--outlet", "inventory"))
        code, out, err = self.call("resend", "--until", "2001-01-01")
        self.assertEqual((code, out), (0, ""), err)

    def test_says_with_dry_run_what_it_would_do_and_does_nothing(self):
        before = self.lines("deliveries")
        out = self.done("resend", "--since", "1h", "--dry-run")
        self.assertIn("4 deliveries would be sent again", out)
        self.assertEqual(out.count("would be sent again"), 5)
        self.start()
        self.assertIn("2 deliveries would be sent again", self.done("resend", "--parked", "--dry-run"))
        self.assertEqual(self.lines("deliveries"), before)
        self.assertEqual(self.till.came, [])

    def test_says_what_is_wrong(self):
        self.assertIn("--parked", self.refused(2, "resend"))
        self.assertIn("--parked", self.refused(2, "resend", "--outlet", "till"))
        self.assertIn("no outlet \"til\"", self.refused(2, "resend", "--parked", "--outlet", "til"))
        self.assertIn("neither a time", self.refused(2, "resend", "--since", "yesterday"))
        for arguments in (["--delivery", "99"], ["--delivery", "abcdefgh-65536-1"], ["--case", "R9"]):
            self.refused(1, "resend", *arguments)
            self.refused(1, "resend", *arguments, "--dry-run")
        for option in ("--delivery", "--case", "--since", "--until", "--outlet"):  # a script's empty variable
            self.assertIn("is empty", self.refused(2, "resend", "--parked", option, ""))
        self.start()
        self.assertIn("there is no delivery 99", self.refused(1, "resend", "--delivery", "99"))

    def test_leaves_what_a_later_outcome_overtook(self):
        self.measure("R1042", "B")
        self.once()  # another outcome of the case, and it arrives
        self.assertEqual(self.states()["R1042", 2], "sent")
        self.till.came.clear()
        code, out, _ = self.call("resend", "--parked", "--case", "R1042")
        self.assertEqual(code, 1)
        self.assertIn("a later outcome of its case has its place", out)
        self.assertEqual(self.states()["R1042", 1], "parked")


class AnOutlet(Shop):
    def test_is_paused_and_resumed_while_the_service_runs(self):
        self.start()
        self.assertIn("is paused", self.done("outlet", "pause", "till", "--why", "the till is being moved"))
        self.measure("R1042")
        self.wait_until(lambda: self.states("inventory").get(("R1042", 1)) == "sent", "the other outlet waits too")
        time.sleep(0.3)
        self.assertEqual((self.till.came, self.states()["R1042", 1]), ([], "waiting"))
        self.assertEqual(self.lines("deliveries", "--outlet", "till")[0]["stopped"], "paused")
        self.assertIn("is open again", self.done("outlet", "resume", "till"))
        self.wait_until(lambda: self.states()["R1042", 1] == "sent", "nothing is sent after resume")

    def test_stays_paused_over_restarts_and_may_be_resumed_while_no_service_runs(self):
        self.once()
        self.done("outlet", "pause", "till", "--why", "moved")
        self.measure("R1042")
        self.once()
        self.start()
        time.sleep(0.3)
        self.stop()
        self.assertEqual(self.till.came, [])
        self.done("outlet", "resume", "till")
        self.once()
        self.assertEqual(self.states()["R1042", 1], "sent")

    def test_tells_who_paused_it_and_why(self):
        self.once()
        self.done("outlet", "pause", "till", "--why", "the till is being moved")
        line = self.outlet()
        self.assertEqual(line["state"], "paused")
        self.assertRegex(line["why"], r"^.+: the till is being moved$")
        self.assertRegex(line["paused_at"], r"^20\d\d-.*Z$")
        self.assertIn("was paused already", self.done("outlet", "pause", "till", "--why", "again"))
        self.assertIn("is open again", self.done("outlet", "resume", "till"))
        self.assertIn("was open already", self.done("outlet", "resume", "till"))

    def test_that_its_receiver_closed_is_opened_by_resume(self):
        self.till.status = 410
        self.start()
        self.measure("R1042")
        self.wait_until(lambda: self.outlet()["state"] == "closed", "410 does not close")
        self.assertIn("410", self.outlet()["why"])
        self.till.status = 200
        self.done("outlet", "resume", "till")
        self.wait_until(lambda: self.states()["R1042", 1] == "sent", "nothing is sent after resume")
        self.assertEqual(self.outlet()["state"], "open")

    def test_is_counted(self):
        self.till.status = 503
        for stock_number in ("R1042", "R1043", "R1044"):
            self.measure(stock_number)
        self.once()
        line = self.outlet()
        self.assertEqual((line["waiting"], line["parked"], line["sent"]), (3, 0, 0))
        self.assertEqual(self.outlet("inventory")["sent"], 3)
        self.assertIn("inventory", self.done("outlet", "list"))

    def test_that_is_not_there_is_a_wrong_call(self):
        self.once()
        self.assertIn("it knows till and inventory", self.refused(2, "outlet", "pause", "til", "--why", "x"))
        self.refused(2, "outlet", "resume", "til")
        self.refused(2, "outlet", "pause", "till")
        self.refused(2, "outlet")
        self.assertIn("needs a reason", self.refused(1, "outlet", "pause", "till", "--why", "x" * 2000))
        self.assertIn("needs a reason", self.refused(1, "outlet", "pause", "till", "--why", "two\nlines"))


class TheSocket(Shop):
    def path(self):
        return self.root / "state/ledger.db.control"

    def test_is_for_its_user_alone_and_goes_with_the_service(self):
        self.start()
        self.assertEqual(stat.S_IMODE(self.path().stat().st_mode), 0o600)
        self.stop()
        self.assertFalse(self.path().exists())

    def test_of_a_killed_service_is_in_nobodys_way(self):
        self.start()
        self.service.kill()
        self.service.communicate()
        self.assertTrue(self.path().is_socket())
        self.done("outlet", "pause", "till", "--why", "killed")  # without a service
        self.start()
        self.done("outlet", "resume", "till")  # by the service
        self.stop()

    def test_bears_silence_and_nonsense(self):
        self.start()
        silent = []
        for _ in range(6):
            connection = socket.socket(socket.AF_UNIX)
            connection.connect(str(self.path()))
            silent.append(connection)
        for nonsense in (b"\n", b"\xff" * 1000 + b"\n", b"{" * 70000 + b"\n", b'{"do":"erase"}\n'):
            connection = socket.socket(socket.AF_UNIX)
            connection.settimeout(30)
            connection.connect(str(self.path()))
            try:
                connection.sendall(nonsense)
            except OSError:
                pass
            self.assertIn(b"refused", connection.recv(65536))
            connection.close()
        self.done("outlet", "pause", "till", "--why", "it still listens")
        for connection in silent:
            connection.close()
        self.stop()


if __name__ == "__main__":
    unittest.main(verbosity=2)
