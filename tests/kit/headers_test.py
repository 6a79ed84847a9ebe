"""The headers of the kit by themselves: strictly in the languages that they promise, with both compilers, each alone.

    python3 headers_test.py SOURCES
"""
import pathlib
import shutil
import subprocess
import sys
import unittest

SDK = pathlib.Path(sys.argv.pop(1)) / "plugins/sdk"
INCLUDE = SDK / "include"
STRICT = ["-fsyntax-only", "-Wall", "-Wextra", "-Wshadow", "-Wpedantic", "-pedantic-errors", "-Werror"]
C = [name for name in ("gcc", "clang") if shutil.which(name)]
CPP = [name for name in ("g++", "clang++") if shutil.which(name)]


def compiled(compiler, language, standard, source, *flags):
    """What the compiler says of it: nothing where all is right."""
    done = subprocess.run([compiler, "-x", language, f"-std={standard}", *STRICT, *flags, f"-I{INCLUDE}", "-"], input=source,
                          capture_output=True, text=True, timeout=120)
    return done.stderr if done.returncode != 0 or done.stderr else ""


class Headers(unittest.TestCase):
    def test_there_is_a_compiler_of_each_language(self):
        self.assertTrue(C and CPP)

    def test_the_contract_is_c11_and_c17_and_cpp(self):
        for compiler in C:
            for standard in ("c11", "c17"):
                self.assertEqual(compiled(compiler, "c", standard, "#include <girdle/reader.h>\n", "-Wstrict-prototypes"), "")
        for compiler in CPP:
            for standard in ("c++11", "c++17", "c++20"):
                self.assertEqual(compiled(compiler, "c++", standard, "#include <girdle/reader.h>\n", "-Wold-style-cast"), "")

    def test_the_contract_includes_nothing_but_the_languages_own(self):
        text = (INCLUDE / "girdle/reader.h").read_text()
        includes = [line for line in text.splitlines() if line.startswith("#include")]
        self.assertEqual(includes, ["#include <stddef.h>", "#include <stdint.h>"])

    def test_each_part_of_the_wrapper_can_be_included_alone_and_twice(self):
        parts = sorted(path.relative_to(INCLUDE) for path in INCLUDE.rglob("*.h*"))
        self.assertGreater(len(parts), 5)
        for compiler in CPP:
            for part in parts:
                self.assertEqual(compiled(compiler, "c++", "c++20", f"#include <{part}>\n" * 2, "-Wconversion"), "", part)

    def test_the_wrapper_needs_no_library_of_ours(self):
        source = "#include <girdle/reader.hpp>\nint main() {}\n"
        for compiler in CPP:
            done = subprocess.run([compiler, "-x", "c++", "-std=c++20", f"-I{INCLUDE}", "-", "-o", "/dev/null"], input=source,
                                  capture_output=True, text=True, timeout=120)
            self.assertEqual(done.returncode, 0, done.stderr)

    def test_templates_are_strict_too(self):
        for compilers, language, standard, file in [(C, "c", "c11", "c/slips_reader.c"), (CPP, "c++", "c++20", "cpp/slips_reader.cc")]:
            for compiler in compilers:
                source = (SDK / "template" / file).read_text()
                self.assertEqual(compiled(compiler, language, standard, source), "", compiler)


if __name__ == "__main__":
    unittest.main()
