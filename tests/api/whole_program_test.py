"""The API of the real program: who gets in, what is kept, and what slow or hostile clients can do to it.

    python3 whole_program_test.py GIRDLED SLOWHTTPTEST OPENSSL
"""
import http.client
import json
import os
import pathlib
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import unittest

GIRDLED, SLOWHTTPTEST, OPENSSL = (os.path.abspath(sys.argv.pop(1)) for _ in range(3))

MAPPING = """record: reading
fields:
  instrument: { from: device }
  run: { from: run }
  measured_at: { from: at, form: rfc3339 }
  stock_number: { from: stock }
  finding: { from: verdict, words: { nat: natural, sim: simulant } }
"""
HEAD = "device,run,at,stock,verdict\n"


def rows(first, count, stock="R1042"):
    return HEAD + "".join(f"A-0117,{run},2026-11-02T{9 + run // 3600:02}:{run // 60 % 60:02}:{run % 60:02}Z,{stock},sim\n"
                          for run in range(first, first + count))


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Shop:
    """A folder with a configuration, and girdled on it."""

    def __init__(self, api=""):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="girdle-api-"))
        self.port = free_port()
        (self.folder / "inbox").mkdir()
        (self.folder / "mapping.yaml").write_text(MAPPING)
        self.configure(api)
        self.service = None

    def configure(self, api=""):
        (self.folder / "girdled.yaml").write_text(f"""site: quay-street
ledger: {{ path: ledger.db }}
api: {api or f'{{ listen: "127.0.0.1:{self.port}" }}'}
instruments: [{{ serial: A-0117, bench: counter-1 }}]
intakes:
  - {{ name: uploads, post: {{}}, reader: delimited, mapping: mapping.yaml }}
  - {{ name: exports, folder: {{ path: inbox, match: "*.csv", scan_every: 1s }}, reader: delimited, mapping: mapping.yaml }}
""")

    def start(self):
        self.log = open(self.folder / "girdled.log", "a")
        self.service = subprocess.Popen([GIRDLED, "run", "--config", self.folder / "girdled.yaml"], stderr=self.log)
        self.wait_for_port(self.port)

    def wait_for_port(self, port):
        for _ in range(400):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    return
            if self.service.poll() is not None:
                break
            time.sleep(0.025)
        raise AssertionError("girdled does not listen:\n" + self.log_text())

    def log_text(self):
        return (self.folder / "girdled.log").read_text()

    def kill(self):
        self.service.kill()
        self.service.wait()

    def stop(self):
        self.service.send_signal(signal.SIGTERM)
        started = time.monotonic()
        code = self.service.wait(timeout=20)
        return code, time.monotonic() - started

    def end(self):
        if self.service and self.service.poll() is None:
            self.stop()
        if self.service:
            self.log.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def tool(self, *arguments):
        return subprocess.run([GIRDLED, *arguments, "--config", self.folder / "girdled.yaml"], capture_output=True, text=True,
                              timeout=60)

    def token(self, name, role):
        run = self.tool("token", "add", name, "--role", role)
        assert run.returncode == 0, run.stderr
        return run.stdout.strip()

    def ask(self, method, path, token=None, body=None, headers=None, timeout=20):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        try:
            return ask_on(connection, method, path, token, body, headers)
        finally:
            connection.close()

    def rss_mb(self):
        status = pathlib.Path(f"/proc/{self.service.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", status)[1]) / 1024


class Answer:
    def __init__(self, answer):
        self.status = answer.status
        self.headers = answer.headers
        self.bytes = answer.read()

    @property
    def json(self):
        return json.loads(self.bytes)


def ask_on(connection, method, path, token=None, body=None, headers=None):
    headers = dict(headers or {})
    if token:
        headers["Authorization"] = f"Bearer {token}"
    if isinstance(body, dict):
        body = json.dumps(body)
        headers.setdefault("Content-Type", "application/json")
    connection.request(method, path, body=body, headers=headers)
    return Answer(connection.getresponse())


class ShopTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.shop = Shop()
        cls.addClassCleanup(cls.shop.end)
        cls.shop.start()
        cls.look, cls.work, cls.admin = (cls.shop.token(role, role) for role in ("look", "work", "admin"))

    def post(self, text, token=None, **more):
        return self.shop.ask("POST", "/api/v1/intakes/uploads", token or self.work, text, {"Content-Type": "text/csv"}, **more)


