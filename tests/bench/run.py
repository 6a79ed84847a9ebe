"""Whole runs of girdled beside plain peers, in pairs, on this machine; prints the median ratio of each measure.

    python3 tests/bench/run.py --girdled build/release/bin/girdled --peers FOLDER [--rows 1000000] [--pairs 5] [measure…]

FOLDER holds the peers' sources (gen.cpp, sqseg.cpp, minid.cpp, latdrv.cpp, http.cpp, baseline.py): plain programs that do part of
the job without validation, audit or bounds. They are floors to measure against, not part of the product, and are built
into a temporary folder. Only ratios within one run mean anything.
"""
import argparse
import contextlib
import os
import pathlib
import re
import shutil
import signal
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
HEAD = ("instrument,run_no,ts,stone_id,result,confidence,colour,clarity,carat,ambient_c,humidity,operator,method,firmware,"
        "position,site,flag\n")
CONFIG = """site: quay-street
ledger: {{ path: state/ledger.db }}
log: {{ level: warning }}
intakes:
  - name: exports
    folder: {{ path: inbox, match: "*.csv", content: whole }}
    reader: delimited
    isolate: {isolate}
    mapping: mapping.yaml
{outlets}"""
OUTLET = """outlets:
  - name: till
    webhook: {{ url: "http://127.0.0.1:{port}/", secret_file: secret }}
"""
# Takes every post and says nothing: what is measured is who sends.
NGINX = """daemon off;
worker_processes 1;
pid {home}/nginx.pid;
error_log {home}/error.log;
events {{ worker_connections 256; }}
http {{
  access_log off;
  client_body_temp_path {home}/body;
  keepalive_requests 100000000;
  server {{ listen 127.0.0.1:{port}; location / {{ return 204; }} }}
}}
"""
WRK = """wrk.method = "POST"
wrk.body = string.rep("d", 1024)
wrk.headers["Content-Type"] = "application/json"
"""
# Without `run`: the generator's run numbers repeat within an instrument, and its peers tell records apart by time too.
MAPPING = """record: reading
fields:
  instrument: { from: instrument }
  extra.run_no: { from: run_no }
  measured_at: { from: ts }
  stock_number: { from: stone_id }
  finding: { from: result, words: { N: natural, L: laboratory_grown, T: treated, S: simulant, I: indeterminate, V: void } }
  confidence: { from: confidence }
  color: { from: colour }
  carat: { from: carat }
  temperature_c: { from: ambient_c }
  humidity_pct: { from: humidity }
  operator: { from: operator }
  extra.clarity: { from: clarity }
  extra.firmware: { from: firmware }
  extra.flag: { from: flag }
  extra.method: { from: method }
  extra.site: { from: site }
  extra.tray: { from: position }
"""


