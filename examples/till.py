"""A till for the example: takes webhooks, checks every signature after Standard Webhooks, and keeps what it was told."""
import base64
import hashlib
import hmac
import http.server
import json
import threading
import time


class Till:
    def __init__(self, port, secret_text, on_outcome):
        self.secret = base64.b64decode(secret_text.strip().removeprefix("whsec_"))
        self.on_outcome = on_outcome
        self.seen = {}  # webhook id to event: the same id twice is the same message
        self.refused = 0
        till = self

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self):
                body = self.rfile.read(int(self.headers.get("content-length", "0")))
                status = till.take(self.headers, body)
                self.send_response(status)
                self.send_header("content-length", "0")
                self.end_headers()

            def log_message(self, *args):
                pass

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", port), Handler)
        self.server.daemon_threads = True
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def take(self, headers, body):
        name, stamp = headers.get("webhook-id", ""), headers.get("webhook-timestamp", "")
        content = b".".join([name.encode(), stamp.encode(), body])
        right = base64.b64encode(hmac.new(self.secret, content, hashlib.sha256).digest()).decode()
        given = [part[3:] for part in headers.get("webhook-signature", "").split(" ") if part.startswith("v1,")]
        genuine = any(hmac.compare_digest(right, signature) for signature in given)
        if not genuine or abs(time.time() - int(stamp or 0)) > 300:
            self.refused += 1
            return 401
        if name not in self.seen:
            self.seen[name] = json.loads(body)
            self.on_outcome(self.seen[name])
        return 204
