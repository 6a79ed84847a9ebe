"""Plays a morning at quay-street against girdled. Called by examples/run; see there."""
import atexit
import os
import pty
import secrets
import shutil
import signal
import subprocess
import sys
import threading
import time
import tty
from base64 import b64encode
from pathlib import Path

from till import Till

PORT = 7480
WIDTHS = (9, 12, 9, 17, 5)


def say(text):
    print(f"\n{text}", flush=True)


printing = threading.Lock()  # outcomes come on the till's threads


def row(*cells):
    fitted = [str(cell).ljust(width) for cell, width in zip(cells, WIDTHS)]
    with printing:
        print("  ".join(fitted) + "  " + str(cells[-1]), flush=True)


def show(event):
    data = event["data"]
    readings = data["readings"]
    row(data["decided_at"][11:19], event["subject"], data["disposition"], data["finding"],
        f"{readings['valid']}/{readings['required']}", data["reasons"][0]["text"])


class Morning:
    def __init__(self, girdled, folder):
        self.girdled, self.folder = girdled, folder
        self.config = folder / "girdled.yaml"
        if folder.exists():
            shutil.rmtree(folder)
        shutil.copytree(Path(__file__).parent / "quay-street", folder)
        for name in ("inbox/counter-1", "inbox/counter-2", "inbox/stock", "outbox/inventory", "state", "secrets"):
            (folder / name).mkdir(parents=True, exist_ok=True)
        secret = "whsec_" + b64encode(secrets.token_bytes(32)).decode()
        with open(os.open(folder / "secrets/till", os.O_WRONLY | os.O_CREAT, 0o600), "w") as file:
            file.write(secret + "\n")
        self.till = Till(PORT, secret, show)
        # The two ends of a serial line: the instrument holds one, girdled opens the other by its name.
        self.line, device = pty.openpty()
        tty.setraw(device)
        os.symlink(os.ttyname(device), folder / "state/counter-3")

    def start(self):
        self.log = open(self.folder / "state/girdled.log", "w")
        self.service = subprocess.Popen([self.girdled, "run", "--config", self.config], stderr=self.log)
        atexit.register(self.service.kill)  # however the morning ends; nothing is lost
        deadline = time.time() + 20
        while "ready" not in (self.folder / "state/girdled.log").read_text():
            if self.service.poll() is not None or time.time() > deadline:
                sys.exit("girdled did not start:\n" + (self.folder / "state/girdled.log").read_text())
            time.sleep(0.05)

    def drop(self, name, text, encoding="windows-1252"):
        # As exporting software should: written elsewhere, then moved in as a whole.
        part = self.folder / "inbox" / "export.part"
        part.write_bytes(text.encode(encoding))
        part.rename(self.folder / "inbox" / name)

    def append(self, text):
        with open(self.folder / "inbox/counter-2/log.csv", "a") as file:
            file.write(text)

    def send(self, *pieces):
        for piece in pieces:
            os.write(self.line, piece)
            time.sleep(0.15)

    def wait_for(self, *expected):
        """Until each (subject, disposition) is the last that the till heard of the subject."""
        deadline = time.time() + 15
        while True:
            last = {event["subject"]: event["data"]["disposition"] for event in self.till.seen.values()}
            missing = [pair for pair in expected if last.get(pair[0]) != pair[1]]
            if not missing:
                return
            if time.time() > deadline:
                sys.exit(f"the till did not hear: {missing}\n" + (self.folder / "state/girdled.log").read_text())
            time.sleep(0.05)

    def files(self):
        """The rows that the inventory would import, in the order of the files' names: item and verdict first."""
        rows = []
        for path in sorted((self.folder / "outbox/inventory").glob("[!.]*.csv")):
            rows += path.read_text("utf-8").splitlines()[1:]
        return rows

    def wait_for_files(self, **verdicts):
        deadline = time.time() + 15
        while True:
            last = dict(row.split(";")[:2] for row in self.files())
            if all(last.get(item) == verdict for item, verdict in verdicts.items()):
                return
            if time.time() > deadline:
                sys.exit(f"not in the inventory's folder: {verdicts}; there are {last}")
            time.sleep(0.1)

    def show(self, *arguments):
        print(f"\n$ girdled {' '.join(arguments)}\n", flush=True)
        code = subprocess.call([self.girdled, *arguments, "--config", self.config])
        if code != 0:
            sys.exit(f"girdled {arguments[0]} failed with {code}")

    def open_console(self):
        """Until a person has seen enough."""
        token = subprocess.run([self.girdled, "token", "add", "visitor", "--role", "admin", "--config", self.config],
                               check=True, capture_output=True, text=True).stdout.strip()
        say(f"09:40  The console is open, for browsers on this machine:\n\n  http://127.0.0.1:7447/\n\n"
            f"  To do more than look, sign in there with this token:\n\n  {token}\n")
        try:
            input("Press Enter here to end the morning. ")
        except (EOFError, KeyboardInterrupt):  # the terminal is gone, or Ctrl-C
            print()

    def stop(self):
        self.service.send_signal(signal.SIGTERM)
        code = self.service.wait(timeout=10)
        if code != 0:
            sys.exit(f"girdled ended with {code}")


