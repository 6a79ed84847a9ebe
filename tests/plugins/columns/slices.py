"""Random fixed-width lines, and what Python's own slices, struct and expandtabs make of them.

Prints one JSON object a line: the options, the document in hexadecimal digits, and for each line that is not blank its
values, or null where it has to be set aside.
"""
import json
import random
import struct

random.seed(20260101)
ALPHABETS = ["abcR012 .-", "aé€Ж 1", "ab 指💎e\u0301", "01 \t", "R1042   "]


def random_layout():
    fields, at = [], 1
    for name in "abcd"[: random.randint(1, 4)]:
        first = at + random.randint(0, 2)
        last = first + random.randint(0, 4)
        fields.append((name, first, last))
        at = last + 1
    return fields


def text_of(values, characters):
    return values if characters else values.decode("utf-8")


def expected(line, fields, characters, pad):
    """None where the rules of the reader's README set the line aside."""
    end = fields[-1][2]
    space = " " if characters else b" "
    if len(line) < end:
        if not pad:
            return None
        line = line.ljust(end, space)
    try:
        if characters:
            raw = [line[first - 1 : last] for _, first, last in fields]
        else:
            form, at = "", 1
            for _, first, last in fields:
                form += f"{first - at}x{last - first + 1}s"
                at = last + 1
            raw = [part.decode("utf-8") for part in struct.unpack(form, line[:end])]
        rest, at = [], 0
        for _, first, last in fields:
            rest.append(text_of(line[at : first - 1], characters))
            at = last
        rest.append(text_of(line[at:], characters))
    except UnicodeDecodeError:
        return None
    if any(part.strip(" ") for part in rest):
        return None
    return [value.strip(" ") for value in raw]


for number in range(600):
    fields = random_layout()
    characters, pad = random.random() < 0.6, random.random() < 0.5
    tabs = random.choice([0, 4, 8]) if characters else 0
    alphabet = random.choice(ALPHABETS)
    document, results = [], []
    for _ in range(random.randint(1, 12)):
        line = "".join(random.choice(alphabet) for _ in range(random.randint(0, fields[-1][2] + 2)))
        if random.random() < 0.7:  # mostly lines that fit
            line = line.ljust(fields[-1][2])
            for _, first, last in fields:
                line = line[: max(first - 2, 0)] + " " * (first > 1) + line[first - 1 :]
            line = line[: fields[-1][2]]
        document.append(line)
        if not line.strip(" \t"):
            continue
        if "\t" in line and tabs == 0:
            results.append(None)
            continue
        line = line.expandtabs(tabs) if tabs else line
        results.append(expected(line if characters else line.encode(), fields, characters, pad))
    options = {
        "fields": ", ".join(f"{name} {first}-{last}" for name, first, last in fields),
        "count": "characters" if characters else "bytes",
        "short": "pad" if pad else "aside",
        "tabs": str(tabs),
    }
    print(json.dumps({"options": options, "document": "\n".join(document).encode().hex(), "results": results}))