class WhoGetsIn(ShopTest):
    def test_this_machine_may_look_without_a_token(self):
        self.assertEqual(self.shop.ask("GET", "/api/v1/cases").status, 200)
        self.assertEqual(self.shop.ask("GET", "/api/v1/session").json["role"], "look")

    def test_nobody_does_anything_without_a_token(self):
        answer = self.shop.ask("POST", "/api/v1/intakes/uploads", None, rows(1, 1), {"Content-Type": "text/csv"})
        self.assertEqual(answer.status, 401)  # RFC 9110 15.5.2
        self.assertTrue(answer.headers["WWW-Authenticate"].startswith("Bearer"))
        self.assertEqual(answer.headers["Content-Type"].split(";")[0], "application/problem+json")  # RFC 9457 3

    def test_a_role_may_no_more_than_it_says(self):
        self.assertEqual(self.post(rows(1, 1), self.look).status, 403)
        self.assertEqual(self.shop.ask("POST", "/api/v1/outlets/till/pause", self.work, {"who": "Kim", "why": "x"}).status, 403)

    def test_a_wrong_token_does_not_look_either(self):
        self.assertEqual(self.shop.ask("GET", "/api/v1/cases", "gt_" + "A" * 43).status, 401)

    def test_another_name_for_this_machine_is_refused(self):
        """A page of somebody else's whose name was made to point here: DNS rebinding."""
        answer = self.shop.ask("GET", "/api/v1/cases", None, None, {"Host": f"shop.example:{self.shop.port}"})
        self.assertEqual(answer.status, 421)  # RFC 9110 15.5.20

    def test_a_token_that_is_revoked_is_none_a_second_later(self):
        token = self.shop.token("leaver", "work")
        self.assertEqual(self.shop.ask("GET", "/api/v1/session", token).json["role"], "work")
        self.assertEqual(self.shop.tool("token", "revoke", "leaver").returncode, 0)
        time.sleep(1.1)  # tokens are looked up anew each second
        self.assertEqual(self.shop.ask("GET", "/api/v1/session", token).status, 401)

    def test_tokens_are_never_shown_again(self):
        listed = self.shop.tool("token", "list", "--json").stdout
        for token in (self.look, self.work, self.admin):
            self.assertNotIn(token, listed + self.shop.log_text())
            self.assertNotIn(token.encode(), (self.shop.folder / "ledger.db").read_bytes())
        self.assertIn('"work"', listed)


