"""What goes wrong between two programs, with real sockets: a proxy that loses answers, and servers of broken bytes."""

from __future__ import annotations

import socket
import struct
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import urlsplit

Seen = list[tuple[str, str, bytes]]
"""Method, path and body of what came."""


@contextmanager
def losing_proxy(base: str, lose: Callable[[str, int], str]) -> Iterator[tuple[str, Seen]]:
    """An address that hands requests on to `base`; `lose(method, number of that method)` says "" (hand the answer on),
    "cut" (lose it after the server gave it), "reset" (do not even ask the server) or a status to answer with."""
    seen: Seen = []
    counts: dict[str, int] = {}
    to = urlsplit(base)

    class Handler(BaseHTTPRequestHandler):
        def _pass(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            seen.append((self.command, self.path, body))
            counts[self.command] = counts.get(self.command, 0) + 1
            what = lose(self.command, counts[self.command])
            if what == "reset":
                _reset(self.connection)
                return
            behind = HTTPConnection(to.hostname or "", to.port or 80, timeout=60)
            told = {k: v for k, v in self.headers.items() if k.lower() not in ("host", "connection")}
            behind.request(self.command, self.path, body or None, told)
            answer = behind.getresponse()
            content = answer.read()
            behind.close()
            if what == "cut":
                _reset(self.connection)
                return
            self.send_response(int(what) if what else answer.status)
            for name, value in answer.getheaders():
                if name.lower() not in ("transfer-encoding", "connection", "content-length"):
                    self.send_header(name, value)
            content = b"" if what else content
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        do_GET = do_POST = do_PUT = _pass  # noqa: N815  # names that http.server looks for

        def log_message(self, format: str, *args: object) -> None:
            """Nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        server.daemon_threads = True
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}{to.path}", seen
        server.shutdown()


def _reset(connection: socket.socket) -> None:
    """Ends it with RST."""
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    connection.shutdown(socket.SHUT_RD)
    connection.close()


@contextmanager
def raw_server(answer: Callable[[str, socket.socket], None]) -> Iterator[tuple[str, list[str]]]:
    """A server of bytes: reads one request whole, and `answer(method, socket)` does the rest. Methods that came."""
    came: list[str] = []
    listening = socket.create_server(("127.0.0.1", 0))
    stop = threading.Event()

    def serve() -> None:
        while not stop.is_set():
            try:
                connection, _ = listening.accept()
            except OSError:
                return
            with connection:
                method = _read_request(connection)
                if method:
                    came.append(method)
                    try:
                        answer(method, connection)
                    except OSError:
                        continue

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}", came
    finally:
        stop.set()
        socket.create_connection(listening.getsockname()).close()
        listening.close()
        thread.join(5)


def _read_request(connection: socket.socket) -> str:
    connection.settimeout(5)
    content = b""
    while b"\r\n\r\n" not in content:
        piece = connection.recv(65_536)
        if not piece:
            return ""
        content += piece
    head, _, body = content.partition(b"\r\n\r\n")
    length = next((int(h.split(b":")[1]) for h in head.split(b"\r\n") if h.lower().startswith(b"content-length")), 0)
    while len(body) < length:
        body += connection.recv(65_536)
    return head.split(b" ")[0].decode()
