"""An open list of 53,940 stones as a house's stock list, through the whole program: every row becomes a declaration,
every number is the list's own, and a stone that is declared again is told as a duplicate: in the ledger, and where a
person looks (the closing line of `run --once`, and `case`).

    python3 open_stock_list_test.py GIRDLED DIAMONDS.CSV

The list is the data set `diamonds` of ggplot2, as npm @observablehq/sample-datasets 1.0.1 (ISC) has it. It has no stock
numbers; those here are made up.
"""
import collections
import csv
import decimal
import hashlib
import json
import os
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import unittest

GIRDLED, DIAMONDS = map(os.path.abspath, sys.argv[1:3])
del sys.argv[1:3]

SHA256 = "243996d7650e84e190a88d505b44c3a0be1bcfc7b4f32606d60d103a51494b9e"
ROWS, DISTINCT, WITH_A_ZERO = 53_940, 53_794, 20  # counted in this file
COLUMNS = ["carat", "cut", "color", "clarity", "depth", "table", "price", "x", "y", "z"]
DECLARATION = 1  # receipt.kind, schemas/ledger.md

CONFIG = """site: north-pier
ledger: { path: ledger.db }
intakes:
  - name: stock-list
    folder: { path: inbox, match: "*.csv" }
    reader: delimited
    mapping: stock.mapping.yaml
"""
MAPPING = """record: declaration
fields:
  stock_number:    { from: stock }
  carat:           { from: carat }
  color:           { from: color }
  length_mm:       { from: x }
  width_mm:        { from: y }
  depth_mm:        { from: z }
  value:           { from: price }
  extra.cut:       { from: cut }
  extra.clarity:   { from: clarity }
  extra.depth_pct: { from: depth }
  extra.table_pct: { from: table }
"""
NUMBERS = {"carat": "carat", "length_mm": "x", "width_mm": "y", "depth_mm": "z", "value": "price"}
EXTRA = {"cut": "cut", "clarity": "clarity", "depth_pct": "depth", "table_pct": "table"}


def stones():
    with open(DIAMONDS, encoding="ascii", newline="") as file:
        header, *rows = csv.reader(file)
    assert header == COLUMNS, header
    return rows


def numbered(rows):
    return [[f"D{number:05}", *row] for number, row in enumerate(rows, 1)]


def named_by_content(rows):
    return [["C" + hashlib.sha256(",".join(row).encode()).hexdigest()[:16], *row] for row in rows]


def closing_line(err):
    """What `run --once` tells last: how much of what came in."""
    event, _, fields = err.splitlines()[-1].partition(" came in ")
    assert event.endswith(" info"), err
    return {name: int(count) for name, count in (field.split("=") for field in fields.split())}


class House:
    """A shop that has nothing but a stock list."""

    def __init__(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-stock-"))
        (self.root / "inbox").mkdir()
        (self.root / "girdled.yaml").write_text(CONFIG)
        (self.root / "stock.mapping.yaml").write_text(MAPPING)
        self.lists = 0

    def remove(self):
        shutil.rmtree(self.root)

    def call(self, *arguments):
        command = [GIRDLED, *arguments, "--config", str(self.root / "girdled.yaml")]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120)
        return done.returncode, done.stdout, done.stderr

    def take(self, rows):
        """A list comes in, an hour after the one before; the answer is what `run --once` ended with."""
        self.lists += 1
        path = self.root / f"inbox/stock-{self.lists}.csv"
        with open(path, "w", encoding="ascii", newline="") as file:
            csv.writer(file).writerows([["stock", *COLUMNS], *rows])
        os.utime(path, (1_793_520_000 + 3600 * self.lists,) * 2)
        return self.call("run", "--once")

    def ask(self, query):
        ledger = sqlite3.connect(f"file:{self.root / 'ledger.db'}?mode=ro", uri=True)
        try:
            ledger.row_factory = sqlite3.Row
            return ledger.execute(query).fetchall()
        finally:
            ledger.close()

    def declarations(self):
        return self.ask("SELECT s.key, d.* FROM declaration d JOIN subject s ON s.id = d.subject ORDER BY d.id")

    def duplicates(self):
        """How often each stock number was declared again, from the runs of receipts that schemas/ledger.md tells of."""
        keys = {row["id"]: row["key"] for row in self.declarations()}
        again = collections.Counter()
        for run in self.ask(f"SELECT first, count FROM receipt WHERE kind = {DECLARATION}"):
            again.update(keys[id] for id in range(run["first"], run["first"] + run["count"]))
        return again

    def case(self, stock):
        """What a person is told of a stock number, and the same for programs."""
        code, text, err = self.call("case", stock)
        assert code == 0, err
        code, line, err = self.call("case", stock, "--json")
        assert code == 0, err
        return text, json.loads(line)