class Documents(ShopTest):
    def test_a_post_is_answered_after_the_commit_and_counts_once(self):
        first = self.post(rows(1, 2))
        self.assertEqual((first.status, first.json["readings"], first.json["known"]), (201, 2, False))
        again = self.post(rows(1, 2))
        self.assertEqual((again.status, again.json["known"]), (200, True))
        grown = self.post(rows(1, 3))
        self.assertEqual((grown.status, grown.json["readings"], grown.json["duplicates"]), (201, 1, 2))
        case = self.shop.ask("GET", "/api/v1/cases?q=R1042").json["items"][0]
        self.assertEqual((case["disposition"], case["readings"]["valid"]), ("reject", 3))

    def test_nothing_that_was_answered_is_lost_by_a_kill(self):
        shop = Shop()
        self.addCleanup(shop.end)
        shop.start()
        token = shop.token("uploader", "work")
        answered = []

        def upload():
            for i in range(1, 100_000):
                try:
                    answer = shop.ask("POST", "/api/v1/intakes/uploads", token, rows(i, 1, f"K{i}"), {"Content-Type": "text/csv"})
                except (OSError, http.client.HTTPException):
                    return
                if answer.status == 201:
                    answered.append(f"K{i}")

        thread = threading.Thread(target=upload)
        thread.start()
        time.sleep(1.5)
        shop.kill()
        thread.join()
        self.assertGreater(len(answered), 20)
        listed = shop.tool("readings", "K*", "--json", "--limit", "100000").stdout
        missing = [stock for stock in answered if f'"{stock}"' not in listed]
        self.assertEqual(missing, [])

    def test_a_mended_mapping_reads_again_what_was_set_aside(self):
        text = HEAD + "A-0117,9001,2026-11-03T09:00:00Z,R7,sim\nA-0117,9002,2026-11-03T09:01:00Z,R7,moiss\n"
        (self.shop.folder / "inbox" / "one.csv.part").write_text(text)
        os.rename(self.shop.folder / "inbox" / "one.csv.part", self.shop.folder / "inbox" / "one.csv")
        causes = self.until(lambda: self.shop.ask("GET", "/api/v1/aside-causes?intake=exports").json["items"])
        self.assertIn("verdict", causes[0]["cause"])
        asides = self.shop.ask("GET", "/api/v1/aside?intake=exports").json["items"]
        self.assertEqual(asides[0]["text"].strip(), "A-0117,9002,2026-11-03T09:01:00Z,R7,moiss")
        (self.shop.folder / "mapping.yaml").write_text(MAPPING.replace("sim: simulant", "sim: simulant, moiss: simulant"))
        self.shop.service.send_signal(signal.SIGHUP)
        self.until(lambda: "configuration read anew" in self.shop.log_text())
        self.shop.wait_for_port(self.shop.port)
        answer = self.shop.ask("POST", "/api/v1/aside/retries", self.work, {"ids": [aside["id"] for aside in asides]})
        self.assertEqual((answer.status, answer.json["readings"], answer.json["settled"]), (200, 1, 1))
        self.assertEqual(self.shop.ask("GET", "/api/v1/aside?intake=exports").json["items"], [])
        self.assertEqual(self.shop.ask("GET", "/api/v1/cases?q=R7").json["items"][0]["disposition"], "reject")

    def until(self, holds):
        deadline = time.monotonic() + 20
        while not (found := holds()):
            self.assertLess(time.monotonic(), deadline, self.shop.log_text())
            time.sleep(0.05)
        return found


class Hands(ShopTest):
    def test_a_case_is_decided_by_hand_until_something_new_is_known(self):
        self.post(rows(100, 2, "H1"))
        case = self.shop.ask("GET", "/api/v1/cases?q=H1").json["items"][0]
        by_hand = {"disposition": "hold", "sequence": case["sequence"], "who": "Kim", "why": "the owner asks"}
        made = self.shop.ask("POST", f"/api/v1/cases/{case['id']}/decisions", self.work, by_hand)
        self.assertEqual((made.status, made.json["disposition"], made.json["by_hand"]["who"]), (201, "hold", "Kim"))
        stale = self.shop.ask("POST", f"/api/v1/cases/{case['id']}/decisions", self.work, by_hand)
        self.assertEqual(stale.status, 409)
        self.post(rows(100, 2, "H1") + "\n")  # nothing new in it
        self.assertEqual(self.shop.ask("GET", "/api/v1/cases?q=H1").json["items"][0]["disposition"], "hold")
        self.post(rows(102, 1, "H1"))
        self.assertEqual(self.shop.ask("GET", "/api/v1/cases?q=H1").json["items"][0]["disposition"], "reject")

    def test_a_reading_is_bound(self):
        self.post(rows(200, 1, ""))
        unbound = self.shop.ask("GET", "/api/v1/readings?unbound=true").json["items"]
        self.assertEqual(len(unbound), 1)
        path = f"/api/v1/readings/{unbound[0]['id']}/binding"
        bound = self.shop.ask("POST", path, self.work, {"stock_number": "B1", "who": "Kim", "why": "the bag says so"})
        self.assertEqual((bound.status, bound.json["key"]), (200, "B1"))
        self.assertEqual(self.shop.ask("GET", "/api/v1/readings?unbound=true").json["items"], [])
        self.assertEqual(self.shop.ask("GET", "/api/v1/cases?q=B1").json["items"][0]["disposition"], "repeat")


