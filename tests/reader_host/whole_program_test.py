"""girdled as a whole with readers that do not ship with it: they run in processes of their own, and hurt nobody.

    python3 whole_program_test.py GIRDLED TEST_READERS SHIPPED_READERS
"""
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

TEST_READERS = pathlib.Path(sys.argv[2]).resolve()
SHIPPED_READERS = pathlib.Path(sys.argv[3]).resolve()
GIRDLED = os.path.abspath(sys.argv[1])
del sys.argv[1:4]

CONFIG = """site: quay-street
ledger: { path: state/ledger.db }
log: { level: info }
readers: [ %(readers)s ]
intakes:
  - name: odd
    folder: { path: odd, match: "*.txt", content: whole, settle: 0s }
    reader: %(reader)s
    options: { behaviour: "%(behaviour)s" }
    isolate: %(isolate)s
    mapping: odd.mapping.yaml
  - name: stock-list
    folder: { path: stock, match: "*.csv", content: whole, settle: 0s }
    reader: delimited
    mapping: stock.mapping.yaml
"""
ODD_MAPPING = "record: declaration\nfields: { stock_number: { from: text } }\n"
STOCK_MAPPING = "record: declaration\nfields: { stock_number: { from: stock } }\n"


def children(process):
    """Processes of a parent, by /proc (proc(5))."""
    found = []
    for path in pathlib.Path("/proc").glob("[0-9]*/stat"):
        try:
            text = path.read_text()
        except OSError:
            continue
        fields = text[text.rindex(")") + 2:].split()
        if int(fields[1]) == process:
            found.append((int(path.parent.name), fields[0], text[text.index("(") + 1:text.rindex(")")]))
    return found


def is_gone(process):
    try:
        text = pathlib.Path(f"/proc/{process}/stat").read_text()
    except OSError:
        return True
    return text[text.rindex(")") + 2] == "Z"  # what is left of it is init's


