"""girdled draft as it is called: what it writes where, what it refuses, and with which exit code.

    python3 call_test.py GIRDLED
"""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

GIRDLED = os.path.abspath(sys.argv.pop(1))
SAMPLE = "no;date;time;item;result;temp\n1;22.11.2026;10:15:30;R1042;A;21,5\n2;22.11.2026;10:16:40;R1043;Q;21,6\n"


class Calls(unittest.TestCase):
    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-draft-"))
        self.addCleanup(shutil.rmtree, self.root, ignore_errors=True)
        (self.root / "sample.csv").write_text(SAMPLE)

    def draft(self, *arguments, stdin=None):
        done = subprocess.run([GIRDLED, "draft", *arguments], cwd=self.root, input=stdin, capture_output=True, text=True,
                              timeout=60)
        return done.returncode, done.stdout, done.stderr

    def test_writes_both_files_to_a_folder_and_says_what_comes_next(self):
        code, out, err = self.draft("sample.csv", "--out", "shop/new")
        self.assertEqual((code, out), (0, ""))
        self.assertEqual(sorted(path.name for path in (self.root / "shop/new").iterdir()), ["girdled.yaml", "sample.mapping.yaml"])
        self.assertIn('delimited, delimiter ";": 2 records', err)
        self.assertIn("girdled check --config shop/new/girdled.yaml", err)
        self.assertIn("girdled preview --config shop/new/girdled.yaml --intake sample sample.csv", err)

    def test_names_each_open_place_in_check(self):
        self.draft("sample.csv", "--out", "shop")
        done = subprocess.run([GIRDLED, "check", "--config", "shop/girdled.yaml"], cwd=self.root, capture_output=True, text=True)
        self.assertEqual(done.returncode, 1)
        root = os.path.realpath(self.root)
        written = "".join((self.root / "shop" / name).read_text() for name in ("girdled.yaml", "sample.mapping.yaml"))
        open_places = [line for line in written.splitlines() if "FILL_IN" in line and not line.lstrip().startswith("#")]
        told = [line for line in done.stdout.splitlines() if "still to be filled in" in line]
        self.assertEqual(len(told), len(open_places), done.stdout)
        self.assertEqual(done.stdout.count("\n"), len(told), done.stdout)  # and nothing else is wrong
        self.assertIn(f"{root}/shop/girdled.yaml:3:7: site: still to be filled in: The shop, office or vault; outcomes carry it",
                      done.stdout)
        self.assertRegex(done.stdout, r'sample\.mapping\.yaml:\d+:\d+: finding: what "Q" means is still to be filled in: natural, ')

    def test_writes_both_to_standard_output_as_two_documents(self):
        code, out, _ = self.draft("-", stdin=SAMPLE)
        self.assertEqual(code, 0)
        config, mapping = out.split("\n---\n")
        self.assertIn("  - name: standard-input\n", config)
        self.assertIn("record: reading\n", mapping)

    def test_writes_over_nothing(self):
        self.draft("sample.csv", "--out", "shop")
        (self.root / "shop/girdled.yaml").write_text("mine")
        code, _, err = self.draft("sample.csv", "--out", "shop")
        self.assertEqual(code, 1)
        self.assertIn("is there already", err)
        self.assertEqual((self.root / "shop/girdled.yaml").read_text(), "mine")

    def test_says_what_the_reader_sets_aside_and_fails(self):
        (self.root / "bad.csv").write_text(SAMPLE + "3;22.11.2026;10:17:40;R1044;A;21,6;x\n4;22.11.2026;10:18:40;R1045;A;21,6\n")
        code, out, err = self.draft("bad.csv")
        self.assertEqual(code, 1)
        self.assertIn("the reader sets aside bad.csv, line 4: 7 fields where there are 6 columns", err)
        self.assertIn("# the reader sets aside bad.csv, line 4", out)

    def test_takes_what_the_person_knows(self):
        (self.root / "a.csv").write_bytes("item;note\nR1042;Größe\n".encode("windows-1252"))
        self.assertIn("encoding: FILL_IN", self.draft("a.csv")[1])
        self.assertIn("encoding: windows-1252   # as you said", self.draft("a.csv", "--option", "encoding=windows-1252")[1])
        self.assertIn("record: declaration\n", self.draft("sample.csv", "--record", "declaration")[1])

    def test_is_refused_when_it_is_called_wrongly(self):
        for arguments, text in (((), "takes samples, or one of --serial and --tcp"),
                                (("sample.csv", "--tcp", "a:1"), "takes samples, or one of --serial and --tcp"),
                                (("--tcp", "nowhere"), "host:port"), (("sample.csv", "--name", "a b"), "--name"),
                                (("sample.csv", "--reader", "jason"), "there is no reader"),
                                (("sample.csv", "--option", "x"), "NAME=VALUE"), (("sample.csv", "--record", "case"), "--record")):
            code, _, err = self.draft(*arguments)
            self.assertEqual(code, 2, arguments)
            self.assertIn(text, err)

    def test_refuses_samples_that_are_none(self):
        (self.root / "empty").write_text("")
        (self.root / "huge").write_text("1,2\n" * (3 << 20))
        for name, text in (("none.csv", "cannot be read"), (".", "cannot be read"), ("empty", "hold nothing"), ("huge", "8 MiB")):
            code, _, err = self.draft(name)
            self.assertEqual(code, 1, name)
            self.assertIn(text, err)


if __name__ == "__main__":
    unittest.main()
