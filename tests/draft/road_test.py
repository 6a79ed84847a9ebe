"""The whole road of a draft, on every sample of the corpora that a reader takes whole, on one set of records in all seven shapes,
on what a shop's instruments may write, and on what two lines carried: draft, fill in, check, preview.

The test plays the person. It knows nothing of the samples: it assigns the words of results in turn, takes the first of what
there is to choose from, and where a draft asks for an encoding it says what the corpus says. Where nothing in a sample is a
time or a result, it drafts again and calls the records declarations, which need a stock number alone.

    python3 road_test.py GIRDLED SOURCES [--list]

ROADBLOCKS names the samples that do not go through, each with the reason: a sample that goes through must not stand there.
"""
import itertools
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

FINDINGS = ["natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "void"]
IDENTITIES = FINDINGS[:5]
READERS = {"delimited": "csv", "json": "json", "xml": "xml", "columns": "txt", "labelled": "txt", "astm": "txt", "sheet": "xlsx"}

NOTHING = "holds no record"


def block(text):
    """ISO 1155: exclusive or of all behind STX, ETX among it."""
    check = 0
    for byte in text.encode() + b"\x03":
        check ^= byte
    return f"\x02{text}\x03{chr(check)}"


def session(*records):
    """Frames of ASTM E1381 as open libraries have them: a number, a record, ETX, the sum of all that modulo 256."""
    frames = []
    for number, record in enumerate(records, 1):
        frame = f"{number % 8}{record}\r\x03"
        frames.append(f"\x02{frame}{sum(frame.encode()) % 256:02X}\r\n")
    return "\x05" + "".join(frames) + "\x04"


# What instruments of a shop may write; those of examples/quay-street as examples/morning.py plays them. How many readings or
# declarations must come of each, and what must be in the first.
SHOP = {
    "counter-1.csv": ("no;date;time;item;result;weight;temp\r\n1;02.11.2026;09:05:10;R1042;A;0,53;21,5\r\n"
                      "2;02.11.2026;09:05:50;R1042;A;0,53;21,5\r\n3;02.11.2026;09:07:00;R1043;A;0,71;21,6\r\n"
                      "4;02.11.2026;09:08:10;R1045;-;;21,6\r\n", 4,
                      {"run": "1", "measured_at": "2026-11-02T08:05:10.000Z", "stock_number": "R1042", "carat": "0.53",
                       "temperature_c": "21.5"}),
    "counter-2.csv": ("device,run,at,stock,verdict\nB-0042,501,2026-11-02 09:12:00,R1043,sim\n"
                      "B-0042,502,2026-11-02 09:13:00,R1044,lab\n", 2,
                      {"instrument": "B-0042", "run": "501", "measured_at": "2026-11-02T08:12:00.000Z", "stock_number": "R1043"}),
    "counter-3.json": ("".join('{"device":"C-0007","n":%d,"at":"2026-11-02T09:2%d:00+01:00","item":"R1048#1",'
                               '"result":{"code":10,"certainty":99.2}}\n' % (71 + i, i) for i in range(2)), 2,
                       {"instrument": "C-0007", "run": "71", "measured_at": "2026-11-02T08:20:00.000Z",
                        "stock_number": "R1048", "confidence": "0.992"}),
    "stock-list.csv": ("stock,identity,carat,colour,shape,value\nR1042,natural,0.53,F,round,1450\n"
                       "R1046,laboratory_grown,1.50,E,round,880\n", 2,
                       {"record": "declaration", "stock_number": "R1042", "carat": "0.53", "color": "F", "value": "1450"}),
    "letterhead.csv": ("Screening report\nSerial no.: D-0310\n\nNo,Date,Sample ID,Result,Temp (F)\n"
                       "1,11/22/2026 02:15:30 PM,R1042,PASS,70.7\n2,11/22/2026 02:16:30 PM,R1043,REFER,70.9\n"
                       "3,11/22/2026 02:17:30 PM,R1044,PASS,71.6\n-----\nTotal: 3\n", 3,
                       {"run": "1", "measured_at": "2026-11-22T13:15:30.000Z", "stock_number": "R1042",
                        "temperature_c": "21.5"}),
    "day.xml": ('<?xml version="1.0"?><export><device serial="E-22"/><stones><stone id="R1042"><at>2026-11-02T09:20:00Z</at>'
                '<weight unit="ct">0.50</weight><result><code>N</code></result></stone><stone id="R1043">'
                '<at>2026-11-02T09:21:00Z</at><weight unit="ct">0.71</weight><result><code>L</code></result></stone></stones>'
                '</export>', 2, {"instrument": "E-22", "stock_number": "R1042", "measured_at": "2026-11-02T09:20:00.000Z"}),
    "session.json": ('{"device":{"serial":"F-7"},"operator":"ann","results":[{"no":1,"time":1793610930,"item":"R1042",'
                     '"verdict":"ok"},{"no":2,"time":1793610990,"item":"R1043","verdict":"no"}]}', 2,
                     {"run": "1", "measured_at": "2026-11-02T09:15:30.000Z", "stock_number": "R1042", "operator": "ann"}),
    "slips.txt": ("".join("QUAY STREET\nStock no.: R10%d\nDate: 2%d.11.2026 10:15\nResult:   %s\nTemp.: 21.5 C\n------\n" % (42 + i, i, word)
                          for i, word in enumerate(["PASS", "REFER", "PASS"])), 3,
                  {"stock_number": "R1042", "measured_at": "2026-11-20T09:15:00.000Z", "temperature_c": "21.5"}),
    "printer.txt": ("run  date        time      item    result\n" +
                    "".join("%3d  %d.11.2026  10:1%d:00  R%-5d  %s\n" % (i, 20 + i, i, 1040 + i, "AB"[i % 2]) for i in range(1, 6)),
                    5, {"run": "1", "measured_at": "2026-11-21T09:11:00.000Z", "stock_number": "R1041"}),
    # What two lines carried.
    "blocks.bin": ("".join(block(f"C-0007;{70 + i};22.11.2026 10:1{i}:00;R104{i};{word}")
                           for i, word in enumerate(["ok", "ok", "no", "ok", "no"])), 5,
                   {"instrument": "C-0007", "run": "70", "measured_at": "2026-11-22T09:10:00.000Z", "stock_number": "R1040"}),
    "frames.bin": ("".join(session("H|\\^&", "P|1", f"O|1|R104{i}", f"R|1|^^^S|{word}|||||||||2026112210150{i}", "L|1|N")
                           for i, word in enumerate(["N", "N", "X"])), 3,
                   {"measured_at": "2026-11-22T09:15:00.000Z", "stock_number": "R1040"}),
}


class NoAnswer(Exception):
    pass


class Girdled:
    def __init__(self, program):
        self.program = program

    def __call__(self, *arguments):
        done = subprocess.run([self.program, *map(str, arguments)], capture_output=True, timeout=120)
        return done.returncode, done.stdout.decode(), done.stderr.decode()


class Person:
    """Fills in what a draft leaves open, without thinking."""

    def __init__(self, inbox):
        self.inbox = inbox
        self.words = itertools.cycle(FINDINGS)
        self.filled = 0

    def fill_in(self, text):
        self.lines = text.split("\n")
        out = []
        for number, line in enumerate(self.lines):
            if "FILL_IN" in line and not line.lstrip().startswith("#"):
                line = self.answer(line, self.lines[:number])
            out.append(line)
        return "\n".join(out)

    def answer(self, line, before):
        value, _, remark = line.partition("   # ")
        self.filled += 1
        for key, answer in (("site", "quay-street"), ("timezone", "Europe/Brussels"), ("path", self.inbox), ("- serial", "A-0117"),
                            ("device", "/dev/ttyS0"), ("baud", "9600")):
            if value.strip() == f"{key}: FILL_IN":
                return value.replace("FILL_IN", str(answer))
        if re.match(r'\s{6}"', value):  # a word
            field = next(line.strip() for line in reversed(before) if re.match(r"  \w[\w.]*:", line))
            words = itertools.cycle(IDENTITIES) if field == "identity:" else self.words
            return value.replace("FILL_IN", next(words))
        if "value: FILL_IN" in value:
            return value.replace("FILL_IN", "A-0117")
        if "from: FILL_IN" in value:
            return self.answer_column(value, before)
        return re.sub(r"(\w+): FILL_IN", lambda found: f"{found[1]}: {self.choose(found[1], remark)}", value)

    def answer_column(self, value, before):
        field = value.split(":")[0].strip()
        remarks = " ".join(line.strip()[2:] for line in before[-12:] if line.strip().startswith("#"))
        if field == "stock_number":
            found = re.search(r'there is ("[^"]+")', remarks)
            if found and not found[1].endswith('…"'):
                return value.replace("FILL_IN", found[1])
            whole = re.search(r"^  # \S*extra\S*: \{ from: (.*) \}   #", "\n".join(self.lines), re.MULTILINE)
            if whole:  # a name that the remark cuts
                return value.replace("FILL_IN", whole[1])
        if field == "finding":
            found = re.search(r'it may be ("[^"]+") \(([^)]*)\)', remarks)
            if found:
                words = re.findall(r'"([^"]*)" (?:once|\d+ times)', found[2])
                pairs = ", ".join(f'"{word}": {next(self.words)}' for word in words)
                return value.replace("FILL_IN }", f"{found[1]}, words: {{ {pairs} }} }}")
        raise NoAnswer(f"nothing in it is {'a time' if field == 'measured_at' else 'a ' + field}")

    def choose(self, key, remark):
        # "unit: ct, g or mg: why" in a mapping, "ct, g or mg: why" beside an option.
        found = re.search(rf'(?:{key}: )("(?:[^"\\]|\\.)*"|[^\s,]+)', remark) or re.match(r'()("(?:[^"\\]|\\.)*"|[^\s,]+)', remark)
        if not found:
            raise NoAnswer(f"nothing to choose from for {key}")
        return found[found.lastindex]


def records_expected(sample):
    return json.loads(sample.with_suffix(".expected.json").read_text())["records"]


def option_of(sample, name):
    options = sample.with_suffix(".options.yaml")
    found = re.search(rf'\b{name}: *"?([\w-]+)', options.read_text()) if options.exists() else None
    return found[1] if found else None


def travel(girdled, sample, folder, *arguments):
    """Draft, fill in, check, preview. What comes out, and whether anything was set aside."""
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "inbox").mkdir(parents=True)
    code, out, err = girdled("draft", sample, "--out", folder, "--name", "sample", *arguments)
    if not (folder / "girdled.yaml").exists():
        raise NoAnswer(err.split("\n")[0].replace("girdled: ", ""))
    if code != 0:
        raise NoAnswer("the reader sets aside" + err.split("sets aside", 1)[-1].split("\n")[0])
    # A person who knows better says so, and drafts again.
    drafted = (folder / "girdled.yaml").read_text()
    known = {key: option_of(sample, key) for key in ("encoding", "header") if option_of(sample, key)}
    said = [f"--option={key}={value}" for key, value in known.items() if f"{key}: FILL_IN" in drafted]
    if said:
        return travel(girdled, sample, folder, *arguments, *said)
    code, out, err = girdled("check", "--config", folder / "girdled.yaml")
    assert code == 1, f"check lets a draft through that nobody filled in: {out}{err}"
    person = Person(folder / "inbox")
    for name in ("girdled.yaml", "sample.mapping.yaml"):
        text = (folder / name).read_text()
        (folder / name).write_text(person.fill_in(text))
    code, out, err = girdled("check", "--config", folder / "girdled.yaml")
    if code != 0:
        raise NoAnswer("check: " + out.split("\n")[0].split("yaml:", 1)[-1])
    samples = sorted((folder / "sample.messages").glob("*")) or [sample]  # of a line, each message
    code, out, err = girdled("preview", "--config", folder / "girdled.yaml", "--intake", "sample", *samples)
    if code != 0:
        raise NoAnswer("preview: " + err.split("\n")[0].split(": ", 1)[-1])
    return [json.loads(line) for line in out.splitlines()]


