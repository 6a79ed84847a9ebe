"""Random slips, and what Python makes of them: configparser of the labels and values, unicodedata of small letters.

Prints one JSON object a line. A slip: the document in hexadecimal digits, and its fields, or null where configparser
refuses it. A letter: itself and its small letter.
"""
import configparser
import json
import random
import unicodedata

random.seed(20260202)
LABELS = ["Stock no.", "Result", "result", "Temp", "a-b", "Größe", "ПРОБА", "note 2"]
VALUES = ["", "A", "R1042", "10:15:30", "x = y", "21,5 C", "грань", "- see 7"]


def random_line():
    kind = random.random()
    indent = " " * random.choice([0, 0, 0, 1, 2, 4])
    if kind < 0.7:
        mark = random.choice([":", "=", " : ", " =", ": "])
        return indent + random.choice(LABELS) + mark + random.choice(VALUES)
    if kind < 0.85:
        return " " * random.randint(0, 6) + random.choice(["more", "of: it", "and = so", "on"])
    return random.choice(["", "  ", "Page 1"])


def expected(lines, fold):
    """Ignored lines are as if they were not there; configparser's comments end a value."""
    lines = [line for line in lines if line != "Page 1"]
    parser = configparser.RawConfigParser(
        delimiters=("=", ":"), comment_prefixes=(), strict=True, empty_lines_in_values=False)
    if not fold:
        parser.optionxform = str
    try:
        parser.read_string("[slip]\n" + "\n".join(lines) + "\n")
    except configparser.Error:
        return None
    return [[name, " ".join(part for part in value.split("\n") if part)] for name, value in parser.items("slip")]


for number in range(1500):
    lines = [random_line() for _ in range(random.randint(1, 6))]
    fold = random.random() < 0.5
    print(json.dumps({
        "document": "\n".join(lines).encode().hex(),
        "fold": "case" if fold else "none",
        "fields": expected(lines, fold),
    }))

BLOCKS = [(0x20, 0x7E), (0xC0, 0xFF), (0x391, 0x3C9), (0x400, 0x45F)]
for first, last in BLOCKS:
    for point in range(first, last + 1):
        if unicodedata.category(chr(point)) in ("Lu", "Ll", "Nd"):
            print(json.dumps({"letter": chr(point), "small": chr(point).lower()}))
