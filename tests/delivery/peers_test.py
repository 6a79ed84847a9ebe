"""Other people's servers as receivers, token endpoint and proxy: nginx and tinyproxy as Debian packages them, with
certificates by the openssl command.

    python3 peers_test.py POST_ONCE NGINX TINYPROXY OPENSSL
"""
import base64
import os
import pathlib
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import unittest

POST_ONCE, NGINX, TINYPROXY, OPENSSL = (os.path.abspath(sys.argv.pop(1)) for _ in range(4))


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_for(port, server):
    for _ in range(200):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        if server.poll() is not None:
            break
        time.sleep(0.05)
    raise AssertionError(f"nobody listens on {port}: {server.args}")


class Authority:
    """Makes certificates."""

    def __init__(self, folder):
        self.folder = folder
        folder.mkdir()
        self.run("req", "-x509", *self.key("ca"), "-out", "ca.pem", "-subj", "/CN=Girdle test authority", "-days", "2")
        self.ca = folder / "ca.pem"

    def run(self, *arguments):
        subprocess.run([OPENSSL, *arguments], cwd=self.folder, check=True, capture_output=True)

    def key(self, name):
        return "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-keyout", f"{name}.key"

    def issue(self, name, names="", days=2):
        self.run("req", *self.key(name), "-out", f"{name}.csr", "-subj", f"/CN={name}")
        (self.folder / f"{name}.ext").write_text(f"subjectAltName={names}\n" if names else "")
        self.run("x509", "-req", "-in", f"{name}.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial",
                 "-days", str(days), "-out", f"{name}.pem", "-extfile", f"{name}.ext")
        os.chmod(self.folder / f"{name}.key", 0o600)
        return self.folder / f"{name}.pem", self.folder / f"{name}.key"


class Peers:
    """The servers."""

    def __init__(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="girdle-peers-"))
        os.chmod(self.folder, 0o755)
        self.authority = Authority(self.folder / "ours")
        self.other = Authority(self.folder / "other")
        self.ports = {}
        self.servers = []
        self.secret("bearer", "mF_9.B5f-4.1JqM")
        self.secret("password", "open sesame")
        self.secret("wrong", "open barley")
        self.secret("stale", "mF_9.B5f-4.1JqN")
        self.secret("proxy_password", "opensesame")

    def start_all(self):
        self.start_nginx()
        self.start_proxy("proxy", "")
        self.start_proxy("guarded", "BasicAuth Aladdin opensesame\n")

    def secret(self, name, text):
        path = self.folder / name
        path.write_text(text + "\n")
        os.chmod(path, 0o600)

    def start(self, port, *command):
        with open(self.folder / f"{pathlib.Path(command[0]).name}-{port}.log", "w") as log:
            server = subprocess.Popen(command, stdout=log, stderr=log, cwd=self.folder)
        self.servers.append(server)
        wait_for(port, server)

    def stop(self):
        for server in self.servers:
            server.terminate()
        for server in self.servers:
            server.wait(10)
        shutil.rmtree(self.folder)

    def tls_server(self, name, pair, more="", location="return 204;"):
        port = self.ports[name] = free_port()
        return f"""server {{
          listen 127.0.0.1:{port} ssl;
          access_log {self.folder}/{name}.log handshakes;
          ssl_certificate {pair[0]}; ssl_certificate_key {pair[1]};
          {more}
          location / {{ {location} }}
        }}
        """

    def plain_server(self):
        port = self.ports["plain"] = free_port()
        basic = base64.b64encode(b"Aladdin:open sesame").decode()
        client = base64.b64encode(b"s6BhdRkqt3:open+sesame").decode()
        return f"""server {{
          listen 127.0.0.1:{port};
          default_type application/problem+json;
          location /bearer {{
            if ($http_authorization != "Bearer mF_9.B5f-4.1JqM") {{
              return 401 '{{"title":"You sent $http_authorization"}}';
            }}
            return 200 '{{"data":{{"id":"R-1042"}}}}';
          }}
          location /basic {{
            if ($http_authorization != "Basic {basic}") {{ return 401; }}
            return 204;
          }}
          location /token {{
            if ($http_authorization != "Basic {client}") {{ return 401 '{{"error":"invalid_client"}}'; }}
            return 200 '{{"access_token":"mF_9.B5f-4.1JqM","token_type":"Bearer","expires_in":3600}}';
          }}
          location / {{ return 204; }}
        }}
        """

    def start_nginx(self):
        ours = self.authority
        good = ours.issue("till", "DNS:till.example,DNS:localhost")
        servers = [
            self.plain_server(),
            self.tls_server("good", good),
            self.tls_server("closing", good, "keepalive_timeout 0;"),
            self.tls_server("closing12", good, "keepalive_timeout 0; ssl_protocols TLSv1.2;"),
            self.tls_server("tls12", good, "ssl_protocols TLSv1.2;"),
            self.tls_server("tls13", good, "ssl_protocols TLSv1.3;"),
            self.tls_server("tls11", good, 'ssl_protocols TLSv1.1; ssl_ciphers "ALL:@SECLEVEL=0";'),
            self.tls_server("bad_name", ours.issue("elsewhere", "DNS:elsewhere.example")),
            self.tls_server("expired", ours.issue("expired", "DNS:till.example", days=-1)),
            self.tls_server("unknown", self.other.issue("till", "DNS:till.example")),
            self.tls_server("wants", good, f"ssl_client_certificate {ours.ca}; ssl_verify_client on;"),
        ]
        config = self.folder / "nginx.conf"
        config.write_text(f"""
        daemon off; pid {self.folder}/nginx.pid; error_log {self.folder}/nginx-error.log; worker_processes 1;
        events {{ worker_connections 64; }}
        http {{
          log_format handshakes '$ssl_protocol $ssl_session_reused $request_method';
          access_log off;
          client_body_temp_path {self.folder}/body; proxy_temp_path {self.folder}/proxy_temp;
          fastcgi_temp_path {self.folder}/fastcgi; uwsgi_temp_path {self.folder}/uwsgi;
          scgi_temp_path {self.folder}/scgi;
          {"".join(servers)}
        }}
        """)
        self.start(self.ports["good"], NGINX, "-p", str(self.folder), "-e", f"{self.folder}/nginx-error.log", "-c",
                   str(config))

    def start_proxy(self, name, more):
        port = self.ports[name] = free_port()
        config = self.folder / f"{name}.conf"
        allowed = "".join(f"ConnectPort {self.ports[to]}\n" for to in ("good", "plain", "bad_name"))
        config.write_text(f"Port {port}\nListen 127.0.0.1\nTimeout 30\nAllow 127.0.0.1\nMaxClients 20\n{allowed}{more}")
        self.start(port, TINYPROXY, "-d", "-c", str(config))


