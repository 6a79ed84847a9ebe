"""The kit as an author has it: installed, found with find_package, and nothing of the tree at hand.

    python3 outside_the_tree_test.py CMAKE BUILD-FOLDER
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

from installed import environment, install, run

CMAKE, BUILD = (os.path.abspath(path) if os.sep in path else path for path in sys.argv[1:3])
del sys.argv[1:3]
EXPORTED = {"girdle_reader_negotiate", "girdle_reader_descriptor_at"}


class Kit(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp(prefix="girdle-kit-"))
        cls.prefix = install(CMAKE, BUILD, cls.folder)
        cls.env = environment(cls.folder)

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def template(self, language):
        to = self.folder / f"slips-{language}-{self.id().rsplit('.', 1)[-1]}"
        shutil.copytree(self.prefix / "share/girdle/template" / language, to)
        return to

    def configure(self, source, *more, code=0):
        return run(CMAKE, "-S", str(source), "-B", str(source / "build"), f"-DCMAKE_PREFIX_PATH={self.prefix}",
                   "-DCMAKE_C_FLAGS=-Wall -Wextra -Werror", "-DCMAKE_CXX_FLAGS=-Wall -Wextra -Werror", *more,
                   env=self.env, code=code)

    def build(self, source):
        self.configure(source)
        run(CMAKE, "--build", str(source / "build"), env=self.env)
        return source / "build/readers"

    def girdled(self, *arguments, cwd=None):
        done = subprocess.run([str(self.prefix / "bin/girdled"), *arguments], cwd=cwd, env=self.env, capture_output=True,
                              text=True, timeout=300)
        return done.returncode, done.stdout, done.stderr

    def preview(self, source, sample="samples/001-a-morning.txt"):
        return self.girdled("preview", "--config", "try/girdled.yaml", "--intake", "slips", sample, cwd=source)

    def test_everything_is_where_it_belongs(self):
        there = {str(path.relative_to(self.prefix)) for path in self.prefix.rglob("*") if path.is_file()}
        package = next(self.prefix.rglob("GirdleConfig.cmake")).parent
        self.assertRegex(str(package.relative_to(self.prefix)), r"^lib(/[^/]+|64)?/cmake/Girdle$")
        for name in ["GirdleConfigVersion.cmake", "GirdleTargets.cmake", "GirdleAddReader.cmake", "reader.map"]:
            self.assertIn(str((package / name).relative_to(self.prefix)), there)
        for name in ["include/girdle/reader.h", "include/girdle/reader.hpp", "include/girdle/kit/output.h",
                     "share/girdle/template/c/slips_reader.c", "share/girdle/template/cpp/slips_reader.cc",
                     "share/doc/girdle/sdk/GUIDE.md", "share/doc/girdle/sdk/README.md", "bin/girdled",
                     "libexec/girdle/girdled-reader-host"]:
            self.assertIn(name, there)
        kit = self.folder / "kit"  # for an author whose girdled is another's
        run(CMAKE, "--install", BUILD, "--prefix", str(kit), "--component", "sdk")
        alone = {str(path.relative_to(kit)) for path in kit.rglob("*") if path.is_file()}
        self.assertTrue(alone < there)
        self.assertEqual({name for name in there - alone if not name.startswith(("bin/", "lib", "libexec/"))}, set())
        for path in self.prefix.rglob("*.cmake"):
            self.assertNotIn(str(self.folder), path.read_text(), path)

    def test_both_templates_are_built_vetted_and_read_alike(self):
        said = {}
        for language in ("c", "cpp"):
            source = self.template(language)
            readers = self.build(source)
            self.assertEqual({path.name for path in readers.iterdir()}, {"slips.reader.yaml", "girdle-reader-slips.so"})
            symbols = run("nm", "-D", "--defined-only", "--format=posix", str(readers / "girdle-reader-slips.so"))
            self.assertEqual({line.split()[0] for line in symbols.splitlines()}, EXPORTED)

            vetted = run("ctest", "--test-dir", str(source / "build"), "-V", env=self.env)
            self.assertIn("slips 0.1.0: approved, with 2 samples", vetted)
            self.assertRegex(vetted, r"ok     records .* 2 expectations")

            code, out, err = self.preview(source)
            self.assertEqual(out, (source / "try/readings.jsonl").read_text())
            self.assertEqual(code, 1, err)  # two lines are set aside
            said[language] = (out, err)
        self.assertEqual(said["c"], said["cpp"])

    def test_what_both_templates_have_is_the_same(self):
        both = [self.prefix / "share/girdle/template" / language for language in ("c", "cpp")]
        names = [{path.relative_to(folder) for path in folder.rglob("*") if path.is_file()} for folder in both]
        shared = names[0] & names[1]
        self.assertEqual({str(name) for name in names[0] ^ names[1]}, {"slips_reader.c", "slips_reader.cc"})
        for name in shared - {pathlib.Path("CMakeLists.txt")}:
            self.assertEqual((both[0] / name).read_bytes(), (both[1] / name).read_bytes(), name)

    def test_an_installed_girdled_finds_the_readers_that_ship(self):
        samples = self.folder / "any"
        samples.mkdir()
        (samples / "one.txt").write_text("x")
        for reader in ("delimited", "json", "columns", "labelled", "xml", "astm", "sheet"):
            code, out, err = self.girdled("vet", reader, "--samples", str(samples), "--only", "library")
            self.assertEqual((code, err), (0, ""), out)

    def test_a_reader_is_installed_beside_those_that_ship_and_not_among_them(self):
        source = self.template("c")
        self.build(source)
        run(CMAKE, "--install", str(source / "build"), env=self.env)
        manifest = next(self.prefix.rglob("foreign-readers/slips.reader.yaml"))
        self.assertEqual(manifest.parent.parent, next(self.prefix.rglob("delimited.reader.yaml")).parent.parent)
        code, out, err = self.girdled("vet", "slips", "--readers", str(manifest.parent), "--samples", str(source / "samples"),
                                      "--only", "records")
        self.assertEqual((code, err), (0, ""), out)
        self.assertIn("slips 0.1.0: nothing wrong", out)

    def test_a_draft_is_made_with_it_in_a_process_of_its_own(self):
        source = self.template("cpp")
        self.build(source)
        arguments = ["draft", "samples/001-a-morning.txt", "--name", "slips", "--out", "drafted"]
        code, out, err = self.girdled(*arguments, "--reader", "slips", cwd=source)
        self.assertEqual((code, out), (2, ""))
        self.assertIn('there is no reader "slips"', err)
        code, out, err = self.girdled(*arguments, "--reader", "slips", "--readers", "build/readers", cwd=source)
        self.assertEqual((code, out), (1, ""), err)  # two lines are set aside
        self.assertIn("slips: 3 records", err)
        mapping = source / "drafted/slips.mapping.yaml"
        text = mapping.read_text()
        for meant, word in {"A": "natural", "B": "simulant", "-": "void"}.items():
            text = text.replace(f'"{meant}": FILL_IN', f'"{meant}": {word}')
        mapping.write_text(text.replace("FILL_IN", "A-0117"))
        config = source / "drafted/girdled.yaml"
        text = config.read_text().replace("site: FILL_IN", "site: quay-street").replace("path: FILL_IN", "path: inbox")
        config.write_text(text.replace("serial: FILL_IN", "serial: A-0117"))
        (source / "drafted/inbox").mkdir()
        code, out, err = self.girdled("check", "--config", "drafted/girdled.yaml", cwd=source)
        self.assertEqual(code, 0, out + err)
        code, out, err = self.girdled("preview", "--config", "drafted/girdled.yaml", "--intake", "slips",
                                      "samples/001-a-morning.txt", cwd=source)
        self.assertEqual(len(out.splitlines()), 3, err)
        (source / "drafted/state").mkdir()
        shutil.copy(source / "samples/001-a-morning.txt", source / "drafted/inbox")
        code, out, err = self.girdled("run", "--once", "--config", "drafted/girdled.yaml", cwd=source)
        self.assertRegex(err, "came in.*readings[=: ]+3")

    def test_a_reader_that_crashes_costs_its_document_and_not_girdled(self):
        source = self.template("c")
        code = source / "slips_reader.c"
        changed = code.read_text().replace("  const char* const bytes = fed;\n",
                                           "  const char* const bytes = fed;\n  if (size > 0 && bytes[0] == '@') abort();\n")
        self.assertIn("abort()", changed)
        code.write_text(changed)
        self.build(source)
        (source / "samples/003-odd.txt").write_text("@\n")
        code, out, err = self.preview(source, "samples/003-odd.txt")
        self.assertEqual((code, out), (1, ""), err)
        self.assertRegex(err, "set aside: .*SIGABRT")
        code, out, _ = self.preview(source)
        self.assertEqual(out, (source / "try/readings.jsonl").read_text())

    def test_what_would_go_wrong_later_is_told_at_once(self):
        changes = {
            "slips.reader.yaml": {
                "library: girdle-reader-slips.so": ("library: slips.so", r"has to say\s+library: girdle-reader-slips.so"),
                "name: slips": ("name: slip", r"has to say\s+name: slips"),
            },
            "CMakeLists.txt": {
                "girdle_add_reader(slips": ("girdle_add_reader(Slips", "the name of a reader has a-z, 0-9 and -"),
                "find_package(Girdle 0.1": ("find_package(Girdle 99.0", "compatible with requested version"),
            },
        }
        for file, texts in changes.items():
            for text, (other, told) in texts.items():
                source = self.template("c")
                path = source / file
                self.assertIn(text, path.read_text())
                path.write_text(path.read_text().replace(text, other))
                self.assertRegex(re.sub(r"\s+", " ", self.configure(source, code=1)), re.sub(r"\\s\+", " ", told))
                shutil.rmtree(source)
        source = self.template("c")
        (source / "slips.reader.yaml").unlink()
        self.assertIn("is not there", re.sub(r"\s+", " ", self.configure(source, code=1)))


if __name__ == "__main__":
    unittest.main()