class OpenStockList(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.rows = stones()
        cls.stock = numbered(cls.rows)
        cls.house = House()
        cls.addClassCleanup(cls.house.remove)
        cls.first = cls.house.take(cls.stock)
        cls.declared = cls.house.declarations()

    # unittest's own comparison of long lists looks for the shortest difference, for hours.
    def same(self, ours, theirs):
        self.assertEqual(len(ours), len(theirs))
        for one, other in zip(ours, theirs, strict=True):
            self.assertEqual(one, other)

    def takes(self, house, rows):
        code, _, err = house.take(rows)
        self.assertEqual(code, 0, err)
        self.sets_nothing_aside(house)
        return closing_line(err)

    def tells(self, line, declarations, duplicates):
        self.assertEqual((line["declarations"], line["duplicate_declarations"]), (declarations, duplicates))
        self.assertEqual([line[name] for name in ("readings", "duplicates", "set_aside", "outcomes", "sent", "waiting")], [0] * 6)

    def tells_duplicates(self, house, stock, documents):
        """`case` shows the one declaration of the stone, and under it the documents that made it again."""
        text, told = house.case(stock)
        [declaration] = told["declarations"]
        self.assertEqual(declaration["declaration"]["stock_number"], stock)
        self.assertTrue(declaration["in_force"])
        self.assertEqual([duplicate["document"] for duplicate in declaration["duplicates"]], documents)
        rows = [line.split() for line in text.splitlines() if " duplicate " in line]
        self.assertEqual([row[4] for row in rows], documents, text)

    def sets_nothing_aside(self, house):
        self.assertEqual(house.call("aside", "--json"), (0, "", ""))

    def test_is_the_file_that_these_numbers_are_of(self):
        self.assertEqual(hashlib.sha256(pathlib.Path(DIAMONDS).read_bytes()).hexdigest(), SHA256)
        self.assertEqual((len(self.rows), len(set(map(tuple, self.rows)))), (ROWS, DISTINCT))

    def test_is_read_whole_and_nothing_is_set_aside(self):
        code, _, err = self.first
        self.assertEqual(code, 0, err)
        self.sets_nothing_aside(self.house)
        self.tells(closing_line(err), declarations=ROWS, duplicates=0)
        self.assertEqual(len(self.declared), ROWS)
        self.same([row["key"] for row in self.declared], [row[0] for row in self.stock])

    def test_is_declared_with_the_very_numbers_and_words_of_its_rows(self):
        for stone, row in zip(self.declared, self.rows, strict=True):
            given = dict(zip(COLUMNS, row, strict=True))
            for ours, theirs in NUMBERS.items():
                self.assertIsInstance(stone[ours], str, "exact decimals are texts")
                self.assertEqual(decimal.Decimal(stone[ours]), decimal.Decimal(given[theirs]), (stone["key"], ours))
            self.assertEqual(stone["color"], given["color"])
            self.assertEqual(json.loads(stone["extra"]), {ours: given[theirs] for ours, theirs in EXTRA.items()})
            self.assertEqual([stone[name] for name in ("identity", "table_mm", "shape", "stones")], [None] * 4)

    def test_keeps_a_zero_where_nobody_measured(self):
        zeros = 0
        for stone, (*_, x, y, z) in zip(self.declared, self.rows, strict=True):
            if "0" not in (x, y, z):
                continue
            zeros += 1
            self.assertEqual((stone["length_mm"], stone["width_mm"], stone["depth_mm"]), (x, y, z), stone["key"])
        self.assertEqual(zeros, WITH_A_ZERO)

    def test_declares_a_stone_once_however_often_its_row_stands_there(self):
        house = House()
        self.addCleanup(house.remove)
        rows = named_by_content(self.rows)
        line = self.takes(house, rows)
        times = collections.Counter(row[0] for row in rows)
        self.assertEqual(len(times), DISTINCT)
        self.same([row["key"] for row in house.declarations()], list(times))
        again = house.duplicates()
        self.assertEqual(again.total(), ROWS - DISTINCT)
        self.same(sorted(again.items()), sorted((times - collections.Counter(set(times))).items()))
        self.tells(line, declarations=DISTINCT, duplicates=ROWS - DISTINCT)
        stock, most = times.most_common(1)[0]
        self.tells_duplicates(house, stock, ["stock-1.csv"] * (most - 1))
        self.tells_duplicates(house, next(stock for stock, count in times.items() if count == 1), [])

    def test_in_another_order_is_nothing_but_duplicates(self):
        line = self.takes(self.house, self.stock[::-1])
        self.same([tuple(row) for row in self.house.declarations()], [tuple(row) for row in self.declared])
        again = self.house.duplicates()
        self.assertEqual(again.total(), ROWS)
        self.same(sorted(again.items()), [(row[0], 1) for row in self.stock])
        self.tells(line, declarations=0, duplicates=ROWS)
        for stock in (self.stock[0][0], self.stock[-1][0]):
            self.tells_duplicates(self.house, stock, ["stock-2.csv"])


if __name__ == "__main__":
    unittest.main(verbosity=1)