class Bench:
    def __init__(self, options, root):
        self.options, self.root, self.peers = options, root, pathlib.Path(options.peers).resolve()
        self.girdled = os.path.abspath(options.girdled)
        for name, libraries in (("gen", []), ("sqseg", ["-lsqlite3", "-lcrypto", "-lxxhash"]),
                                ("minid", ["-lsqlite3", "-lcrypto"]), ("latdrv", ["-lpthread"]),
                                ("http", ["-lssl", "-lcrypto", "-lpthread"])):
            subprocess.run(["g++", "-std=c++20", "-O2", "-w", "-o", root / name, self.peers / f"{name}.cpp", *libraries], check=True)
        self.data = root / "data"
        self.data.mkdir()
        subprocess.run(["gcc", "-O2", "-w", "-shared", "-fPIC", "-o", root / "slowsync.so", self.peers / "slowsync.c", "-ldl"],
                       check=True)
        subprocess.run([root / "gen", "csv", str(options.rows), root / "all.csv"], check=True)

    def files(self, folder, rows_a_file, rows=None, source="all.csv"):
        folder.mkdir(parents=True, exist_ok=True)
        limit = rows or self.options.rows
        with open(self.root / source) as source:
            next(source)
            for number in range(0, limit, rows_a_file):
                with open(folder / f"f{number:09}.csv", "w") as file:
                    file.write(HEAD)
                    for _ in range(min(rows_a_file, limit - number)):
                        file.write(next(source))

    def home(self, name, port=None, isolate="foreign"):
        home = self.root / name
        if home.exists():
            shutil.rmtree(home)
        (home / "inbox").mkdir(parents=True)
        (home / "mapping.yaml").write_text(MAPPING)
        (home / "girdled.yaml").write_text(CONFIG.format(isolate=isolate, outlets=OUTLET.format(port=port) if port else ""))
        (home / "secret").write_text("whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE=\n")
        (home / "secret").chmod(0o600)
        return home

    def once(self, home):
        """Seconds, the peak resident set in MB, and the bytes written to disk, of one girdled run --once."""
        start = time.monotonic()
        process = subprocess.Popen([self.girdled, "run", "--once", "--config", home / "girdled.yaml"])
        _, status, usage = os.wait4(process.pid, 0)
        if status != 0:
            sys.exit(f"girdled ended with {status}")
        return time.monotonic() - start, usage.ru_maxrss / 1024, usage.ru_oublock * 512

    def baseline(self, folder, database):
        out = subprocess.run([sys.executable, self.peers / "baseline.py", "--input", folder, "--db", database, "--once"],
                             check=True, capture_output=True, text=True).stdout
        return float(re.search(r'"wall_s": ([0-9.]+)', out)[1])

    def backfill(self):
        """Rate of girdled over the rate of baseline.py and of sqseg, rows in files of 10,000."""
        ratios, floors, peaks = [], [], []
        for pair in range(self.options.pairs):
            home = self.home("backfill")
            self.files(home / "inbox", 10_000)
            seconds, peak, _ = self.once(home)
            peaks.append(peak)
            size = sum(path.stat().st_size for path in (home / "state").iterdir())
            peer = self.root / "peer"
            shutil.rmtree(peer, ignore_errors=True)
            self.files(peer / "in", 10_000)
            ratios.append(self.baseline(peer / "in", peer / "db") / seconds)
            out = subprocess.run([self.root / "sqseg", "full_sha", self.root / "all.csv", "10000", "F"], cwd=self.root,
                                 check=True, capture_output=True, text=True).stdout
            rate = float(re.search(r": (\d+) rows/s", out)[1])
            floors.append(self.options.rows / seconds / rate)
            print(f"  pair {pair + 1}: {self.options.rows / seconds:,.0f} rows/s, {peak:.0f} MB, "
                  f"{size / self.options.rows:.0f} bytes a record on disk", flush=True)
        self.tell("backfill against baseline.py (must 2, goal 3)", ratios)
        self.tell("backfill against sqseg full_sha (must 0.55, goal 0.8)", floors)
        print(f"peak resident set (must 128 MB, goal 48): {statistics.median(peaks):.0f} MB")

    def again(self):
        """The same records in other files, and the same files byte for byte."""
        rewritten, identical = [], []
        for _ in range(self.options.pairs):
            home, peer = self.home("again"), self.root / "peer"
            shutil.rmtree(peer, ignore_errors=True)
            self.files(home / "inbox", 10_000)
            self.files(peer / "in", 10_000)
            self.once(home)
            self.baseline(peer / "in", peer / "db")
            shutil.rmtree(home / "inbox")
            self.files(home / "inbox", 9_999)
            self.files(peer / "in2", 9_999)
            rewritten.append(self.baseline(peer / "in2", peer / "db") / self.once(home)[0])
            for path in sorted((home / "inbox").iterdir()):
                path.rename(path.with_name("again-" + path.name))
            self.files(peer / "in3", 9_999)
            identical.append(self.baseline(peer / "in3", peer / "db") / self.once(home)[0])
        self.tell("all duplicates against baseline.py (must 1.5, goal 2.5)", rewritten)
        self.tell("the same bytes against baseline.py (must 20, goal 50)", identical)

    def small(self):
        """One-record files."""
        ratios = []
        for _ in range(self.options.pairs):
            home, peer = self.home("small"), self.root / "peer"
            shutil.rmtree(peer, ignore_errors=True)
            self.files(home / "inbox", 1, 20_000)
            self.files(peer / "in", 1, 20_000)
            ratios.append(self.baseline(peer / "in", peer / "db") / self.once(home)[0])
        self.tell("one-record files against baseline.py (must 3, goal 6)", ratios)

    def drive(self, folder, port, count, gap_ms=3):
        out = subprocess.run([self.root / "latdrv", folder, str(port), str(count), str(gap_ms)], check=True, capture_output=True,
                             text=True).stdout
        found = re.search(r"lost=(\d+) p50 (\d+) p90 \d+ p99 (\d+)", out)
        if found[1] != "0":
            print(f"  lost {found[1]}: {out.strip()}")
        return float(found[2]), float(found[3])

    def lone(self):
        """From the rename of a one-record file to the POST, in microseconds, against the barest daemon."""
        middles, tails = [], []
        for pair in range(self.options.pairs):
            port = 21_000 + 2 * pair
            home = self.home("lone", port)
            service = subprocess.Popen([self.girdled, "run", "--config", home / "girdled.yaml"], stderr=subprocess.DEVNULL)
            time.sleep(1)
            ours = self.drive(home / "inbox", port, 400)
            service.send_signal(signal.SIGTERM)
            service.wait()
            folder = self.root / "minid-in"
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            floor = subprocess.Popen([self.root / "minid", folder, self.root / "minid.db", str(port + 1)], stdout=subprocess.DEVNULL)
            time.sleep(0.5)
            theirs = self.drive(folder, port + 1, 400)
            floor.kill()
            floor.wait()
            print(f"  pair {pair + 1}: {ours[0]:.0f} / {ours[1]:.0f} us, floor {theirs[0]:.0f} / {theirs[1]:.0f} us", flush=True)
            middles.append(ours[0] / theirs[0])
            tails.append(ours[1] / theirs[1])
        self.tell("lone record p50 against minid (must 2, goal 1.3)", middles)
        self.tell("lone record p99 against minid (must 3, goal 1.6)", tails)

    def isolated(self):
        """The reader in a process of its own against the same reader within girdled: a backfill, and a lone record."""
        ratios, added = [], []
        for pair in range(self.options.pairs):
            seconds, middles = {}, {}
            for turn, isolate in enumerate(("never", "always") if pair % 2 == 0 else ("always", "never")):
                home = self.home("isolated", isolate=isolate)
                self.files(home / "inbox", 10_000)
                seconds[isolate] = self.once(home)[0]
                port = 21_300 + 2 * pair + turn
                home = self.home("isolated", port, isolate)
                service = subprocess.Popen([self.girdled, "run", "--config", home / "girdled.yaml"], stderr=subprocess.DEVNULL)
                time.sleep(1)
                middles[isolate], _ = self.drive(home / "inbox", port, 400)
                service.send_signal(signal.SIGTERM)
                service.wait()
            ratios.append(seconds["never"] / seconds["always"])
            added.append(middles["always"] - middles["never"])
            print(f"  pair {pair + 1}: backfill {self.options.rows / seconds['never']:,.0f} and "
                  f"{self.options.rows / seconds['always']:,.0f} rows/s, lone record {middles['never']:.0f} and "
                  f"{middles['always']:.0f} us", flush=True)
        self.tell("backfill out of process against in process (must 0.8, goal 0.95)", ratios)
        self.tell("added to a lone record's p50, in us (must 100, goal 60)", added)

    def long(self):
        """Ten million records, a million a run: does the last one take longer than the first, and what is written."""
        home = self.home("long")
        rates, peaks, written = [], [], []
        for million in range(10):
            subprocess.run([self.root / "gen", "csv", "1000000", self.root / "part.csv", str(million * 1_000_000)], check=True)
            shutil.rmtree(home / "inbox")
            self.files(home / "inbox" / str(million), 10_000, 1_000_000, "part.csv")
            for path in sorted((home / "inbox" / str(million)).iterdir()):
                path.rename(home / "inbox" / f"m{million}-{path.name}")
            (home / "inbox" / str(million)).rmdir()
            seconds, peak, wrote = self.once(home)
            rates.append(1e6 / seconds)
            peaks.append(peak)
            written.append(wrote / 1e6)
            print(f"  million {million + 1}: {rates[-1]:,.0f} rows/s, {peak:.0f} MB, {written[-1]:.0f} bytes written a record",
                  flush=True)
        print(f"last million against the first (must 0.7, goal 0.85): {rates[-1] / rates[0]:.2f}")
        print(f"bytes written a record (goal 1200): {statistics.mean(written):.0f}")
        print(f"peak resident set at 1 M and at 10 M (must 128 MB, goal 48): {peaks[0]:.0f} and {peaks[-1]:.0f} MB")
        starts = [self.start_seconds(home) for _ in range(self.options.pairs)]
        print(f"start with 10 M readings (must 500 ms, goal 100): {1000 * statistics.median(starts):.0f} ms")

    def start_seconds(self, home):
        """From the call to the service's "ready" in its log."""
        config = (home / "girdled.yaml").read_text().replace("level: warning", "level: info")
        (home / "ready.yaml").write_text(config)
        start = time.monotonic()
        service = subprocess.Popen([self.girdled, "run", "--config", home / "ready.yaml"], stderr=subprocess.PIPE,
                                   stdout=subprocess.DEVNULL, text=True)
        for line in service.stderr:
            if "ready" in line:
                break
        seconds = time.monotonic() - start
        service.send_signal(signal.SIGTERM)
        service.communicate()
        return seconds

    def syncs(self):
        """How many syncs lie between a lone record and its POST: each is made 20 ms slower, and the wait is counted."""
        home = self.home("syncs", 21_100)
        service = subprocess.Popen([self.girdled, "run", "--config", home / "girdled.yaml"], stderr=subprocess.DEVNULL,
                                   env=os.environ | {"LD_PRELOAD": str(self.root / "slowsync.so"), "SLOWSYNC_US": "20000"})
        time.sleep(1)
        middle, _ = self.drive(home / "inbox", 21_100, 50, 150)
        service.send_signal(signal.SIGTERM)
        service.wait()
        print(f"syncs before the POST of a lone record (must 2, goal 1): {middle / 20_000:.2f}")

    def idle(self):
        """Memory and wake-ups of a service that has nothing to do, for 20 seconds."""
        home = self.home("idle", 21_200)
        service = subprocess.Popen([self.girdled, "run", "--config", home / "girdled.yaml"], stderr=subprocess.DEVNULL)
        time.sleep(2)

        def switches():
            return sum(int(re.search(r"^voluntary_ctxt_switches:\s+(\d+)", path.read_text(), re.M)[1])
                       for path in pathlib.Path(f"/proc/{service.pid}/task").glob("*/status"))
        before = switches()
        time.sleep(20)
        woken = (switches() - before) / 20
        resident = int(re.search(r"VmRSS:\s+(\d+)", pathlib.Path(f"/proc/{service.pid}/status").read_text())[1]) / 1024
        service.send_signal(signal.SIGTERM)
        service.wait()
        print(f"idle: {resident:.0f} MB resident (must 32, goal 16), {woken:.2f} wake-ups a second (must 2, goal below 1)")

    @contextlib.contextmanager
    def nginx(self, port):
        home = self.root / "nginx"
        home.mkdir(exist_ok=True)
        (home / "nginx.conf").write_text(NGINX.format(home=home, port=port))
        server = subprocess.Popen(["nginx", "-p", home, "-c", home / "nginx.conf"], stderr=subprocess.DEVNULL)
        time.sleep(0.5)
        try:
            yield
        finally:
            server.terminate()
            server.wait()

    def beast(self, port, connections, count):
        """Posts a second of the bare Beast client with an HMAC over each body."""
        out = subprocess.run([self.root / "http", "client", str(port), str(connections), str(count), "hmac"], check=True,
                             capture_output=True, text=True).stdout
        return float(re.search(r": (\d+) req/s", out)[1])

    def wrk(self, port, connections):
        script = self.root / "post.lua"
        script.write_text(WRK)
        out = subprocess.run(["wrk", "-t1", f"-c{connections}", "-d3s", "-s", script, f"http://127.0.0.1:{port}/hook"], check=True,
                             capture_output=True, text=True).stdout
        return float(re.search(r"Requests/sec:\s+([0-9.]+)", out)[1])

    def waiting(self, name, rows):
        """A house whose ledger holds the outcomes of `rows` records that no receiver has taken yet; and how many."""
        home = self.home(name, 9)  # nothing listens there
        self.files(home / "inbox", 10_000, rows)
        subprocess.run([self.girdled, "run", "--once", "--config", home / "girdled.yaml"], stderr=subprocess.DEVNULL)
        shutil.rmtree(home / "inbox")
        (home / "inbox").mkdir()
        return home, self.count(home, 0)

    @staticmethod
    def count(home, state):
        with sqlite3.connect(f"file:{home}/state/ledger.db?mode=ro", uri=True) as ledger:
            return ledger.execute("SELECT count(*) FROM delivery WHERE state = ?", [state]).fetchone()[0]

    def point_at(self, home, port):
        (home / "girdled.yaml").write_text(CONFIG.format(isolate="foreign", outlets=OUTLET.format(port=port)))
        with sqlite3.connect(home / "state/ledger.db") as ledger:  # as if the time of the next attempts had come
            ledger.execute("UPDATE delivery SET due_at = 0 WHERE due_at IS NOT NULL AND state = 0")

    def drain(self):
        """Signed posts of waiting outcomes to nginx, each marked in the ledger, against a bare client and the script."""
        rows = min(self.options.rows, 100_000)
        bare, script = [], []
        for pair in range(self.options.pairs):
            with self.nginx(21_400 + pair):
                rate, floor, theirs = self.one_drain(21_400 + pair, rows)
            bare.append(rate / floor)
            script.append(rate / theirs)
        self.tell("drain with marks against the bare client with HMAC (must 0.3, goal 0.6)", bare)
        self.tell("drain with marks against baseline.py (must 2.8, goal 5)", script)

    def one_drain(self, port, rows):
        home, waiting = self.waiting("drain", rows)
        self.point_at(home, port)
        seconds, peak, _ = self.once(home)
        if self.count(home, 0) != 0:
            sys.exit("not everything was sent")
        rate, floor = waiting / seconds, self.beast(port, 8, waiting)
        without, _ = self.script(rows)
        with_posts, posted = self.script(rows, "--webhook", f"http://127.0.0.1:{port}/hook", "--client", "httpclient")
        theirs = posted / (with_posts - without)
        print(f"  {waiting} outcomes, {rate:,.0f}/s, bare client {floor:,.0f}/s, script {theirs:,.0f}/s, {peak:.0f} MB", flush=True)
        return rate, floor, theirs

    def script(self, rows, *options):
        """Seconds of baseline.py, and how many posts it made."""
        peer = self.root / "peer"
        shutil.rmtree(peer, ignore_errors=True)
        self.files(peer / "in", 10_000, rows)
        out = subprocess.run([sys.executable, self.peers / "baseline.py", "--input", peer / "in", "--db", peer / "db", "--once", *options],
                             check=True, capture_output=True, text=True).stdout
        posted = re.search(r'"posted": (\d+)', out)
        return float(re.search(r'"wall_s": ([0-9.]+)', out)[1]), int(posted[1]) if posted else 0

    def sender(self):
        """Posts without a ledger, over one connection and over eight, against wrk."""
        drain = pathlib.Path(self.girdled).parents[1] / "tests/delivery/girdle_delivery_drain"
        for connections, aims in ((1, "must 0.75, goal 0.85"), (8, "must 0.5, goal 0.65")):
            ratios = []
            for pair in range(self.options.pairs):
                port = 21_500 + pair
                with self.nginx(port):
                    out = subprocess.run([drain, str(port), str(connections), "100000"], check=True, capture_output=True, text=True).stdout
                    ours, theirs = float(re.search(r"sent, (\d+)/s", out)[1]), self.wrk(port, connections)
                print(f"  {connections} connection(s): {ours:,.0f}/s, wrk {theirs:,.0f}/s", flush=True)
                ratios.append(ours / theirs)
            self.tell(f"bare sender, {connections} connection(s), against wrk ({aims})", ratios)

    def backlog(self):
        """A million waiting outcomes: how soon the first is sent after a start, memory, and whether all arrive."""
        home, waiting = self.waiting("backlog", self.options.rows)
        self.point_at(home, 21_600)
        with self.nginx(21_600):
            start = time.monotonic()
            service = subprocess.Popen([self.girdled, "run", "--config", home / "girdled.yaml"], stderr=subprocess.DEVNULL)
            while self.count(home, 1) == 0:
                time.sleep(0.01)
            first = time.monotonic() - start
            while self.count(home, 0) > 0:
                time.sleep(2)
            seconds = time.monotonic() - start
            peak = int(re.search(r"VmHWM:\s+(\d+)", pathlib.Path(f"/proc/{service.pid}/status").read_text())[1]) / 1024
            service.send_signal(signal.SIGTERM)
            service.wait()
        print(f"{waiting} waiting: the first marked {1000 * first:.0f} ms after the start (must 1000), drained at "
              f"{waiting / seconds:,.0f}/s, peak {peak:.0f} MB (must 128, goal 48)")

    @staticmethod
    def tell(what, ratios):
        print(f"{what}: {statistics.median(ratios):.2f}  (of {len(ratios)}: {min(ratios):.2f} to {max(ratios):.2f})", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--girdled", required=True)
    parser.add_argument("--peers", required=True)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("measures", nargs="*", default=["backfill", "again", "small", "lone", "isolated", "syncs", "idle", "long"])
    options = parser.parse_args()
    # Not in memory: a sync has to reach a disk.
    with tempfile.TemporaryDirectory(dir="/var/tmp", prefix="girdle-bench-") as root:
        bench = Bench(options, pathlib.Path(root))
        for measure in options.measures:
            print(f"== {measure}: {getattr(Bench, measure).__doc__}", flush=True)
            getattr(bench, measure)()


if __name__ == "__main__":
    main()