def setUpModule():
    PeersTest.peers = Peers()
    unittest.addModuleCleanup(PeersTest.peers.stop)
    PeersTest.peers.start_all()


class PeersTest(unittest.TestCase):
    peers = None

    def post(self, **settings):
        """The lines that posting so gave."""
        settings = {"everywhere": "127.0.0.1", **settings}
        run = subprocess.run([POST_ONCE, *(f"{key}={value}" for key, value in settings.items())],
                             capture_output=True, text=True, timeout=60)
        self.assertEqual(run.returncode, 0, run.stderr)
        return run.stdout.splitlines()

    def post_tls(self, server, host="till.example", ca=None, **more):
        url = f"https://{host}:{self.peers.ports[server]}/hook"
        return self.post(url=url, ca_file=ca or self.peers.authority.ca, **more)

    def path(self, name):
        return str(self.peers.folder / name)

    def plain(self, path, host="127.0.0.1"):
        return f"http://{host}:{self.peers.ports['plain']}{path}"

    def handshakes(self, server, count=1):
        """What the server wrote of each connection. It writes after it has answered: wait for so many lines."""
        log = self.peers.folder / f"{server}.log"
        deadline = time.monotonic() + 10
        while len(lines := log.read_text().splitlines()) < count and time.monotonic() < deadline:
            time.sleep(0.02)
        return lines

    def accepts(self, server, option):
        """Whether the openssl command shakes hands with the server so."""
        run = subprocess.run([OPENSSL, "s_client", "-connect", f"127.0.0.1:{self.peers.ports[server]}", option,
                              "-cipher", "ALL:@SECLEVEL=0"], input="", capture_output=True, text=True, timeout=30)
        return run.returncode == 0