class Reloads(ShopTest):
    def test_a_reload_signs_nobody_out_and_knows_new_names(self):
        signed_in = self.shop.ask("POST", "/api/v1/session", body={"token": self.work})
        session = {"Cookie": signed_in.headers["Set-Cookie"].split(";")[0]}
        config = self.shop.folder / "girdled.yaml"
        config.write_text(config.read_text().replace("bench: counter-1", "bench: counter-9"))
        self.shop.service.send_signal(signal.SIGHUP)
        deadline = time.monotonic() + 20
        while self.shop.ask("GET", "/api/v1/benches").json["items"][0]["bench"] != "counter-9":
            self.assertLess(time.monotonic(), deadline, self.shop.log_text())
            time.sleep(0.05)
        self.assertEqual(self.shop.ask("GET", "/api/v1/session", headers=session).json["role"], "work")


class Events(ShopTest):
    def test_tell_what_changes_and_end_with_the_token(self):
        token = self.shop.token("listener", "look")
        with socket.create_connection(("127.0.0.1", self.shop.port), timeout=40) as listener:
            listener.sendall(f"GET /api/v1/events HTTP/1.1\r\nHost: 127.0.0.1:{self.shop.port}\r\n"
                             f"Authorization: Bearer {token}\r\n\r\n".encode())
            heard = b""
            while b"event: hello" not in heard:
                heard += listener.recv(4096)
            self.post(rows(300, 2, "E1"))
            while b'"key":"E1"' not in heard:
                heard += listener.recv(65536)
            self.assertIn(b"event: changes", heard)
            self.shop.tool("token", "revoke", "listener")
            deadline = time.monotonic() + 30
            while listener.recv(65536):
                self.assertLess(time.monotonic(), deadline)


class Hostile(ShopTest):
    """Debian's slowhttptest: slow headers, slow bodies, slow readers."""

    def slow(self, *arguments):
        return subprocess.Popen([SLOWHTTPTEST, *arguments, "-c", "300", "-r", "150", "-l", "12", "-i", "2", "-p", "3"],
                                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=self.shop.folder)

    def others_are_served(self, attack):
        """While it goes on, files are taken in and whoever has a connection is answered."""
        base = f"http://127.0.0.1:{self.shop.port}"
        connection = http.client.HTTPConnection("127.0.0.1", self.shop.port, timeout=10)
        self.assertEqual(ask_on(connection, "GET", "/api/v1/cases").status, 200)
        attacker = self.slow(*(argument.replace("BASE", base) for argument in attack))
        name = f"under-{attack[0].strip('-')}"
        slowest, served = 0, 0
        deadline = time.monotonic() + 10
        (self.shop.folder / "inbox" / f"{name}.csv").write_text(rows(5000 + 10 * len(name), 2, name))
        while time.monotonic() < deadline:
            began = time.monotonic()
            try:
                served += ask_on(connection, "GET", f"/api/v1/cases?q={name}").status == 200
            except (OSError, http.client.HTTPException):
                connection.close()
            slowest = max(slowest, time.monotonic() - began)
            time.sleep(0.1)
        attacker.terminate()
        attacker.wait()
        connection.close()
        self.assertGreater(served, 50)
        self.assertLess(slowest, 2)
        self.assertIn("reject", self.shop.tool("cases", name).stdout)
        self.assertLess(self.shop.rss_mb(), 128)
        self.assertIsNone(self.shop.service.poll())
        # The attack is over: everybody is let in again.
        began = time.monotonic()
        while True:
            try:
                if self.shop.ask("GET", "/health/live", timeout=5).status == 200:
                    break
            except (OSError, http.client.HTTPException):
                pass
            self.assertLess(time.monotonic() - began, 20)
            time.sleep(0.2)

    def test_slow_headers_hold_up_nobody(self):
        self.others_are_served(["-H", "-u", "BASE/", "-t", "GET", "-x", "24"])

    def test_slow_bodies_hold_up_nobody(self):
        self.others_are_served(["-B", "-u", "BASE/api/v1/session", "-t", "POST", "-s", "4096", "-x", "10"])

    def test_slow_readers_hold_up_nobody(self):
        self.others_are_served(["-X", "-u", "BASE/", "-w", "1", "-y", "2", "-n", "5", "-z", "1", "-k", "3"])

    def test_it_stops_within_seconds_whoever_is_connected(self):
        shop = Shop()
        self.addCleanup(shop.end)
        shop.start()
        held = [socket.create_connection(("127.0.0.1", shop.port)) for _ in range(40)]
        for i, one in enumerate(held):
            if i % 2:
                one.sendall(b"GET /api/v1/events HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n" % shop.port)
            else:
                one.sendall(b"GET / HTTP/1.1\r\nHo")
        time.sleep(0.3)
        code, took = shop.stop()
        self.assertEqual(code, 0, shop.log_text())
        self.assertLess(took, 5)
        for one in held:
            one.close()