class Isolation(unittest.TestCase):
    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-isolation-"))
        for folder in ("odd", "stock"):
            (self.root / folder).mkdir()
        (self.root / "odd.mapping.yaml").write_text(ODD_MAPPING)
        (self.root / "stock.mapping.yaml").write_text(STOCK_MAPPING)
        self.running = []

    def tearDown(self):
        for process in self.running:
            process.kill()
            process.communicate()
        shutil.rmtree(self.root, ignore_errors=True)

    def configure(self, behaviour="", reader="odd", readers=None, isolate="foreign"):
        text = CONFIG % {"readers": readers or TEST_READERS, "reader": reader, "behaviour": behaviour, "isolate": isolate}
        if reader != "odd":
            text = text.replace(f'    options: {{ behaviour: "{behaviour}" }}\n', "")
        (self.root / "girdled.yaml").write_text(text)

    def call(self, *arguments):
        return subprocess.run([GIRDLED, *arguments], cwd=self.root, capture_output=True, text=True, timeout=60)

    def start(self):
        with open(self.root / "log", "w") as log:
            process = subprocess.Popen([GIRDLED, "run"], cwd=self.root, stderr=log, stdout=subprocess.DEVNULL)
        self.running.append(process)
        self.until(lambda: " ready " in self.log())
        return process

    def log(self):
        return (self.root / "log").read_text()

    def until(self, holds, seconds=30):
        deadline = time.monotonic() + seconds
        while not holds():
            self.assertLess(time.monotonic(), deadline, self.log())
            time.sleep(0.01)

    def put(self, folder, name, text):
        (self.root / name).write_text(text)
        (self.root / name).rename(self.root / folder / name)

    def declared(self, stock):
        return self.call("case", stock).returncode == 0

    def test_only_readers_that_do_not_ship_have_processes(self):
        self.configure()
        process = self.start()
        self.until(lambda: len(children(process.pid)) == 1)
        self.assertEqual(children(process.pid)[0][2], "girdled-reader-"[:15])
        self.put("odd", "a.txt", "R1\nR2\n")
        self.put("stock", "b.csv", "stock\nS1\n")
        self.until(lambda: self.declared("R2") and self.declared("S1"))
        self.assertEqual(len(children(process.pid)), 1)
        process.send_signal(signal.SIGTERM)
        self.assertEqual(process.wait(timeout=10), 0)

    def test_a_copy_of_a_shipped_reader_elsewhere_does_not_ship(self):
        folder = self.root / "readers"
        folder.mkdir()
        for file in ("delimited.reader.yaml", "girdle-reader-delimited.so"):
            shutil.copy(SHIPPED_READERS / file, folder / file)
        self.configure(reader="delimited", readers=folder)
        process = self.start()
        self.until(lambda: len(children(process.pid)) == 2)

    def test_an_operator_may_trust_a_foreign_reader_and_isolate_one_that_ships(self):
        self.configure(isolate="never")
        trusting = self.start()
        self.put("odd", "a.txt", "R1\n")
        self.until(lambda: self.declared("R1"))
        self.assertEqual(children(trusting.pid), [])
        trusting.send_signal(signal.SIGTERM)
        self.assertEqual(trusting.wait(timeout=10), 0)
        (self.root / "odd.mapping.yaml").write_text(STOCK_MAPPING)
        self.configure(reader="delimited", isolate="always")
        careful = self.start()
        self.until(lambda: len(children(careful.pid)) == 1)
        self.put("odd", "b.txt", "stock\nR2\n")
        self.until(lambda: self.declared("R2"))
        self.assertEqual(len(children(careful.pid)), 1)

    def test_what_a_reader_did_is_set_aside_with_the_reason_and_the_intake_goes_on(self):
        for number, (misdeed, reason) in enumerate((
                ("abort", "crashed: its process was ended by signal 6 (SIGABRT)"),
                ("connect", "made the system call socket, which no reader may make"),
                ("read_file", "made the system call openat, which no reader may make"),
                ("leak_all", "crashed: its process was ended by signal 6 (SIGABRT)"),
                ("send_garbage", "sent what is no answer"),
                ("send_large_size", "sent what is no answer"))):
            with self.subTest(misdeed):
                self.configure(f"feed@BAD:{misdeed}")
                self.put("odd", f"{number}-bad.txt", f"BAD {misdeed}\n")
                self.put("odd", f"{number}-good.txt", f"R{number}\n")
                ran = self.call("run", "--once")
                self.assertIn(f"the reader odd {reason}", ran.stderr)  # the log
                self.assertIn(f"the reader odd {reason}", self.call("aside").stdout)
                self.assertTrue(self.declared(f"R{number}"))

    def test_a_hanging_reader_does_not_keep_the_service_from_stopping(self):
        self.configure("feed@BAD:hang")
        process = self.start()
        self.put("odd", "bad.txt", "BAD\n")
        self.until(lambda: not (self.root / "bad.txt").exists() and children(process.pid))
        time.sleep(0.5)
        reader = children(process.pid)[0][0]
        began = time.monotonic()
        process.send_signal(signal.SIGTERM)
        self.assertEqual(process.wait(timeout=10), 0)
        self.assertLess(time.monotonic() - began, 2)
        self.assertTrue(is_gone(reader))

    def test_others_go_on_while_a_reader_hangs(self):
        self.configure("feed@BAD:hang")
        process = self.start()
        self.put("odd", "bad.txt", "BAD\n")
        time.sleep(0.5)
        self.put("stock", "b.csv", "stock\nS1\n")
        began = time.monotonic()
        self.until(lambda: self.declared("S1"))
        self.assertLess(time.monotonic() - began, 5)
        self.until(lambda: "did not answer in time (10 s" in self.log())
        self.put("odd", "good.txt", "R1\n")
        self.until(lambda: self.declared("R1"))
        self.assertIn("the reader is well again", self.log())
        aside = self.call("aside").stdout
        self.assertIn("did not answer in time", aside)
        process.send_signal(signal.SIGTERM)
        self.assertEqual(process.wait(timeout=10), 0)

    def test_no_reader_outlives_a_girdled_that_is_killed(self):
        self.configure("feed@BAD:hang")
        process = self.start()
        self.put("odd", "bad.txt", "BAD\n")
        self.until(lambda: children(process.pid))
        time.sleep(0.5)
        reader = children(process.pid)[0][0]
        process.kill()
        process.wait()
        self.until(lambda: is_gone(reader), seconds=5)

    def test_a_reload_with_a_reader_that_hangs_keeps_nobody_from_anything(self):
        self.configure()
        process = self.start()
        self.configure(reader="rude-hang")
        process.send_signal(signal.SIGHUP)
        self.until(lambda: len(children(process.pid)) == 2)  # the one at work, and the one that is tried
        self.put("odd", "a.txt", "R1\n")
        self.put("stock", "b.csv", "stock\nS1\n")
        began = time.monotonic()
        self.until(lambda: self.declared("R1") and self.declared("S1"))
        self.assertLess(time.monotonic() - began, 5)
        self.assertNotIn("the configuration is wrong", self.log())
        began = time.monotonic()
        process.send_signal(signal.SIGTERM)
        self.assertEqual(process.wait(timeout=10), 0)
        self.assertLess(time.monotonic() - began, 2)

    def test_a_reload_with_a_reader_that_crashes_leaves_the_old_one_at_work(self):
        self.configure()
        process = self.start()
        self.configure(reader="rude-crash")
        process.send_signal(signal.SIGHUP)
        self.until(lambda: "the old one stays in force" in self.log())
        self.assertIn("reader rude-crash: when it is loaded, it", self.log())
        self.configure()
        process.send_signal(signal.SIGHUP)
        self.until(lambda: "configuration read anew" in self.log())
        self.put("odd", "a.txt", "R1\n")
        self.until(lambda: self.declared("R1"))

    def test_check_and_preview_tell_what_a_reader_did(self):
        self.configure("create:connect")
        checked = self.call("check")
        self.assertEqual(checked.returncode, 1)
        self.assertIn("girdled.yaml:8:13: reader: the reader odd made the system call socket", checked.stdout + checked.stderr)
        self.configure("feed@BAD:write_file")
        (self.root / "bad.txt").write_text("BAD\n")
        shown = self.call("preview", "--intake", "odd", "bad.txt")
        self.assertEqual(shown.returncode, 1)
        self.assertIn("set aside: the reader odd made the system call openat", shown.stderr)
        self.assertFalse((self.root / "girdle-was-here").exists())

    def test_once_takes_what_good_documents_there_are(self):
        self.configure("feed@BAD:abort")
        for number in range(6):
            (self.root / "odd" / f"{number}-bad.txt").write_text(f"BAD{number}\n")
            (self.root / "odd" / f"{number}-good.txt").write_text(f"R{number}\n")
        ran = self.call("run", "--once")
        self.assertEqual(ran.returncode, 1)  # something was set aside
        self.assertIn("declarations=6", ran.stderr)
        self.assertIn("set_aside=6", ran.stderr)


if __name__ == "__main__":
    unittest.main()