def main():
    girdled, folder = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    signal.signal(signal.SIGHUP, lambda *_: sys.exit(1))  # the terminal is gone
    morning = Morning(girdled, folder)
    print("A morning at quay-street. Invented stones, real bytes: what girdled reads here is what instruments write.")
    morning.start()
    say("09:00  The stock list comes from the inventory: what each stone is declared to be.")
    morning.drop("stock/list.csv", "stock,identity,carat,colour,shape,value\n"
                 "R1042,natural,0.53,F,round,1450\nR1043,natural,0.71,G,round,1980\nR1044,natural,1.02,E,oval,5200\n"
                 "R1045,natural,0.40,H,round,900\nR1046,laboratory_grown,1.50,E,round,880\nR1047,natural,12.40,F,cushion,310000\n"
                 "R1048#1,natural,0.10,G,round,\nR1048#2,natural,0.10,G,round,\n", "utf-8")
    time.sleep(0.5)

    say("09:05  What the till hears (it checks every signature):\n")
    row("TIME UTC", "STOCK NUMBER", "DO", "FINDING", "RUNS", "WHY")
    head = "no;date;time;item;result;weight;temp\r\n"
    first = ("1;02.11.2026;09:05:10;R1042;A;0,53;21,5\r\n2;02.11.2026;09:05:50;R1042;A;0,53;21,5\r\n"
             "3;02.11.2026;09:07:00;R1043;A;0,71;21,6\r\n4;02.11.2026;09:08:10;R1045;-;;21,6\r\n")
    morning.drop("counter-1/export-1.csv", head + first)
    morning.wait_for(("R1042", "release"), ("R1043", "repeat"), ("R1045", "repeat"))
    morning.append("device,run,at,stock,verdict\nB-0042,501,2026-11-02 09:12:00,R1043,sim\nB-0042,502,2026-11-02 09:13:00,R10")
    morning.wait_for(("R1043", "refer"))
    morning.append("44,lab\nB-0042,503,2026-11-02 09:14:00,R1044,lab\nB-0042,504,2026-11-02 09:16:00,R1046,lab\n"
                   "B-0042,505,2026-11-02 09:17:00,R1046,lab\n")
    morning.wait_for(("R1044", "refer"), ("R1046", "release"))

    frame = (b'{"device":"C-0007","n":%d,"at":"2026-11-02T%s+01:00","item":"%s","result":{"code":%d,"certainty":99.2}}\n')
    one = frame % (71, b"09:20:00", b"R1048#1", 10)
    two = frame % (72, b"09:21:00", b"R1048#1", 10)
    morning.send(one[:40], one[40:], two, two)           # one in two pieces, one sent twice
    morning.send(b'{"device":"C-0007","n":73,"at":"2026-11-02T09:2\xff\xfe!!\n')  # one garbled
    morning.send(frame % (74, b"09:23:00", b"R1048#2", 30), frame % (75, b"09:24:00", b"R1048#2", 30))
    morning.wait_for(("R1048#1", "release"), ("R1048#2", "reject"))
    # The instrument exports again, the old rows with the new: the old ones are duplicates. And a word nobody knows.
    morning.drop("counter-1/export-2.csv", head + first +
                 "5;02.11.2026;09:25:00;R1045;A;0,40;21,8\r\n6;02.11.2026;09:26:00;R1045;A;0,40;21,8\r\n"
                 "7;02.11.2026;09:27:00;R1047;A;12,40;21,9\r\n8;02.11.2026;09:28:00;R1047;Q;12,40;21,9\r\n")
    morning.wait_for(("R1045", "release"), ("R1047", "refer"))
    if morning.till.refused:
        sys.exit("the till refused a signature")

    say("09:30  Why does R1043 go to the laboratory?")
    morning.show("case", "R1043")
    say("       R1042 was exported twice. What became of the second copy?")
    morning.show("case", "R1042")
    say("       And what could nobody read?")
    morning.show("aside")
    say("09:35  The inventory imports files, with words of its own. In its folder:\n")
    morning.wait_for_files(R1042="OK", R1043="LAB", R1045="OK", R1047="LAB")
    print("  item;verdict;carat;at;id")
    for line in morning.files():
        print(f"  {line}")
    shown = os.path.relpath(morning.config)
    tool = os.path.relpath(girdled)
    if sys.stdin.isatty():
        morning.open_console()
    morning.stop()
    print(f"""
Try next:
  {tool} cases --config {shown}
  {tool} readings 'R10*' --config {shown} --json
  {tool} preview --config {shown} --intake counter-1-exports {os.path.relpath(folder)}/inbox/counter-1/export-2.csv
  {tool} preview --config {shown} --outlet inventory R1043
  edit {os.path.relpath(folder)}/counter-1.mapping.yaml, and: {tool} check --config {shown}
  README.md: how to wire a first instrument
""")


if __name__ == "__main__":
    main()
