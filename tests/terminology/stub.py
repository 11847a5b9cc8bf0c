"""A terminology server on the loopback, over the small code set, that can also play broken in several ways."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit

from bridge.shapes import Json
from bridge.terminology.code_systems import concepts
from tests.terminology.small import CODE_SYSTEM, SETS, TOOLS

CODES = {concept["code"]: concept["display"] for concept, _ in concepts(CODE_SYSTEM)}


class Stub(ThreadingHTTPServer):
    """`play` says how to answer; `seen` holds what was asked: path, parameters, headers."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.play = "well"
        self.seen: list[tuple[str, dict[str, str], dict[str, str]]] = []
        self.let_go = threading.Event()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}/fhir"

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Those who stop listening are no news."""


@contextmanager
def serving() -> Iterator[Stub]:
    """A stub that listens."""
    stub = Stub()
    thread = threading.Thread(target=stub.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    try:
        yield stub
    finally:
        stub.let_go.set()
        stub.shutdown()
        stub.server_close()
        thread.join()


class _Handler(BaseHTTPRequestHandler):
    server: Stub
    protocol_version = "HTTP/1.1"
    wbufsize = -1  # header and body in one go

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing is printed."""

    def do_GET(self) -> None:
        parts = urlsplit(self.path)
        question = {key: values[0] for key, values in parse_qs(parts.query).items()}
        self.server.seen.append((parts.path, question, dict(self.headers)))
        getattr(self, f"_{self.server.play.replace(' ', '_')}")(parts.path, question)

    def _send(self, data: Json | bytes, status: int = 200, kind: str = "application/fhir+json", **headers: str) -> None:
        body = data if isinstance(data, bytes) else json.dumps(data).encode()
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", headers.pop("length", str(len(body))))
        for name, value in headers.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def _well(self, path: str, question: dict[str, str]) -> None:
        lookup = path.endswith("/CodeSystem/$lookup")
        if question["system"] != TOOLS or (not lookup and question["url"] != f"{SETS}/tools"):
            self._send(outcome("not-found", "A definition could not be found"), 404)
        elif lookup and question["code"] not in CODES:
            self._send(outcome("code-invalid", "Unknown code", "invalid-code"), 404)
        elif lookup:
            inactive = {
                "name": "property",
                "part": [
                    {"name": "code", "valueCode": "inactive"},
                    {"name": "value", "valueBoolean": question["code"] == "candle"},
                ],
            }
            self._send(parameters(inactive, name="Tools", display=CODES[question["code"]]))
        elif question["code"] not in CODES:
            self._send(parameters(result=False, message="Unknown code in the CodeSystem"))
        else:
            self._member(question)

    def _member(self, question: dict[str, str]) -> None:
        right = CODES[question["code"]]
        if question.get("display", right) != right:
            self._send(parameters(result=False, message="Wrong display", display=right))
        elif question["code"] == "candle":
            self._send(parameters(result=True, display=right, inactive=True))
        else:
            self._send(parameters(result=True, display=right))

    def _lenient(self, path: str, question: dict[str, str]) -> None:
        told = {"name": "issues", "resource": outcome("invalid", "Wrong display", "invalid-display", "warning")}
        self._send(parameters(told, result=True, display=CODES[question["code"]]))

    def _lacking_politely(self, path: str, question: dict[str, str]) -> None:
        self._send(parameters(result=False, message=f"The value set {question['url']} could not be found"))

    def _lacking_the_system(self, path: str, question: dict[str, str]) -> None:
        self._send(parameters({"name": "x-unknown-system", "valueCanonical": question["system"]}, result=False))

    def _lacking_by_issue(self, path: str, question: dict[str, str]) -> None:
        told = {"name": "issues", "resource": outcome("not-found", "?", "not-found")}
        self._send(parameters(told, result=False))

    def _slow(self, path: str, question: dict[str, str]) -> None:
        self.server.let_go.wait(20)

    def _dripping(self, path: str, question: dict[str, str]) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "application/fhir+json")
        self.send_header("Content-Length", "1000")
        self.end_headers()
        while not self.server.let_go.wait(0.02):
            self.wfile.write(b" ")
            self.wfile.flush()

    def _hanging_up(self, path: str, question: dict[str, str]) -> None:
        self.close_connection = True

    def _html(self, path: str, question: dict[str, str]) -> None:
        self._send(b"<html>Welcome</html>", kind="text/html")

    def _of_another_type(self, path: str, question: dict[str, str]) -> None:
        self._send(parameters(result=True), kind="text/plain")

    def _out_of_order(self, path: str, question: dict[str, str]) -> None:
        self._send(outcome("exception", "A value set could not be found in the data base"), 500)

    def _cut_off(self, path: str, question: dict[str, str]) -> None:
        self._send(json.dumps(parameters(result=True)).encode()[:-7])

    def _breaking_off(self, path: str, question: dict[str, str]) -> None:
        self.close_connection = True
        self._send(b'{"resourceType": ', length="400")

    def _huge(self, path: str, question: dict[str, str]) -> None:
        self._send(b'{"x": "' + b"y" * 3_000_000 + b'"}')

    def _deep(self, path: str, question: dict[str, str]) -> None:
        self._send(b'{"a":' * 100_000)

    def _of_another_shape(self, path: str, question: dict[str, str]) -> None:
        self._send({"resourceType": "Parameters", "parameter": [{"name": "result", "valueString": "true"}, 5]})

    def _a_list(self, path: str, question: dict[str, str]) -> None:
        self._send(b"[true]")

    def _elsewhere(self, path: str, question: dict[str, str]) -> None:
        port = self.server.server_address[1]
        self._send(b"", 302, Location=f"http://localhost:{port}{self.path}")

    def _round_and_round(self, path: str, question: dict[str, str]) -> None:
        self._send(b"", 302, Location=self.path)

    def _moved(self, path: str, question: dict[str, str]) -> None:
        if path.startswith("/new/"):
            self._well(path, question)
        else:
            self._send(b"", 307, Location=f"/new{self.path}")

    def _with_cookies(self, path: str, question: dict[str, str]) -> None:
        self._send(parameters(result=True), **{"Set-Cookie": "who=me"})


def parameters(*more: Json, **values: bool | str) -> Json:
    kinds = {bool: "valueBoolean", str: "valueString"}
    plain = [{"name": name, kinds[type(value)]: value} for name, value in values.items()]
    return {"resourceType": "Parameters", "parameter": [*plain, *more]}


def outcome(code: str, text: str, detail: str = "", severity: str = "error") -> Json:
    issue: Json = {"severity": severity, "code": code, "diagnostics": text}
    if detail:
        issue["details"] = {
            "coding": [{"system": "http://hl7.org/fhir/tools/CodeSystem/tx-issue-type", "code": detail}]
        }
    return {"resourceType": "OperationOutcome", "issue": [issue]}
