"""A time-stamp authority of the tests: OpenSSL's ``ts`` behind a web server of this machine.

https://docs.openssl.org/master/man1/openssl-ts/ answers as RFC 3161 asks.
"""

import contextlib
import subprocess
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

CONFIGURATION = """
[ tsa ]
default_tsa = ours
[ ours ]
serial = {folder}/serial
default_policy = 1.3.6.1.4.1.99999.1
digests = sha256
signer_digest = sha256
accuracy = secs:1
ordering = no
ess_cert_id_alg = sha256
"""
ROOT = ["-addext", "basicConstraints=critical,CA:TRUE", "-addext", "keyUsage=critical,keyCertSign"]
LEAF = [
    "-addext", "basicConstraints=critical,CA:FALSE",
    "-addext", "keyUsage=critical,digitalSignature",
    "-addext", "extendedKeyUsage=critical,timeStamping",
]  # fmt: skip
SUBJECT = "/O=Tick Invented/CN=Tick time stamping"

Answer = Callable[[bytes], bytes]


def run(*command: object, stdin: bytes = b"") -> bytes:
    done = subprocess.run([str(part) for part in command], input=stdin, capture_output=True)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout


def make(folder: Path) -> Path:
    """The keys of an authority; the certificate of its root."""
    new = ("openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "30")
    root, root_key = folder / "tick-root.pem", folder / "tick-root.key"
    run(*new, "-subj", f"{SUBJECT} root", "-keyout", root_key, "-out", root, *ROOT)
    leaf, leaf_key = folder / "tick.pem", folder / "tick.key"
    above = ("-CA", root, "-CAkey", root_key)
    run(*new, "-subj", SUBJECT, "-keyout", leaf_key, "-out", leaf, *above, *LEAF)
    (folder / "serial").write_text("01\n")
    (folder / "tsa.cnf").write_text(CONFIGURATION.format(folder=folder))
    return root


def answering(folder: Path) -> Answer:
    """What the authority of ``make`` says to a query."""

    def answer(query: bytes) -> bytes:
        (folder / "query.tsq").write_bytes(query)
        run(
            "openssl", "ts", "-reply", "-config", folder / "tsa.cnf",
            "-queryfile", folder / "query.tsq", "-out", folder / "reply.tsr",
            "-signer", folder / "tick.pem", "-inkey", folder / "tick.key",
            "-chain", folder / "tick-root.pem",
        )  # fmt: skip
        return (folder / "reply.tsr").read_bytes()

    return answer


@contextmanager
def serving(answer: Answer) -> Iterator[str]:
    """The address at which a web server gives these answers."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = answer(self.rfile.read(int(self.headers["Content-Length"])))
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.end_headers()
            with contextlib.suppress(BrokenPipeError):  # who asked has heard enough
                self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()
