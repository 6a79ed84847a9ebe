"""Every rule that girdled vet may tell of is broken somewhere in these tests: else nobody knows that it is told at all.

    python3 rules_test.py SOURCES
"""
import pathlib
import re
import sys

SOURCES = pathlib.Path(sys.argv[1])


def texts(folder, *patterns):
    return "\n".join(path.read_text() for pattern in patterns for path in sorted((SOURCES / folder).glob(pattern)))


def rules(source):
    found = set(re.findall(r'(?:fault|breach|expect_same|differ|look_at_reason)\(\s*(?:[\w>-]+, )?"([a-z]+(?:\.[a-z0-9-]+)?)"', source))
    found |= set(re.findall(r'\{\s*"([a-z]+\.[a-z0-9-]+)",', source))  # the words of endings
    found |= {kind + rest for rest in re.findall(r'kind \+ "(\.[a-z-]+)"', source) for kind in ("record", "aside")}
    return found


def main():
    known, tests = rules(texts("daemon/vet", "*.cc")), texts("tests/vet", "*.cc")
    untested = sorted(rule for rule in known if f'"{rule}"' not in tests)
    print(f"{len(known)} rules")
    if len(known) < 60:
        sys.exit("the sources of vet are not what this test takes them for")
    if untested:
        sys.exit(f"no test breaks {', '.join(untested)}")


main()
