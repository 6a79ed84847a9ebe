"""The shop of the campaign: what three benches write, and the books of what must be known of it."""

import collections
import dataclasses
import datetime
import random

FINDINGS = {"A": "natural", "B": "simulant", "C": "indeterminate", "-": "void"}
HEAD = "no;device;date;time;item;result;temp\n"
GROWING_HEAD = "run,device,at,item,result,temp\n"


@dataclasses.dataclass(frozen=True)
class Measurement:
    instrument: str
    run: int
    at: datetime.datetime  # UTC
    stock: str
    letter: str
    tenths: int  # of a degree Celsius

    def key(self):
        return self.instrument, str(self.run)

    def as_read(self):
        at = self.at.strftime("%Y-%m-%dT%H:%M:%S.000Z")
        return at, self.stock, FINDINGS[self.letter], self.tenths / 10

    def export_line(self):
        local = self.at + datetime.timedelta(hours=1)  # Brussels in November
        when = local.strftime("%d.%m.%Y;%H:%M:%S")
        temp = f"{self.tenths // 10},{self.tenths % 10}"
        return f"{self.run};{self.instrument};{when};{self.stock};{self.letter};{temp}\n"

    def log_line(self):
        at = self.at.strftime("%Y-%m-%dT%H:%M:%SZ")
        temp = f"{self.tenths // 10}.{self.tenths % 10}"
        return f"{self.run},{self.instrument},{at},{self.stock},{self.letter},{temp}\n"


class Shop:
    """Makes the files of three benches, and keeps the books of what must be known in the end."""

    SERIALS = ("A-0117", "A-0122", "A-0203")

    def __init__(self, root, seed):
        self.root = root
        self.random = random.Random(f"shop {seed}")
        self.expected = {}  # key of a measurement: the measurement
        self.runs = collections.Counter()
        self.letters = {}  # stock number: what its runs mostly say
        self.day = []  # what the export that is written anew each time holds
        self.pending = ""  # the rest of a half-written line
        self.files = 0
        self.repeats = 0  # records that were written although they were written before
        self.log = root / "inbox/counter-3/log.csv"

    def measure(self, serial):
        self.runs[serial] += 1
        run = self.runs[serial]
        if not self.letters or self.random.random() < 0.4:
            stock = f"R{1000 + len(self.letters)}"
            self.letters[stock] = self.random.choices("ABC-", (6, 2, 1, 1))[0]
        else:
            stock = self.random.choice(list(self.letters)[-40:])
        letter = self.letters[stock]
        if self.random.random() < 0.1:
            letter = self.random.choice("ABC-")
        start = datetime.datetime(2026, 11, 2, 8, 0, 0)
        at = start + datetime.timedelta(minutes=run)
        made = Measurement(serial, run, at, stock, letter, self.random.randint(180, 249))
        self.expected[made.key()] = made
        return made

    def some(self, serial, most):
        return [self.measure(serial) for _ in range(self.random.randint(1, most))]

    def old(self, most):
        known = list(self.expected.values())
        count = min(len(known), self.random.randint(0, most))
        self.repeats += count
        return self.random.sample(known, count)

    def step(self):
        """One thing that happens in a shop."""
        acts = (self.batch, self.moved_batch, self.rewritten_export, self.grow, self.large_batch,
                self.rotate)
        self.random.choices(acts, (5, 5, 3, 7, 1, 0.5))[0]()

    def batch(self):
        self.put("counter-1", self.new_name(), self.some("A-0117", 3) + self.old(2))

    def large_batch(self):
        lines = [self.measure("A-0117") for _ in range(40)] + self.old(200)
        self.put("counter-1", self.new_name(), lines)

    def moved_batch(self):
        self.put("counter-2", self.new_name(), self.some("A-0122", 3) + self.old(2))

    def rewritten_export(self):
        self.repeats += len(self.day)
        self.day = self.day[-60:] + self.some("A-0122", 3)
        self.put("counter-2", "day.csv", self.day)

    def new_name(self):
        self.files += 1
        return f"batch-{self.files:05}.csv"

    def put(self, counter, name, measurements):
        text = HEAD + "".join(m.export_line() for m in measurements)
        elsewhere = self.root / "elsewhere" / name
        elsewhere.write_text(text)
        folder = self.root / "inbox" / counter
        try:
            # The day's export is cut to its last lines; over one that was not taken yet it would
            # take records away that nobody has acknowledged.
            (folder / name).rename(folder / ("kept-" + self.new_name()))
        except FileNotFoundError:
            pass  # girdled has taken it, or there was none
        elsewhere.rename(folder / name)

    def grow(self):
        text = self.pending
        self.pending = ""
        lines = self.some("A-0203", 4) + self.old(2)
        text += "".join(m.log_line() for m in lines)
        if self.random.random() < 0.5:
            cut = self.random.randint(1, len(lines[-1].log_line()) - 1)
            text, self.pending = text[:-cut], text[-cut:]
        self.append(text)

    def append(self, text):
        is_new = not self.log.exists()
        with open(self.log, "a") as log:
            log.write(GROWING_HEAD + text if is_new else text)

    def rotate(self):
        if self.pending or not self.log.exists():
            return
        self.log.rename(self.log.with_name(f"log-{self.new_name()}"))

    def finish(self):
        if self.pending:
            self.append(self.pending)
            self.pending = ""

    def drop_taken(self):
        """Deletes the files that girdled moved away: it said that it has them."""
        done = self.root / "inbox/counter-2/done"
        count = 0
        for file in done.glob("*") if done.is_dir() else ():
            file.unlink()
            count += 1
        return count
