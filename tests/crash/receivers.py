"""Receivers of outcomes over HTTP. They misbehave by a seeded random until they are told to behave.

Each keeps every delivery that it read, and whether it accepted it, before it answers: what follows
a delivery comes later here, too.
"""

import base64
import collections
import contextlib
import dataclasses
import email.utils
import hashlib
import hmac
import http.server
import json
import random
import socket
import struct
import sys
import threading
import time
import typing

SIGNATURE_AGE = 300  # seconds; what Standard Webhooks lets a receiver refuse is common practice
SETTLING = 5.0  # seconds for the connections of a killed process to end
PATIENCE = 20.0  # seconds; no client of ours waits so long


@dataclasses.dataclass
class Seen:
    """An outcome as it came."""

    id: str
    case: str
    sequence: int
    body: bytes  # as it was sent; of a file with several outcomes this one's line
    content: typing.Any  # what the body says
    accepted: bool  # answered with 2xx, or at least tried to; in a folder always
    place: str | None  # what the delivery's reference must be: the receiver's own name, or the file


class Line(http.server.BaseHTTPRequestHandler):
    """A connection to a receiver, with all that a fate may do to it."""

    protocol_version = "HTTP/1.1"
    disable_nagle_algorithm = True
    place = None

    def log_message(self, *_):
        pass

    def do_POST(self):
        receiver = self.server.receiver
        with receiver.in_hand():
            self.meet(receiver, receiver.fate(self.headers.get("webhook-id", "")))

    do_PUT = do_POST

    def meet(self, receiver, fate):
        if fate.reads:
            length = int(self.headers["content-length"])
            body = self.rfile.read(length)
            if len(body) < length:  # its sender was killed
                self.close_connection = True
                return
            time.sleep(receiver.pause(fate))
            self.place = receiver.note(self, body, fate)
        fate.act(self)

    def say(self, text):
        """False when nobody listens any more."""
        try:
            self.wfile.write(text if isinstance(text, bytes) else text.encode())
            return True
        except OSError:
            self.close_connection = True
            return False

    def answer(self, status, fields="", body=""):
        self.say(f"HTTP/1.1 {status} So\r\n{fields}content-length: {len(body)}\r\n\r\n{body}")

    def hang_up(self):
        self.close_connection = True
        with contextlib.suppress(OSError):  # the peer was killed first
            self.connection.shutdown(socket.SHUT_RDWR)

    def reset(self):
        self.close_connection = True
        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        with contextlib.suppress(OSError):
            self.connection.close()

    def wait_for_close(self):
        self.close_connection = True
        self.connection.settimeout(PATIENCE)
        with contextlib.suppress(OSError):
            while self.connection.recv(4096):
                pass


class Fate(typing.NamedTuple):
    weight: float
    accepts: bool | None  # nothing: by chance; whoever asks hears nothing of it
    act: typing.Callable[[Line], None]
    reads: bool = True
    names: bool = False  # tells the place that it gave the delivery
    slow: float = 0  # seconds, at most


def answers(status, fields="", body=""):
    return lambda line: line.answer(status, fields, body)


def says_and_hangs_up(text):
    def act(line):
        line.say(text)
        line.hang_up()
    return act


def says_and_waits(text):
    def act(line):
        line.say(text)
        line.wait_for_close()
    return act


def says_slowly(text, pause, without_end=False):
    def act(line):
        while True:
            for at in range(len(text)):
                if not line.say(text[at]):
                    return
                time.sleep(pause)
            if not without_end:
                return
    return act


def is_busy_until(line):
    line.answer(429, f"retry-after: {email.utils.formatdate(time.time() + 1, usegmt=True)}\r\n")


