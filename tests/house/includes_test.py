"""Includes run one way: each folder of daemon/ may include only the folders before it that are named here.

Not a wish: the libraries would link in a circle, and a stage could no longer be moved into a process of its own.
"""
import pathlib
import re
import sys

MAY_INCLUDE = {
    "base": set(),
    "model": {"base"},
    "policy": {"base"},
    "evidence": {"base", "model"},
    "casework": {"base", "model", "evidence", "policy"},
    "config": {"base", "model"},
    "framing": {"base", "config", "model"},
    "intake": {"base", "model", "config", "framing"},
    "reading": {"base", "model"},
    "reader_host": {"base", "model", "reading"},
    "draft": {"base", "model", "config", "framing", "reading"},
    "ledger": {"base", "model"},
    "delivery": {"base", "model", "config", "ledger"},
    "api": {"base", "model", "ledger", "delivery"},
    "vet": {"base", "model", "config", "reading"},
    "service": {"base", "model", "policy", "evidence", "casework", "config", "framing", "intake", "reading", "ledger",
                "delivery", "api"},
}
MAY_INCLUDE["cli"] = MAY_INCLUDE["service"] | {"service", "vet", "draft"}

daemon = pathlib.Path(sys.argv[1]) / "daemon"
wrong = []
checked = 0
for path in sorted(daemon.glob("*/*.*")):
    if path.suffix not in (".h", ".cc"):
        continue
    folder = path.parent.name
    if folder not in MAY_INCLUDE:
        wrong.append(f"{path}: the folder {folder} is not known here; add it to MAY_INCLUDE")
        continue
    for number, line in enumerate(path.read_text().splitlines(), 1):
        found = re.match(r'#include "([a-z_]+)/', line)
        checked += 1 if found else 0
        if found and found[1] != folder and found[1] not in MAY_INCLUDE[folder]:
            wrong.append(f"{path}:{number}: {folder}/ must not include {found[1]}/")
print("\n".join(wrong) or f"{checked} includes, all one way")
sys.exit(1 if wrong or checked == 0 else 0)
