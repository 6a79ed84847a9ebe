"""The guide, followed to the letter: in an empty folder, in one shell, with nothing but girdled and its kit as installed.

    python3 guide_test.py CMAKE BUILD-FOLDER

Every block of shell in the guide is run, one after the other. Every command in it has to succeed; the last one of a block that
begins with "# fails:" has to fail. A block of text shows lines that the block before it prints, where "…" is anything.
"""
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from installed import environment, install

CMAKE, BUILD = sys.argv[1:3]
END = "--- end of a block: "
# What a command gave is known by the trap, also where another one follows.
PROLOGUE = "trap 'failed=$BASH_COMMAND' ERR\n"
EPILOGUE = f"\nprintf '\\n%s%s\\n' '{END}' \"$failed\"; failed=\n"


class Guide:
    def __init__(self, text):
        self.blocks = []  # of shell: what is run, and the lines that it has to print
        for info, body in re.findall(r"^```([a-z]*)\n(.*?)^```$", text, re.S | re.M):
            if info == "sh":
                self.blocks.append((body, []))
            elif info == "text":
                self.blocks[-1][1].extend(body.splitlines())

    def script(self):
        return "set -u; failed=\n" + PROLOGUE + "".join(body + EPILOGUE for body, _ in self.blocks)


def printed(shown, said):
    pattern = ".*".join(re.escape(part) for part in shown.strip().split("…"))
    return any(re.search(pattern, line) for line in said.splitlines())


def look_at(body, shown, said, failed):
    fails = re.match(r"# fails: ", body)
    if fails and not failed:
        sys.exit(f"this should have failed:\n{body}\n{said}")
    if failed and not (fails and body.rstrip().endswith(failed)):
        sys.exit(f"`{failed}` failed, in:\n{body}\n{said}")
    for line in shown:
        if not printed(line, said):
            sys.exit(f"the guide shows\n{line}\nand what is printed is\n{said}")


def main():
    folder = pathlib.Path(tempfile.mkdtemp(prefix="girdle-guide-"))
    try:
        prefix, work = install(CMAKE, BUILD, folder), folder / "empty"
        work.mkdir()
        guide = Guide(next(prefix.rglob("GUIDE.md")).read_text())
        done = subprocess.run(["bash", "-c", guide.script()], cwd=work, env=environment(folder, GIRDLE=str(prefix)),
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=500)
        parts = re.split(rf"^{END}(.*)\n", done.stdout, flags=re.M)
        said, failed = parts[0::2], parts[1::2]
        for (body, shown), text, command in zip(guide.blocks, said, failed):
            look_at(body, shown, text, command)
        if len(failed) != len(guide.blocks):
            sys.exit(f"the shell ended in block {len(failed) + 1}:\n{said[-1]}")
        lines = sum(len(shown) for _, shown in guide.blocks)
        print(f"{len(failed)} blocks run, {lines} lines as shown")
        if len(failed) < 15 or lines < 20:
            sys.exit("the guide is not what this test takes it for")
    finally:
        shutil.rmtree(folder)


main()