class Server(http.server.ThreadingHTTPServer):
    """Knows its open connections."""

    daemon_threads = True
    request_queue_size = 128

    def __init__(self, receiver):
        super().__init__(("127.0.0.1", 0), Line)
        self.receiver = receiver
        self.open = 0
        self.changed = threading.Condition()
        self.own = None  # the address of the connection that settle() makes

    def process_request_thread(self, request, client_address):
        try:
            super().process_request_thread(request, client_address)
        finally:
            with self.changed:
                self.open -= 1
                self.changed.notify_all()

    def process_request(self, request, client_address):
        with self.changed:
            if client_address == self.own:
                self.own = None
                self.changed.notify_all()
                return self.shutdown_request(request)
            self.open += 1
        super().process_request(request, client_address)

    def settle(self):
        """Waits until all that a killed process had sent is read; False: that takes too long."""
        with socket.socket() as own, self.changed:
            own.bind(("127.0.0.1", 0))
            self.own = own.getsockname()
            own.connect(self.server_address)  # connections are accepted in their order
            return self.changed.wait_for(lambda: self.own is None and self.open == 0, SETTLING)

    def handle_error(self, request, client_address):
        failure = sys.exc_info()[1]
        if not isinstance(failure, (OSError, ValueError)):  # a killed peer is what is tested
            self.receiver.complain(f"failed itself: {failure!r}")


class Receiver:
    FATES: dict[str, Fate] = {}

    def __init__(self, name, seed, secret):
        self.name, self.seed = name, seed
        self.random = random.Random(f"{name} {seed}")
        self.key = base64.b64decode(secret.removeprefix("whsec_"))
        self.lock = threading.Lock()
        self.behaves = False
        self.seen = []
        self.fates = collections.Counter()
        self.problems = []
        self.hands = 0
        self.asked = threading.Event()  # a request came since it was cleared
        self.server = Server(self)
        self.port = self.server.server_address[1]
        self.thread = threading.Thread(target=self.server.serve_forever, args=(0.05,), daemon=True)
        self.thread.start()

    def behave(self):
        self.behaves = True

    def close(self):
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()

    def settle(self):
        if not self.server.settle():
            self.complain("a connection of a killed process does not end")

    def came(self):
        """A number that changes with each message."""
        return self.fates.total()

    @contextlib.contextmanager
    def in_hand(self):
        with self.lock:
            self.hands += 1
        self.asked.set()
        try:
            yield
        finally:
            with self.lock:
                self.hands -= 1

    def fate(self, one_id):
        with self.lock:
            name = "accept" if self.behaves else self.drawn_fate(one_id)
            self.fates[name] += 1
            return self.FATES[name]

    def drawn_fate(self, one_id):
        weights = [fate.weight for fate in self.FATES.values()]
        return self.random.choices(list(self.FATES), weights)[0]

    def pause(self, fate):
        with self.lock:
            return self.random.uniform(fate.slow / 30, fate.slow)

    def accepts(self, fate):
        if fate.accepts is not None:
            return fate.accepts
        with self.lock:
            return self.random.random() < 0.5

    def is_signed(self, headers, body):
        stamp = headers.get("webhook-timestamp", "")
        if not stamp.isdigit() or abs(time.time() - int(stamp)) > SIGNATURE_AGE:
            return False
        signed = f"{headers.get('webhook-id', '')}.{stamp}.".encode() + body
        right = base64.b64encode(hmac.new(self.key, signed, hashlib.sha256).digest()).decode()
        given = headers.get("webhook-signature", "").split()
        return any(hmac.compare_digest("v1," + right, one) for one in given)

    def note(self, line, body, fate):
        """Keeps a delivery; the place that is told of it, if any."""
        if not self.is_signed(line.headers, body):
            return self.complain(f"a wrong signature on {line.headers.get('webhook-id')}")
        try:
            seen = self.read(line, body)
        except (ValueError, KeyError, TypeError) as failure:
            return self.complain(f"no event of ours: {failure!r} in {body[:200]!r}")
        if line.headers.get("webhook-id") != seen.id:
            self.complain(f"{seen.id}: header and body do not agree")
        seen.accepted = self.accepts(fate)
        seen.place = seen.place if fate.names else None
        with self.lock:
            self.seen.append(seen)
        return seen.place

    def complain(self, text):
        with self.lock:
            self.problems.append(f"{self.name}: {text}")


class Till(Receiver):
    """Wants every outcome, as a CloudEvent."""

    FATES = {
        "accept": Fate(60, True, answers(200)),
        "unavailable": Fate(10, False, answers(503)),
        "close_unread": Fate(7, False, Line.hang_up, reads=False),
        "close_read": Fate(7, False, Line.hang_up),
        "mute": Fate(8, False, Line.hang_up),
        "slow": Fate(8, True, answers(200), slow=0.15),
    }

    def read(self, line, body):
        event = json.loads(body)
        data = event["data"]
        if data["sequence"] != int(event["sequence"]):
            self.complain(f"{event['id']}: event and data do not agree")
        return Seen(event["id"], data["case"], data["sequence"], body, data, False, None)