class OverTls(unittest.TestCase):
    def setUp(self):
        self.shop = Shop()
        self.addCleanup(self.shop.end)
        folder = self.shop.folder
        subprocess.run([OPENSSL, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-keyout",
                        "key.pem", "-out", "certificate.pem", "-days", "2", "-subj", "/CN=screening.example", "-addext",
                        "subjectAltName=DNS:screening.example"], cwd=folder, check=True, capture_output=True)
        os.chmod(folder / "key.pem", 0o600)
        self.shop.configure(f'{{ listen: "0.0.0.0:{self.shop.port}", certificate_file: certificate.pem, key_file: key.pem }}')
        self.shop.start()
        self.context = ssl.create_default_context(cafile=folder / "certificate.pem")

    def ask(self, method, path, token=None, host="screening.example", **more):
        plain = socket.create_connection(("127.0.0.1", self.shop.port), timeout=10)
        connection = http.client.HTTPConnection(host, self.shop.port)
        connection.sock = self.context.wrap_socket(plain, server_hostname="screening.example")
        try:
            return ask_on(connection, method, path, token, **more)
        finally:
            connection.close()

    def test_nobody_looks_without_a_token(self):
        self.assertEqual(self.ask("GET", "/api/v1/cases").status, 401)
        token = self.shop.token("kim", "look")
        self.assertEqual(self.ask("GET", "/api/v1/cases", token).status, 200)
        self.assertEqual(self.ask("GET", "/api/v1/cases", token, host="other.example").status, 421)

    def test_a_browser_signs_in_and_out(self):
        token = self.shop.token("kim", "work")
        signed_in = self.ask("POST", "/api/v1/session", body={"token": token},
                             headers={"Origin": f"https://screening.example:{self.shop.port}", "Girdle-Console": "1"})
        self.assertEqual(signed_in.status, 200)
        cookie = signed_in.headers["Set-Cookie"]
        for part in ("__Host-girdle=", "HttpOnly", "SameSite=Strict", "Secure", "Path=/"):
            self.assertIn(part, cookie)
        session = {"Cookie": cookie.split(";")[0]}
        self.assertEqual(self.ask("GET", "/api/v1/session", headers=session).json["role"], "work")
        # Another site's page, whose browser sends the cookie along all the same.
        forged = self.ask("POST", "/api/v1/aside/retries", body={"ids": [1]}, headers={**session, "Origin": "https://shop.example"})
        self.assertEqual(forged.status, 403)
        own = {**session, "Origin": f"https://screening.example:{self.shop.port}", "Girdle-Console": "1"}
        self.assertEqual(self.ask("POST", "/api/v1/aside/retries", body={"ids": [1]}, headers=own).status, 200)
        self.assertEqual(self.ask("DELETE", "/api/v1/session", headers=own).status, 204)
        self.assertEqual(self.ask("GET", "/api/v1/session", headers=session).status, 401)

    def test_check_tells_a_key_that_does_not_belong_to_the_certificate(self):
        subprocess.run([OPENSSL, "ecparam", "-genkey", "-name", "prime256v1", "-noout", "-out", "other.pem"], check=True,
                       cwd=self.shop.folder, capture_output=True)
        os.chmod(self.shop.folder / "other.pem", 0o600)
        self.assertEqual(self.shop.tool("check").returncode, 0)
        self.shop.configure('{ listen: "0.0.0.0:7447", certificate_file: certificate.pem, key_file: other.pem }')
        told = self.shop.tool("check")
        self.assertEqual(told.returncode, 1)
        self.assertRegex(told.stdout, "girdled.yaml:3:.*key_file: .*another certificate")

    def test_plain_http_gets_nothing(self):
        with self.assertRaises((OSError, http.client.HTTPException)):
            self.shop.ask("GET", "/api/v1/cases")


if __name__ == "__main__":
    unittest.main()
