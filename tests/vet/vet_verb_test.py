"""girdled vet as an author calls it: what it prints, and its exit codes.

    python3 vet_verb_test.py GIRDLED SOURCES TEST-READERS
"""
import fcntl
import json
import os
import pathlib
import pty
import re
import struct
import subprocess
import sys
import tempfile
import termios
import unittest

GIRDLED, SOURCES, READERS = (os.path.abspath(path) for path in sys.argv[1:4])
del sys.argv[1:4]
SAMPLES = f"{SOURCES}/tests/vet/samples"
WAYWARD = f"{READERS}/wayward.reader.yaml"


def vet(*arguments):
    return subprocess.run([GIRDLED, "vet", *arguments], capture_output=True, text=True, timeout=120)


def on_a_terminal(columns, *arguments):
    """What it prints to a terminal that is so wide."""
    terminal, end = pty.openpty()
    fcntl.ioctl(end, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    env = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    with subprocess.Popen([GIRDLED, "vet", *arguments], stdout=end, stderr=end, env=env) as process:
        os.close(end)
        printed = b""
        try:
            while block := os.read(terminal, 4096):
                printed += block
        except OSError:  # as Linux says that nobody has the other end any more
            pass
        process.wait(120)
    os.close(terminal)
    return printed.decode()


class VetVerb(unittest.TestCase):
    def test_a_good_reader_is_approved_in_a_line_for_each_check(self):
        done = vet(WAYWARD, "--samples", SAMPLES, "--time", "200ms")
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        lines = done.stdout.splitlines()
        self.assertEqual(len(lines), 19, done.stdout)
        for line in lines[:-1]:
            self.assertRegex(line, r"^  ok     [a-z]+ +[a-z]")
        self.assertEqual(lines[-1], "wayward 0.1.0: approved, with 1 sample of 200 bytes")
        self.assertEqual(done.stderr, "")

    def test_a_fault_says_where_what_and_what_would_be_right(self):
        done = vet(WAYWARD, "--samples", SAMPLES, "--option", "behaviour=wrong_line", "--only", "records")
        self.assertEqual(done.returncode, 1)
        self.assertIn("  FAULT  records      keeps to the contract on every sample read at once; 6 records, 1 aside,",
                      done.stdout)
        self.assertIn("         where  001-lines.txt, read at once\n"
                      "         what   says that the record at 0 begins on line 2\n"
                      "         right  it begins on line 1; 0 where it is not known\n", done.stdout)
        self.assertTrue(done.stdout.endswith("wayward 0.1.0: not approved, 1 fault\n"), done.stdout)

    def test_a_fault_is_shown_also_where_another_check_was_asked_for(self):
        done = vet(f"{READERS}/liar.reader.yaml", "--samples", SAMPLES, "--only", "cuts")
        self.assertEqual(done.returncode, 1)
        self.assertIn("         what   exports 1 more: liar_says_more\n", done.stdout)

    def test_checks_without_time_for_all_samples_say_so(self):
        with tempfile.TemporaryDirectory() as folder:
            for i in range(40):
                pathlib.Path(folder, f"{i}.txt").write_text("item R1042 result A\n" * 40)
            done = vet(WAYWARD, "--samples", folder, "--time", "30ms", "--only", "records", "--only", "cuts")
        self.assertEqual(done.returncode, 0, done.stdout)
        self.assertRegex(done.stdout, r"  ok     cuts .* \([0-9]+ of 40 samples, [0-9]+ tries\)\n")
        self.assertTrue(done.stdout.endswith("1 check had no time for all samples; --time gives more\n"), done.stdout)

    def test_on_a_terminal_no_line_is_wider_than_it_is(self):
        for more in ([], ["--option", "behaviour=saves_nothing"], ["--option", "behaviour=crashes"]):
            text = on_a_terminal(80, WAYWARD, "--samples", SAMPLES, "--time", "50ms", *more)
            self.assertIn("\x1b[", text)
            lines = re.sub(r"\x1b\[[0-9;]*m", "", text).splitlines()
            self.assertGreater(len(lines), 8)
            for line in lines:
                self.assertLessEqual(len(line), 80, line)
            # What is broken goes on below where it began.
            self.assertIn("  ok     negotiation  takes this version of the ABI, and none that it was not", lines)
            self.assertIn(" " * 22 + "offered (16 tries)", lines)

    def test_help_fits_a_terminal_too(self):
        done = vet("--help")
        self.assertEqual(done.returncode, 0)
        ours, everybodys = done.stdout.split("\nA screening result is no identification report")
        for line in ours.splitlines():
            self.assertLessEqual(len(line), 80, line)

    def test_nothing_is_asked_of_a_library_that_crashes(self):
        done = vet(f"{READERS}/crashing.reader.yaml", "--samples", SAMPLES)
        self.assertEqual(done.returncode, 1)
        self.assertIn("crashes in loading (SIGABRT)", done.stdout)
        self.assertIn("outside, leaks and cost left out: there is no whole descriptor crashing\n", done.stdout)

    def test_the_report_is_one_json_object(self):
        done = vet(WAYWARD, "--samples", SAMPLES, "--time", "100ms", "--json")
        report = json.loads(done.stdout)
        self.assertEqual(done.stdout.count("\n"), 1)
        self.assertEqual((report["verdict"], report["reader"]["name"]), ("approved", "wayward"))
        self.assertEqual(len(report["checks"]), 18)

    def test_a_reader_is_found_by_its_name_and_by_its_folder(self):
        for arguments in [("delimited",), (f"{READERS}/wayward.reader.yaml",), ("liar", "--readers", READERS)]:
            done = vet(*arguments, "--samples", SAMPLES, "--only", "library")
            self.assertIn(done.returncode, (0, 1), done.stderr)
            self.assertIn("library", done.stdout)
        with tempfile.TemporaryDirectory() as folder:
            pathlib.Path(folder, "lost.reader.yaml").write_text("name: lost\n")
            self.assertIn("it has no version", vet(folder, "--samples", SAMPLES).stdout)

    def test_a_wrong_call_is_2_and_a_sample_that_cannot_be_read_is_1(self):
        calls = {
            ("delimted", "--samples", SAMPLES): 'there is no reader "delimted"; did you mean delimited?',
            ("/no/such.reader.yaml", "--samples", SAMPLES): "there is no manifest /no/such.reader.yaml",
            (READERS, "--samples", SAMPLES): "has 3 manifests of readers; name the one to vet",
            (WAYWARD, "--samples", SAMPLES, "--time", "soon"): "it is a duration such as 5s",
            (WAYWARD, "--samples", SAMPLES, "--only", "speed"): 'there is no check "speed"; there is manifest, ',
            (WAYWARD, "--samples", SAMPLES, "--option", "behaviour"): "it is NAME=VALUE",
            (WAYWARD, "--samples", SAMPLES, "--keep", "/no/such"): "is no folder",
        }
        for arguments, text in calls.items():
            done = vet(*arguments)
            self.assertEqual(done.returncode, 2, arguments)
            self.assertIn(text, done.stderr)
            self.assertEqual(done.stdout, "")
        self.assertEqual(vet(WAYWARD).returncode, 2)
        wrong = {
            ("--samples", "/no/such/folder"): "/no/such/folder cannot be read",
            ("--samples", SAMPLES, "--option", "behavior=x"): 'has no option "behavior"; did you mean behaviour?',
        }
        for arguments, text in wrong.items():
            done = vet(WAYWARD, *arguments)
            self.assertEqual(done.returncode, 1, arguments)
            self.assertIn(text, done.stderr)


if __name__ == "__main__":
    unittest.main()