def try_sample(girdled, sample, folder):
    """'reading', 'declaration', or why it does not go through."""
    expected = records_expected(sample)
    try:
        made, kind = travel(girdled, sample, folder), None
    except NoAnswer as failed:
        if not expected:
            return NOTHING
        if not str(failed).startswith("nothing in it"):
            return str(failed)
        try:
            made = travel(girdled, sample, folder, "--record", "declaration")
        except NoAnswer as again:
            return str(again)
    if len(made) != len(expected):
        return f"{len(made)} records where the corpus has {len(expected)}"
    return made[0]["record"]


def try_shop(girdled, folder):
    """What does not come out of the shop's samples as it must."""
    wrong = []
    for name, (text, count, first) in SHOP.items():
        sample = folder / name
        sample.write_text(text, newline="")
        try:
            made = travel(girdled, sample, folder / "shop")
        except NoAnswer as failed:
            wrong.append(f"{name}: {failed}")
            continue
        if len(made) != count:
            wrong.append(f"{name}: {len(made)} records, not {count}")
        for key, value in first.items():
            if made and made[0].get(key) != value:
                wrong.append(f"{name}: {key} is {made[0].get(key)!r}, not {value!r}")
    return wrong


def same_records(maker, folder):
    """The twelve records of tests/plugins/same_records in each of the seven shapes, and what a reading of them has to say."""
    def output(*command, given=None):
        return subprocess.run(command, cwd=maker, input=given, capture_output=True, check=True, env={**os.environ, "LC_ALL": "C"}).stdout

    def document(shape):
        return output(sys.executable, "-B", "documents.py", shape)

    samples = {f"{shape}.{READERS[shape]}": document(shape) for shape in ("delimited", "json", "xml", "astm")}
    for shape, script in (("columns", "lines.awk"), ("labelled", "slips.awk")):
        samples[f"{shape}.txt"] = output("awk", "-f", script, given=document("tabs"))
    samples["sheet.xlsx"] = (maker / "sheet/stones.xlsx").read_bytes()
    for name, text in samples.items():
        (folder / name).write_bytes(text)
    return [folder / name for name in samples], [json.loads(line) for line in document("readings").decode().splitlines()]


