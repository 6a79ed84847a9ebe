"""The API beside the service's own work, on this machine: how soon a case and a search are answered while readings come
in, and what people who listen cost those who bring readings.

    python3 tests/bench/api_bench.py --girdled build/release/bin/girdled --drive build/release/tests/api/girdle_api_drive \\
        --peers FOLDER [--rows 10000000] [--home FOLDER] [measure…]

FOLDER of --peers holds gen.cpp, which makes the records (see run.py). With --home the large ledger is made there once
and used again; else in a folder that goes. Times count from when a request should have left (see api_drive.cc).

An answer takes four wake-ups of threads, so that whoever else works on the machine is in every number. Requests are made
in windows of five seconds, and a window counts where a thread that only wakes up was not later than --quiet microseconds
in 99 of 100 cases; how many did is told, and what the others said.
"""
import argparse
import contextlib
import itertools
import os
import pathlib
import random
import re
import signal
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request

from run import HEAD, MAPPING

CONFIG = """site: quay-street
ledger: {{ path: state/ledger.db }}
log: {{ level: warning }}
{api}intakes:
  - name: exports
    folder: {{ path: inbox, match: "*.csv", content: whole }}
    reader: delimited
    mapping: mapping.yaml
  - name: bench-1
    folder: {{ path: growing, match: "*.csv", content: growing }}
    reader: delimited
    mapping: mapping.yaml
"""
API = 'api: {{ listen: "127.0.0.1:{port}" }}\n'
PER_SECOND = 5_000  # readings, while the API is asked
WINDOW = 5  # seconds


def at_share(ascending, share):
    return ascending[min(len(ascending) - 1, int(share * len(ascending)))]


def shares(times):
    """In milliseconds, of times in microseconds."""
    if not times:
        return "no answer"
    ascending = sorted(times)
    return f"{len(times)} answers, in ms: " + ", ".join(
        f"p{100 * share:g} {at_share(ascending, share) / 1000:.2f}" for share in (0.5, 0.9, 0.99, 0.999)) + f", max {ascending[-1] / 1000:.1f}"


def tell(what, ascending):
    print(f"{what}: {at_share(ascending, 0.99) / 1000:.2f} ms" if ascending else f"{what}: the machine was never quiet", flush=True)