class Receiver(PeersTest):
    def test_a_good_certificate_is_taken(self):
        self.assertEqual(self.post_tls("good", times=3), ["204 ||"] * 3)

    def test_a_certificate_for_another_name_is_refused(self):
        self.assertIn("certificate is refused: hostname mismatch", self.post_tls("bad_name")[0])
        self.assertIn("certificate is refused", self.post_tls("good", host="other.example")[0])
        self.assertIn("IP address mismatch", self.post_tls("good", host="127.0.0.1")[0])

    def test_a_certificate_that_has_expired_is_refused(self):
        self.assertIn("certificate has expired", self.post_tls("expired")[0])

    def test_a_certificate_by_an_unknown_authority_is_refused(self):
        self.assertIn("unable to get local issuer certificate", self.post_tls("unknown")[0])
        self.assertEqual(self.post_tls("unknown", ca=self.peers.other.ca), ["204 ||"])

    def test_tls_1_2_and_1_3_are_spoken(self):
        self.assertEqual(self.post_tls("tls12"), ["204 ||"])
        self.assertEqual(self.post_tls("tls13"), ["204 ||"])
        self.assertTrue(self.handshakes("tls12")[0].startswith("TLSv1.2"))
        self.assertTrue(self.handshakes("tls13")[0].startswith("TLSv1.3"))

    def test_tls_1_1_is_refused(self):
        self.assertTrue(self.accepts("tls11", "-tls1_1"))  # nothing else is wrong with this server
        self.assertRegex(self.post_tls("tls11")[0], "none: .*TLS.*(protocol|version)")

    def test_a_client_certificate_is_shown_where_it_is_wanted(self):
        certificate, key = self.peers.authority.issue("girdled")
        self.assertEqual(self.post_tls("wants", certificate_file=certificate, key_file=key), ["204 ||"])

    def test_a_client_certificate_is_missed_where_it_is_wanted(self):
        self.assertIn("No required SSL certificate was sent", self.post_tls("wants")[0])
        certificate, key = self.peers.other.issue("girdled")
        self.assertTrue(self.post_tls("wants", certificate_file=certificate, key_file=key)[0].startswith("400"))

    def test_sessions_are_resumed(self):
        for server in ("closing", "closing12"):
            self.assertEqual(self.post_tls(server, times=4), ["204 ||"] * 4)
            reused = [line.split()[1] for line in self.handshakes(server, 4)]
            self.assertEqual(reused, [".", "r", "r", "r"], server)

    def test_a_bearer_token_is_shown_and_a_reference_kept(self):
        answer = self.post(url=self.plain("/bearer"), bearer_file=self.path("bearer"), reference="/data/id")
        self.assertEqual(answer, ['200 R-1042||{"data":{"id":"R-1042"}}'])

    def test_a_token_that_is_sent_back_is_not_kept(self):
        answer = self.post(url=self.plain("/bearer"), bearer_file=self.path("stale"))
        self.assertEqual(answer, ['401 |You sent Bearer ***|{"title":"You sent Bearer ***"}'])

    def test_a_user_is_shown(self):
        settings = {"url": self.plain("/basic"), "user": "Aladdin"}
        self.assertTrue(self.post(**settings, password_file=self.path("password"))[0].startswith("204"))
        self.assertTrue(self.post(**settings, password_file=self.path("wrong"))[0].startswith("401"))


class TokenEndpoint(PeersTest):
    def settings(self, secret):
        return {"url": self.plain("/bearer"), "token_url": self.plain("/token"), "client_id": "s6BhdRkqt3",
                "client_secret_file": self.path(secret), "times": 2}

    def test_gives_the_token_that_the_receiver_wants(self):
        self.assertEqual([line[:3] for line in self.post(**self.settings("password"))], ["200", "200"])

    def test_refuses_a_client_that_it_does_not_know(self):
        for line in self.post(**self.settings("wrong")):
            self.assertIn("answers 401, invalid_client", line)
            self.assertNotIn("barley", line)


class Proxy(PeersTest):
    def through(self, proxy, server="good", **more):
        return self.post_tls(server, host="localhost", proxy=f"http://127.0.0.1:{self.peers.ports[proxy]}", **more)

    def test_carries_tls(self):
        self.assertEqual(self.through("proxy", times=3), ["204 ||"] * 3)

    def test_carries_plain_http_where_somebody_said_so(self):
        answer = self.post(url=self.plain("/hook", "localhost"), insecure="yes",
                           proxy=f"http://127.0.0.1:{self.peers.ports['proxy']}")
        self.assertEqual(answer, ["204 ||"])

    def test_cannot_make_a_wrong_certificate_right(self):
        self.assertIn("certificate is refused", self.through("proxy", "bad_name")[0])

    def test_refuses_a_port(self):
        self.assertIn("the proxy does not connect: it answers 403", self.through("proxy", "tls12")[0])

    def test_wants_a_password(self):
        self.assertIn("wants a user and a password (407)", self.through("guarded")[0])

    def test_takes_the_right_password(self):
        answer = self.through("guarded", proxy_user="Aladdin", proxy_password_file=self.path("proxy_password"))
        self.assertEqual(answer, ["204 ||"])

    def test_does_not_take_a_wrong_password(self):
        answer = self.through("guarded", proxy_user="Aladdin", proxy_password_file=self.path("wrong"))[0]
        self.assertRegex(answer, "none: .*the proxy does not")
        self.assertNotIn("barley", answer)


if __name__ == "__main__":
    unittest.main()