def try_same_records(girdled, maker, folder):
    """Where the shapes of the same records, drafted, are not the same readings."""
    wrong = []
    samples, expected = same_records(maker, folder)
    for sample in samples:
        try:
            readings = travel(girdled, sample, folder / "shop")
        except NoAnswer as failed:
            wrong.append(f"{sample.name}: {failed}")
            continue
        for key in ("instrument", "measured_at", "stock_number"):
            told, meant = [one.get(key) for one in readings], [one.get(key) for one in expected]
            if told != meant:
                wrong.append(f"{sample.name}: {key} is {told}, not {meant}")
    return wrong


def roadblocks(path):
    blocks = {}
    for line in path.read_text().splitlines():
        if line and not line.startswith("#"):
            name, _, reason = line.partition("  ")
            blocks[name] = reason.strip()
    return blocks


def main():
    girdled, sources = Girdled(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2])
    listing = "--list" in sys.argv
    known = roadblocks(sources / "tests/draft/roadblocks.txt")
    readers = pathlib.Path(sys.argv[1]).resolve().parent.parent / "readers"
    with tempfile.TemporaryDirectory(prefix="girdle-road-") as folder:
        wrong = try_shop(girdled, pathlib.Path(folder))
        print(f"a shop's own samples: {len(SHOP)}, wrong: {len(wrong)}")
        wrong += try_same_records(girdled, sources / "tests/plugins/same_records", pathlib.Path(folder))
        print(f"and the same records in {len(READERS)} shapes: {len(wrong)} wrong")
        if listing:
            print("\n".join(wrong))
        for reader, extension in READERS.items():
            if not (readers / f"{reader}.reader.yaml").exists():
                sys.exit(f"the reader {reader} is not built")
            counts = {"reading": 0, "declaration": 0, "scan": 0, NOTHING: 0, "blocked": 0}
            for sample in sorted((sources / "tests/corpus" / reader / "accept").glob(f"*.{extension}")):
                if sample.name.endswith(".expected.json"):
                    continue
                name = f"{reader}/{sample.stem}"
                outcome = try_sample(girdled, sample, pathlib.Path(folder) / "shop")
                counts[outcome if outcome in counts else "blocked"] += 1
                if outcome not in counts and listing:
                    print(f"{name}  {outcome}")
                if (outcome not in counts) != (name in known):
                    wrong.append(f"{name}: {outcome}")
            shown = ", ".join(f"{count} {what}" for what, count in counts.items() if count)
            print(f"{reader}: {shown}")
    if wrong and not listing:
        print("not as it must be, or as tests/draft/roadblocks.txt says:\n  " + "\n  ".join(wrong))
        sys.exit(1)


if __name__ == "__main__":
    main()
