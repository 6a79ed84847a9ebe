"""girdled draft, listening: on a serial line (a pseudo terminal) and on a TCP line. Nothing is ever sent to the instrument.

    python3 listen_test.py GIRDLED
"""
import os
import pathlib
import pty
import select
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import tty
import unittest

GIRDLED = os.path.abspath(sys.argv.pop(1))

ROWS = [b"B-0042,501,2026-11-02 09:12:00,R1043,sim\r\n", b"B-0042,502,2026-11-02 09:13:00,R1044,lab\r\n",
        b"B-0042,503,2026-11-02 09:14:00,R1044,lab\r\n", b"B-0042,504,2026-11-02 09:16:00,R1046,lab\r\n"]


def crc_16_modbus(data):
    """MODBUS over Serial Line V1.02, 6.2.2: its own example is in frame_test.cc."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return crc


class Listening(unittest.TestCase):
    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-listen-"))
        self.addCleanup(shutil.rmtree, self.root, ignore_errors=True)

    def start(self, *arguments):
        return subprocess.Popen([GIRDLED, "draft", *arguments, "--out", str(self.root / "shop")], stdout=subprocess.PIPE,
                                stderr=subprocess.PIPE, text=True)

    def wait_until_it_listens(self, process):
        ready, _, _ = select.select([process.stderr], [], [], 20)
        self.assertTrue(ready, "it never began to listen")
        return process.stderr.readline()

    def draft_of_a_serial_line(self, messages, *arguments):
        instrument, device = pty.openpty()
        self.addCleanup(os.close, instrument)
        tty.setraw(device)
        name = os.ttyname(device)
        process = self.start("--serial", name, "--name", "counter", *arguments)
        self.assertIn(f"listening on {name}", self.wait_until_it_listens(process))
        time.sleep(0.3)  # it says so before it opens the device
        for message in messages:
            os.write(instrument, message)
            time.sleep(0.02)
        self.came_back, _, _ = select.select([instrument], [], [], 0.2)
        return process

    def text(self, name):
        return (self.root / "shop" / name).read_text()

    def test_drafts_rows_that_come_line_by_line(self):
        process = self.draft_of_a_serial_line(ROWS, "--seconds", "2", "--baud", "19200")
        out, err = process.communicate(timeout=30)
        self.assertEqual(process.returncode, 0, err)
        config = self.text("girdled.yaml")
        self.assertIn("baud: 19200", config)
        self.assertIn("frame: line", config)
        self.assertIn('delimiter: ","', config)
        self.assertIn("header: no", config)
        self.assertIn('measured_at: { from: 3, form: "%Y-%m-%d %H:%M:%S" }', self.text("counter.mapping.yaml"))
        self.assertFalse(self.came_back, "draft sent something to the instrument")

    def test_ends_at_an_interrupt_with_what_came_so_far(self):
        process = self.draft_of_a_serial_line(ROWS, "--seconds", "600")
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=30)
        self.assertEqual(process.returncode, 0, err)
        self.assertIn("4 records", err)

    def test_finds_the_check_of_blocks(self):
        blocks = []
        for row in ROWS:
            text = row.strip() + b"\x03"
            blocks.append(b"\x02" + text + crc_16_modbus(text).to_bytes(2, "little"))
        process = self.draft_of_a_serial_line(blocks, "--seconds", "2")
        out, err = process.communicate(timeout=30)
        self.assertEqual(process.returncode, 0, err)
        self.assertIn("        check: crc-16/modbus\n        order: low_first\n", self.text("girdled.yaml"))
        self.assertEqual((self.root / "shop/counter.messages/0001").read_bytes(), ROWS[0].strip())

    def test_does_not_answer_a_sender_that_waits_to_be_acknowledged(self):
        process = self.draft_of_a_serial_line([b"\x05", b"\x05"], "--seconds", "1")
        out, err = process.communicate(timeout=30)
        self.assertEqual(process.returncode, 1)
        self.assertIn("waits for acknowledgements: girdled run gives them", err)
        self.assertFalse(self.came_back, "draft acknowledged what it does not keep")
        # What is known is written all the same: how the line is cut, and which reader it needs.
        self.assertIn("      frame:\n        kind: astm\n    ", self.text("girdled.yaml"))
        self.assertIn("    reader: astm\n", self.text("girdled.yaml"))
        self.assertIn("finding: { from: FILL_IN }", self.text("counter.mapping.yaml"))

    def test_says_when_nothing_came(self):
        process = self.draft_of_a_serial_line([], "--seconds", "1")
        out, err = process.communicate(timeout=30)
        self.assertEqual(process.returncode, 1)
        self.assertIn("nothing came over the line", err)

    def test_drafts_what_comes_over_tcp(self):
        server = socket.create_server(("127.0.0.1", 0))
        self.addCleanup(server.close)

        def send():
            peer, _ = server.accept()
            with peer:
                for row in ROWS:
                    peer.sendall(row)
        sender = threading.Thread(target=send)
        sender.start()
        address = f"127.0.0.1:{server.getsockname()[1]}"
        process = self.start("--tcp", address, "--seconds", "20", "--name", "counter")
        out, err = process.communicate(timeout=30)  # it ends when the other end closes
        sender.join()
        self.assertEqual(process.returncode, 0, err)
        self.assertIn(f'connect: "{address}"', self.text("girdled.yaml"))

    def test_says_why_no_line_opens(self):
        process = self.start("--serial", str(self.root / "none"), "--seconds", "1")
        out, err = process.communicate(timeout=30)
        self.assertEqual(process.returncode, 3)
        self.assertIn("No such file", err)


if __name__ == "__main__":
    unittest.main()
