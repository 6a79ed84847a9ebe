"""The records of stones.csv in a document of each shape, and the readings that they are.

    python3 documents.py delimited | json | xml | astm | tabs | readings

writes to standard output. `tabs` is for awk. Times in stones.csv are local, of Europe/Brussels.
"""
import csv
import json
import sys
import xml.etree.ElementTree as ET
from datetime import datetime, timezone
from decimal import Decimal
from itertools import groupby
from pathlib import Path
from zoneinfo import ZoneInfo

LETTERS = {"natural": "N", "laboratory_grown": "L", "treated": "T", "composite": "C", "simulant": "S",
           "indeterminate": "?", "void": "-"}


def stones():
    with open(Path(__file__).parent / "stones.csv", encoding="utf-8", newline="") as file:
        for stone in csv.DictReader(file):
            stone["at"] = datetime.fromisoformat(stone["measured"]).replace(tzinfo=ZoneInfo("Europe/Brussels"))
            yield stone


def sessions():
    """Stones that follow each other and have one operator."""
    return groupby(stones(), key=lambda stone: stone["operator"])


def plain(number):
    """The fewest digits, without an exponent."""
    return format(number.normalize(), "f")


def times(text, factor):
    return plain(Decimal(text) * Decimal(factor)) if text else ""


def fahrenheit(celsius):
    return plain(Decimal(celsius) * Decimal("1.8") + 32)


def number(text):
    """As a number of JSON; null where there is none."""
    if not text:
        return None
    return float(text) if "." in text else int(text)


def delimited():
    """Semicolons, decimal commas, windows-1252, date and time apart, letters for the results."""
    sys.stdout.reconfigure(encoding="cp1252", newline="")
    rows = csv.writer(sys.stdout, delimiter=";")
    rows.writerow("no date time item result type sure weight colour temp hum who note".split())
    for stone in stones():
        numbers = [stone[name].replace(".", ",") for name in ("confidence", "carat", "temperature", "humidity")]
        rows.writerow([stone["run"], f"{stone['at']:%d.%m.%Y}", f"{stone['at']:%H:%M:%S}", stone["stock"],
                       LETTERS[stone["finding"]], stone["type"], *numbers[:2], stone["colour"], *numbers[2:],
                       stone["operator"], stone["note"]])


def json_document():
    """Sessions of an operator, instants in UTC, milligrams, degrees Fahrenheit, per cent; null for what is missing."""
    runs = [{"operator": operator,
             "runs": [{"no": int(stone["run"]), "at": stone["at"].astimezone(timezone.utc).isoformat(),
                       "item": {"stock": stone["stock"], "mg": number(times(stone["carat"], 200)),
                                "colour": stone["colour"]},
                       "result": {"is": stone["finding"].upper(), "type": stone["type"] or None,
                                  "percent": number(times(stone["confidence"], 100))},
                       "room": [number(fahrenheit(stone["temperature"])), number(stone["humidity"])],
                       "note": stone["note"]} for stone in group]}
            for operator, group in sessions()]
    json.dump({"device": {"serial": "A-0117", "firmware": [3, 1]}, "sessions": runs}, sys.stdout, indent=2)


def xml_document():
    """Attributes and child elements, seconds since 1970, grams, shares of 1; what is missing is left out."""
    root = ET.Element("export", device="A-0117")
    for operator, group in sessions():
        session = ET.SubElement(root, "session", operator=operator)
        for stone in group:
            run = ET.SubElement(session, "run", no=stone["run"], at=str(int(stone["at"].timestamp())))
            item = ET.SubElement(run, "item", stock=stone["stock"])
            if stone["carat"]:
                ET.SubElement(item, "weight", unit="g").text = times(stone["carat"], "0.2")
            if stone["colour"]:
                ET.SubElement(item, "colour").text = stone["colour"]
            result = ET.SubElement(run, "result", {"type": stone["type"]} if stone["type"] else {})
            result.text = stone["finding"].replace("_", " ")
            ET.SubElement(run, "sure").text = stone["confidence"]
            ET.SubElement(run, "room", temperature=stone["temperature"], humidity=times(stone["humidity"], "0.01"))
            ET.SubElement(run, "note").text = stone["note"]
    ET.ElementTree(root).write(sys.stdout.buffer, encoding="iso-8859-1", xml_declaration=True)


def astm():
    """A message a stone."""
    sys.stdout.reconfigure(newline="")

    def field(*components):
        marks = {"&": "&E&", "|": "&F&", "^": "&S&", "\\": "&R&"}
        return "^".join("".join(marks.get(c, c) for c in one) for one in components)

    for stone in stones():
        result = field(stone["finding"], stone["type"], times(stone["confidence"], 100))
        for record in (["H", "\\^&", "", "", "A-0117", "", "", "", field(stone["temperature"], stone["humidity"])],
                       ["P", "1"],
                       ["O", "1", field(stone["stock"]), field(stone["carat"], stone["colour"])],
                       ["R", "1", field("", "", "", stone["run"]), result, "", "", "", "", "F", "",
                        field(stone["operator"]), "", f"{stone['at']:%Y%m%d%H%M%S}", "", field(stone["note"])],
                       ["L", "1", "N"]):
            print("|".join(record), end="\r")


def tabs():
    for stone in stones():
        print(*(value for name, value in stone.items() if name != "at"), sep="\t")


def readings():
    """What Girdle writes of each, but for its place."""
    for stone in stones():
        stock, _, position = stone["stock"].partition("#")
        at = stone["at"].astimezone(timezone.utc)
        told = {"record": "reading", "instrument": "A-0117", "run": stone["run"],
                "measured_at": f"{at:%Y-%m-%dT%H:%M:%S}.000Z", "stock_number": stock, "position": position,
                "finding": stone["finding"], "diamond_type": stone["type"], "confidence": times(stone["confidence"], 1),
                "carat": times(stone["carat"], 1), "color": stone["colour"],
                "temperature_c": times(stone["temperature"], 1), "humidity_pct": times(stone["humidity"], 1),
                "operator": stone["operator"], "note": stone["note"]}
        print(json.dumps({name: text for name, text in told.items() if text}, ensure_ascii=False, separators=(",", ":")))


sys.stdout.reconfigure(encoding="utf-8")
{"delimited": delimited, "json": json_document, "xml": xml_document, "astm": astm, "tabs": tabs,
 "readings": readings}[sys.argv[1]]()