class Home:
    """A shop: its configuration, its ledger, and the service that runs there."""

    def __init__(self, girdled, folder, port):
        self.girdled, self.folder, self.port, self.service = girdled, folder, port, None
        for name in ("inbox", "growing"):
            (folder / name).mkdir(parents=True, exist_ok=True)
        (folder / "mapping.yaml").write_text(MAPPING)
        (folder / "girdled.yaml").write_text(CONFIG.format(api=API.format(port=port)))
        (folder / "once.yaml").write_text(CONFIG.format(api=""))

    def once(self):
        subprocess.run([self.girdled, "run", "--once", "--config", self.folder / "once.yaml"], check=True)

    @contextlib.contextmanager
    def running(self):
        self.service = subprocess.Popen([self.girdled, "run", "--config", self.folder / "girdled.yaml"], stderr=subprocess.PIPE)
        try:
            self.wait_until_ready()
            yield
        finally:
            self.service.send_signal(signal.SIGTERM)
            _, said = self.service.communicate()
            if said or self.service.returncode:
                print(f"  the service ended with {self.service.returncode} and said: {said.decode()[:2000]}", flush=True)

    def wait_until_ready(self):
        for _ in range(600):
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/health/ready", timeout=5):
                    return
            except OSError:
                if self.service.poll() is not None:
                    sys.exit("girdled does not run")
                time.sleep(0.1)
        sys.exit("girdled is not ready after a minute")

    def ask(self, sql):
        with contextlib.closing(sqlite3.connect(f"file:{self.folder}/state/ledger.db?mode=ro", uri=True, timeout=30)) as ledger:
            return ledger.execute(sql).fetchall()

    def readings(self):
        return self.ask("SELECT coalesce(max(id), 0) FROM reading")[0][0]

    def cpu_seconds(self):
        fields = pathlib.Path(f"/proc/{self.service.pid}/stat").read_text().rsplit(") ", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


class Load(threading.Thread):
    """Readings that come in a growing file, a hundredth of a second's at a time, until it is stopped."""

    def __init__(self, home, rows):
        super().__init__()
        self.home, self.rows, self.ending, self.late = home, rows, threading.Event(), 0.0

    def run(self):
        path = self.home.folder / "growing" / f"{time.time_ns()}.csv"
        tick = PER_SECOND // 100
        with open(self.rows) as rows, open(path, "w") as file:
            next(rows)
            file.write(HEAD)
            due = time.monotonic()
            while not self.ending.is_set():
                file.write("".join(itertools.islice(rows, tick)))
                file.flush()
                due += 0.01
                pause = due - time.monotonic()
                self.late = max(self.late, -pause)
                if pause > 0:
                    time.sleep(pause)

    def __enter__(self):
        self.begin, self.before = time.monotonic(), self.home.readings()
        self.start()
        return self

    def __exit__(self, *_):
        self.ending.set()
        self.join()
        seconds = time.monotonic() - self.begin
        time.sleep(1)
        came = self.home.readings() - self.before
        print(f"    meanwhile {came / seconds:,.0f} readings a second came in"
              + (f"; the file was up to {1000 * self.late:.0f} ms late" if self.late > 0.05 else ""), flush=True)


class Bench:
    def __init__(self, options, root):
        self.options, self.root, self.port = options, root, options.port
        self.girdled, self.drive = os.path.abspath(options.girdled), os.path.abspath(options.drive)
        subprocess.run(["g++", "-std=c++20", "-O2", "-w", "-o", root / "gen", pathlib.Path(options.peers) / "gen.cpp"], check=True)

    def generate(self, path, rows, start):
        subprocess.run([self.root / "gen", "csv", str(rows), path, str(start)], check=True)

    def put_files(self, home, rows, start, rows_a_file=10_000):
        """Files in place before anybody looks: written beside the inbox, then renamed into it."""
        part = self.root / "part.csv"
        self.generate(part, rows, start)
        made = []
        with open(part) as source:
            next(source)
            for number in range(0, rows, rows_a_file):
                path = home.folder / f"part-{start + number:010}.csv"
                with open(path, "w") as file:
                    file.write(HEAD)
                    file.writelines(itertools.islice(source, min(rows_a_file, rows - number)))
                made.append(path)
        part.unlink()
        return made

    def large(self):
        """The home with the large ledger."""
        folder = pathlib.Path(self.options.home) if self.options.home else self.root / "large"
        home = Home(self.girdled, folder, self.port)
        there = home.readings() if (folder / "state/ledger.db").exists() else 0
        step = 1_000_000
        for start in range(there - there % step, self.options.rows, step):
            for path in self.put_files(home, min(step, self.options.rows - start), start):
                path.rename(home.folder / "inbox" / path.name)
            home.once()
            for path in (home.folder / "inbox").iterdir():
                path.unlink()
            print(f"  {home.readings():,} readings in the ledger", flush=True)
        size = sum(path.stat().st_size for path in (folder / "state").iterdir())
        print(f"  the ledger has {home.readings():,} readings, {size / 1e9:.1f} GB", flush=True)
        return home

    def rows_to_come(self, home, seconds):
        """More than that many seconds need, none of which was there before: the generator goes on where it was."""
        path = self.root / "come.csv"
        self.generate(path, int(PER_SECOND * (seconds + 30)), self.options.rows + home.readings())
        return path

    def asked(self, what, home, targets, per_second):
        """The same requests with nothing else to do, and while readings come in; the times of the latter."""
        file = self.root / "targets"
        file.write_text("".join(target + "\n" for target in targets))
        self.windows(f"{what}, at rest", file, per_second, len(targets))
        most = self.options.windows * WINDOW * 1.5
        with Load(home, self.rows_to_come(home, most)):
            time.sleep(2)
            return self.windows(f"{what}, while {PER_SECOND:,} readings a second come in", file, per_second, len(targets))

    def windows(self, what, file, per_second, targets):
        counted, others, lates, first = [], [], [], 0
        for _ in range(self.options.windows):
            out = subprocess.run([self.drive, "get", str(self.port), str(per_second), str(WINDOW), file, str(first % targets)],
                                 check=True, capture_output=True, text=True).stdout.splitlines()
            first += per_second * WINDOW
            lates.append(int(out.pop().split()[1]))
            answers = [line.split() for line in out]
            wrong = [status for status, _, _ in answers if status != "200"]
            if wrong:
                sys.exit(f"{len(wrong)} answers were not 200, the first {wrong[0]}")
            (counted if lates[-1] <= self.options.quiet else others).extend(int(us) for _, _, us in answers)
            if len(counted) >= self.options.seconds * per_second:
                break
        quiet = sum(late <= self.options.quiet for late in lates)
        print(f"  {what}: {quiet} of {len(lates)} windows were quiet\n    {shares(counted)}" +
              (f"\n    in the others {shares(others)}; there the thread was late by up to {max(lates)} us" if others else ""), flush=True)
        return sorted(counted)

    def case(self):
        """GET of one case: must 20 ms, goal 5 ms at p99."""
        home = self.large()
        name = home.ask("SELECT value FROM about WHERE name = 'name'")[0][0]
        last = home.ask("SELECT max(id) FROM subject")[0][0]
        chance = random.Random(1042)
        targets = [f"/api/v1/cases/{name}-{chance.randint(1, last) << 16}" for _ in range(20_000)]
        with home.running():
            tell("GET of one case, p99 (must 20 ms, goal 5)", self.asked("one case", home, targets, 100))

    def search(self):
        """Search by the beginning of a stock number, of all lengths as one types it: must 50 ms, goal 10 ms at p99."""
        home = self.large()
        last = home.ask("SELECT max(id) FROM subject")[0][0]
        chance = random.Random(1042)
        targets = []
        for _ in range(1_000):
            key = home.ask(f"SELECT key FROM subject WHERE id = {chance.randint(1, last)}")[0][0]
            targets += [f"/api/v1/cases?q={key[:length]}" for length in range(1, len(key) + 1)]
        with home.running():
            tell("search by prefix, p99 (must 50 ms, goal 10)", self.asked("search", home, targets, 50))

    def metrics(self):
        """/metrics, ten times a second."""
        home = self.large()
        with home.running():
            tell("/metrics, p99", self.asked("/metrics", home, ["/metrics"], 10))

    @contextlib.contextmanager
    def listening(self, count):
        if count == 0:
            yield
            return
        listeners = subprocess.Popen([self.drive, "listen", str(self.port), str(count)], stdout=subprocess.PIPE, text=True)
        time.sleep(1)
        try:
            yield
        finally:
            listeners.terminate()
            print("    " + listeners.communicate()[0].strip(), flush=True)

    def seconds_to_take(self, listeners):
        """A backfill, from the moment that its files are there until the last reading is durable; and the CPU that it took."""
        with tempfile.TemporaryDirectory(dir=self.root) as folder:
            home = Home(self.girdled, pathlib.Path(folder), self.port)
            with home.running(), self.listening(listeners):
                paths = self.put_files(home, self.options.backfill, 0)
                cpu, begin = home.cpu_seconds(), time.monotonic()
                for path in paths:
                    path.rename(home.folder / "inbox" / path.name)
                while home.readings() < self.options.backfill:
                    time.sleep(0.02)
                return time.monotonic() - begin, home.cpu_seconds() - cpu

    def listeners(self):
        """What 50 listeners cost a backfill as fast as it goes: must 10 %, goal 2 %."""
        costs, cpu_costs = [], []
        for pair in range(self.options.pairs):
            seconds, cpu = {}, {}
            for count in ((0, 50) if pair % 2 == 0 else (50, 0)):
                seconds[count], cpu[count] = self.seconds_to_take(count)
            costs.append(100 * (1 - seconds[0] / seconds[50]))
            cpu_costs.append(100 * (cpu[50] / cpu[0] - 1))
            print(f"  pair {pair + 1}: {self.options.backfill / seconds[0]:,.0f} readings a second without, "
                  f"{self.options.backfill / seconds[50]:,.0f} with; {cpu[0]:.2f} and {cpu[50]:.2f} s of CPU", flush=True)
        print(f"cost of 50 listeners to a backfill's rate (must 10 %, goal 2): {statistics.median(costs):.1f} % "
              f"(of {len(costs)}: {min(costs):.1f} to {max(costs):.1f}); CPU {statistics.median(cpu_costs):+.1f} %")

    def day(self):
        """What 50 listeners cost the service in CPU while readings come in at a steady rate."""
        with tempfile.TemporaryDirectory(dir=self.root) as folder:
            home = Home(self.girdled, pathlib.Path(folder), self.port)
            used = {0: [], 50: []}
            with home.running():
                for pair in range(self.options.pairs):
                    for count in ((0, 50) if pair % 2 == 0 else (50, 0)):
                        with self.listening(count), Load(home, self.rows_to_come(home, 12)):
                            time.sleep(1)
                            cpu = home.cpu_seconds()
                            time.sleep(10)
                            used[count].append((home.cpu_seconds() - cpu) / 10)
        print(f"CPU at {PER_SECOND:,} readings a second: {100 * statistics.median(used[0]):.1f} % of a processor without, "
              f"{100 * statistics.median(used[50]):.1f} % with 50 listeners")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--girdled", required=True)
    parser.add_argument("--drive", required=True)
    parser.add_argument("--peers", required=True)
    parser.add_argument("--home", help="where the large ledger is, or is to be")
    parser.add_argument("--rows", type=int, default=10_000_000, help="of the large ledger")
    parser.add_argument("--seconds", type=float, default=60, help="of quiet windows that a measure wants")
    parser.add_argument("--windows", type=int, default=24, help="that it tries for that")
    parser.add_argument("--quiet", type=int, default=2000, help="microseconds")
    parser.add_argument("--backfill", type=int, default=500_000, help="readings of the measure with listeners")
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("--port", type=int, default=21_700)
    parser.add_argument("measures", nargs="*", default=["case", "search", "metrics", "listeners", "day"])
    options = parser.parse_args()
    # Not in memory: a sync has to reach a disk.
    with tempfile.TemporaryDirectory(dir="/var/tmp", prefix="girdle-api-bench-") as root:
        bench = Bench(options, pathlib.Path(root))
        for measure in options.measures:
            print(f"== {measure}: {getattr(Bench, measure).__doc__}", flush=True)
            getattr(bench, measure)()


if __name__ == "__main__":
    main()
