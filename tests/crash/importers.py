"""Systems that only import files. Each reads its drop folder and removes what it read, at moments
of its own; until it is told to behave, it or its file server is in the way now and then.
"""

import collections
import csv
import io
import json
import os
import pathlib
import random
import threading
import time
import typing

from receivers import Seen


class File(typing.NamedTuple):
    path: pathlib.Path
    written: int  # when, in nanoseconds
    outcomes: list[Seen]


class Importer:
    DEEDS = ("take", "shut", "hide", "occupy")
    WEIGHTS = (70, 10, 10, 10)

    def __init__(self, name, folder, seed):
        self.name, self.folder = name, folder
        self.away = folder.with_name(folder.name + ".away")
        self.random = random.Random(f"{name} {seed}")
        self.lock = threading.Lock()  # held during a deed
        self.behaves = False
        self.ended = threading.Event()
        self.seen = []
        self.known = set()  # (case, sequence) of those
        self.occupied = {}  # names of files that others have put here: what they are
        self.deeds = collections.Counter()
        self.taken = 0  # files
        self.problems = []
        self.thread = threading.Thread(target=self.work, daemon=True)
        self.thread.start()

    def behave(self):
        with self.lock:
            self.behaves = True

    def close(self):
        self.ended.set()
        self.thread.join()

    def settle(self):
        pass  # what a killed process did not do is not done later

    def came(self):
        with self.lock:
            return self.taken + len(self.names())

    def work(self):
        while not self.ended.wait(self.random.uniform(0.002, 0.06)):
            with self.lock:
                if not self.behaves:
                    self.do(self.random.choices(self.DEEDS, self.WEIGHTS)[0])

    def do(self, deed):
        self.deeds[deed] += 1
        getattr(self, deed)()

    def shut(self):
        """Nobody may write for a while; girdled too is without the rights of a superuser here."""
        self.folder.chmod(0o555)
        time.sleep(self.random.uniform(0, 0.08))
        self.folder.chmod(0o755)

    def hide(self):
        """The share is not mounted for a while."""
        self.folder.rename(self.away)
        time.sleep(self.random.uniform(0, 0.08))
        self.away.rename(self.folder)

    def occupy(self):
        """Somebody else's file has the name of an outcome that is still to come."""
        if not self.seen:
            return
        name = self.name_to_come(self.random.choice(self.seen[-20:]))
        place = self.folder / name
        if os.path.lexists(place):
            return
        kind = self.random.choice(("file", "folder", "link"))
        try:
            if kind == "file":
                place.open("x").write("not ours")
            elif kind == "folder":
                place.mkdir()
            else:
                place.symlink_to("nowhere")
            self.occupied[name] = kind
        except FileExistsError:
            pass  # girdled was first

    def is_as_it_was(self, name, kind):
        place = self.folder / name
        if kind == "file":
            return place.is_file() and place.read_text() == "not ours"
        if kind == "folder":
            return place.is_dir() and not os.listdir(place)
        return place.is_symlink() and os.readlink(place) == "nowhere"

    def names(self):
        return {name for name in os.listdir(self.folder)
                if not name.startswith(".") and name not in self.occupied}

    def take(self):
        # A name that comes while a folder is listed may be left out, and a later one be in it.
        listed = self.names()
        files = [self.open(self.folder / name) for name in listed | self.names()]
        files.sort(key=lambda file: file.written)
        for file in self.in_order(files, listed):
            self.seen += file.outcomes
            self.known |= {(one.case, one.sequence) for one in file.outcomes}
            file.path.unlink()
            self.taken += 1

    def in_order(self, files, listed):
        """As they became: those that are the next of their cases; then what ought not to be."""
        while files:
            found = next((file for file in files if self.is_next(file)), None)
            if found is None:
                yield from (file for file in files if file.path.name in listed)
                return
            files.remove(found)
            yield found

    def is_next(self, file):
        return all(one.sequence == 1 or (one.case, one.sequence - 1) in self.known
                   for one in file.outcomes)

    def open(self, path):
        outcomes = []
        try:
            for seen in self.read(path.read_bytes().decode()):
                seen.place = path.name
                outcomes.append(seen)
            written = path.stat().st_mtime_ns
        except (ValueError, KeyError, TypeError, OSError) as failure:
            self.problems.append(f"{self.name}: {path.name} is not whole: {failure!r}")
            written = 0
        return File(path, written, outcomes)

    def end(self):
        """Takes what is left, and looks at what must not be there, or be changed."""
        with self.lock:
            self.take()
            for name, kind in self.occupied.items():
                if not self.is_as_it_was(name, kind):
                    self.problems.append(f"{self.name}: somebody's {kind} {name} was replaced")
            left = set(os.listdir(self.folder)) - self.occupied.keys()
            if left:
                self.problems.append(f"{self.name}: left over: {sorted(left)}")


class Books(Importer):
    """Wants a CSV file an outcome."""

    HEAD = ["id", "case", "number", "item", "todo", "decided"]

    def read(self, text):
        if not text.endswith("\r\n"):
            raise ValueError("no end of line at its end")
        head, *rows = csv.reader(io.StringIO(text, newline=""), delimiter=";")
        if head != self.HEAD or len(rows) != 1 or len(rows[0]) != len(head):
            raise ValueError(f"not a row below the names: {text!r}")
        row = dict(zip(head, rows[0]))
        yield Seen(row["id"], row["case"], int(row["number"]), text.encode(), row, True, None)

    @staticmethod
    def name_to_come(seen):
        return f"{seen.content['item']}-{seen.case}-{seen.sequence + 1}.csv"


class Archive(Importer):
    """Wants batches of JSON lines, with at most so many."""

    MOST = 4
    WEIGHTS = (80, 10, 10, 0)  # nobody knows the names to come

    def read(self, text):
        lines = text.splitlines(keepends=True)
        if not 1 <= len(lines) <= self.MOST:
            raise ValueError(f"{len(lines)} lines")
        cases = set()
        for line in lines:
            if not line.endswith("\n"):
                raise ValueError(f"a line without an end: {line!r}")
            event = json.loads(line)
            data = event["data"]
            cases.add(data["case"])
            yield Seen(event["id"], data["case"], data["sequence"], line.encode(), data, True, None)
        if len(cases) < len(lines):
            raise ValueError("two outcomes of a case")