OK = "HTTP/1.1 200 So\r\n"
CHUNKED = OK + "transfer-encoding: chunked\r\n\r\n"
PROBLEM = '{"type":"about:blank","title":"no such item","status":422}'


def takes_in(line):
    line.answer(200, "content-type: application/json\r\n", json.dumps({"revision": line.place}))


class Shelf(Receiver):
    """Wants the last outcome of each stone, in words of its own; does wrong whatever can be."""

    REFUSALS = ("unauthorized", "redirect", "unprocessable")
    FATES = {
        "accept": Fate(52, True, takes_in, names=True),
        "byte_by_byte": Fate(4, True, says_slowly("HTTP/1.1 204 So\r\n\r\n", 0.001)),
        "unavailable": Fate(4, False, answers(503)),
        "busy_now": Fate(2, False, answers(429, "retry-after: 0\r\n")),
        "busy_a_second": Fate(0.5, False, answers(429, "retry-after: 1\r\n")),
        "busy_until": Fate(0.5, False, is_busy_until),
        "busy_an_hour": Fate(0.3, False, answers(429, "retry-after: 3600\r\n")),
        "busy_somehow": Fate(1, False, answers(429, "retry-after: soon\r\n")),
        "close_unread": Fate(3, False, Line.hang_up, reads=False),
        "close_read": Fate(3, None, Line.hang_up),
        "reset": Fate(3, None, Line.reset),
        "close_in_header": Fate(3, None, says_and_hangs_up(OK + "content-le")),
        "silent": Fate(1.5, None, Line.wait_for_close),
        "drips": Fate(1, None, says_slowly(OK + "a: b\r\n" * 1000, 0.001, without_end=True)),
        "two_lengths": Fate(
            1, None, says_and_waits(OK + "content-length: 2\r\ncontent-length: 3\r\n\r\nok")),
        "two_framings": Fate(1, None, says_and_waits(
            OK + "transfer-encoding: chunked\r\ncontent-length: 3\r\n\r\n0\r\n\r\n")),
        "no_http": Fate(1, None, says_and_waits("SSH-2.0-OpenSSH_9.2\r\n")),
        "long_header": Fate(1, None, says_and_waits(OK + "x: " + "y" * 20_000)),
        "interim_flood": Fate(1, None, says_and_waits("HTTP/1.1 103 So\r\n\r\n" * 40)),
        # Its status came whole and is 2xx, so it has it: what is wrong with the rest is no matter.
        "close_in_body": Fate(2, True, says_and_hangs_up(OK + "content-length: 10\r\n\r\n{\"re")),
        "sends_less": Fate(1, True, says_and_waits(OK + "content-length: 500\r\n\r\nshort")),
        "sends_more": Fate(2, True, says_and_waits(OK + "content-length: 2\r\n\r\nok and more")),
        "sends_megabytes": Fate(
            1, True, says_and_waits(OK + "content-length: 3000000\r\n\r\n" + "a" * 3_000_000)),
        "chunk_overflow": Fate(1, True, says_and_waits(CHUNKED + "fffffffffffffffff\r\n")),
        "long_trailer": Fate(1, True, says_and_waits(CHUNKED + "0\r\nx: " + "z" * 100_000)),
        # Only for a few outcomes, and for those always: three tries, and they are parked.
        "unauthorized": Fate(0, False, answers(401, 'www-authenticate: Bearer realm="shelf"\r\n')),
        "redirect": Fate(0, False, answers(307, "location: /items\r\n")),
        "unprocessable": Fate(
            0, False, answers(422, "content-type: application/problem+json\r\n", PROBLEM)),
        "gone": Fate(0.2, False, answers(410)),
    }

    def drawn_fate(self, one_id):
        own = random.Random(f"{self.seed} {one_id}")
        return own.choice(self.REFUSALS) if own.random() < 0.04 else super().drawn_fate(one_id)

    def read(self, line, body):
        item = json.loads(body)
        if line.path != "/items/" + item["item"]:
            self.complain(f"{item['id']}: told at {line.path}")
        place = "r-" + item["id"]
        return Seen(item["id"], item["case"], item["number"], body, item, False, place)
