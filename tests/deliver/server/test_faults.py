"""What servers answer when things go wrong: by scripts and by broken bytes. What is told quotes none of it."""

from __future__ import annotations

import json
import socket
import struct
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pytest_httpserver import HTTPServer
from werkzeug import Request, Response

from bridge.deliver.server import wire as wires
from bridge.sending import Sent
from tests.deliver.server.at_work import Waits, as_bytes, made, practice_folder, sender
from tests.deliver.server.on_the_way import raw_server

NONE = {"resourceType": "Bundle", "type": "searchset", "total": 0}
SUMMARY = as_bytes(made("M26-0101"))
TRANSACTION = as_bytes(made("M26-0112", "transaction"))
NAME = "Tarnwick"
"""Stands for client data in what servers say."""


def outcome(*codes: str, severity: str = "error", place: str = "Patient.birthDate") -> dict[str, Any]:
    issues = [{"severity": severity, "code": c, "diagnostics": f"{NAME} is odd", "expression": [place]} for c in codes]
    return {"resourceType": "OperationOutcome", "text": {"status": "generated", "div": NAME}, "issue": issues}


def answers(status: int, data: Any = None, **headers: str) -> Response:
    content = json.dumps(data) if data is not None else ""
    return Response(content, status, {"Content-Type": "application/fhir+json", **headers})


class There:
    """A server in this process: searches find nothing, or a 404 for what is not there; posts as a test says."""

    def __init__(self, server: HTTPServer, tmp_path: Path) -> None:
        self.server, self.tmp_path, self.posts, self.gets = server, tmp_path, list[Request](), list[Request]()
        self.waits = Waits()

    def send(
        self, post: Callable[[int], Response], *, transaction: bool = False,
        get: Callable[[int], Response] | None = None, **settings: Any,
    ) -> Sent:  # fmt: skip
        def handle(request: Request) -> Response:
            if request.method == "GET":
                self.gets.append(request)
                if get is not None:
                    return get(len(self.gets))
                return answers(200, NONE) if request.query_string else answers(404, outcome("not-found"))
            self.posts.append(request)
            return post(len(self.posts))

        self.server.expect_request("/r4").respond_with_handler(handle)
        self.server.expect_request(_Any()).respond_with_handler(handle)
        own = {"organisation": "EN", "whose": "next clinic", "takes": "transaction"} if transaction else {}
        address = self.server.url_for("/r4")
        endpoint = {"name": "there", "address": address, "organisation": "AG", "without_tls": True, **own, **settings}
        folder = practice_folder(self.tmp_path, endpoint)
        content = TRANSACTION if transaction else SUMMARY
        (self.tmp_path / "M.json").write_bytes(content)
        return sender(folder, "there", self.waits).send(self.tmp_path / "M.json", content)

    @property
    def receipt(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads((self.tmp_path / "M.there.receipt.json").read_bytes())
        return found


class _Any(str):
    """Any path: httpserver compares with ==."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        return True

    def __hash__(self) -> int:
        return 0


@pytest.fixture
def there(httpserver: HTTPServer, tmp_path: Path) -> There:
    return There(httpserver, tmp_path)


def rules(sent: Sent) -> list[str]:
    return [i.rule for i in sent.issues]


def told(there: There, sent: Sent) -> str:
    return f"{sent.issues}{json.dumps(there.receipt)}"


def responses(statuses: list[Any], **more: Any) -> dict[str, Any]:
    entries = [{"response": {"status": s, **more}} if s is not None else {} for s in statuses]
    return {"resourceType": "Bundle", "type": "transaction-response", "entry": entries}


COUNT = len(json.loads(TRANSACTION)["entry"])
GOOD = ["201 Created"] * COUNT


def test_what_is_asked_for(there: There) -> None:
    sent = there.send(
        lambda n: answers(201, Location=f"{there.server.url_for('/r4')}/Bundle/7/_history/1", ETag='W/"1"')
    )
    assert (sent.state, sent.issues, sent.place) == ("accepted", [], "Bundle/7/_history/1")
    (get,), (post,) = there.gets, there.posts
    identifier = json.loads(SUMMARY)["identifier"]
    assert get.args["identifier"] == post.headers["If-None-Exist"].partition("=")[2]
    assert post.headers["If-None-Exist"] == f"identifier={identifier['system']}|{identifier['value']}"
    assert (post.path, post.headers["Content-Type"]) == ("/r4/Bundle", "application/fhir+json")
    assert post.get_data() == SUMMARY
    assert there.receipt["tries"][-1]["request"] == post.headers["X-Request-Id"]
    assert there.receipt["etag"] == 'W/"1"'
    assert "Authorization" not in post.headers


def test_a_transaction_goes_to_the_base_itself(there: There) -> None:
    sent = there.send(lambda n: answers(200, responses(GOOD)), transaction=True)
    assert (sent.state, sent.issues) == ("accepted", [])
    assert there.posts[0].path == "/r4"
    assert "If-None-Exist" not in there.posts[0].headers


@pytest.mark.parametrize("bad", ["400 Bad Request", "202 Accepted", "409", "500", "abc", "", None, 201, "304", ["201"]])
def test_a_half_accepted_transaction(there: There, bad: Any) -> None:
    """HTTP 200, and one entry refused: the error names the entry."""
    sent = there.send(lambda n: answers(200, responses([*GOOD[:7], bad, *GOOD[8:]])), transaction=True)
    assert (sent.state, rules(sent)) == ("in part", ["D227"])
    assert sent.issues[0].where.path == "Bundle.entry[7].resource"
    assert there.receipt["verdict"] == "in part"
    assert [e["number"] for e in there.receipt["entries"] if e["status"] != 201] == [7]


def test_entries_refused_with_reasons(there: There) -> None:
    said = responses([*GOOD[:-2], "422", "422"], outcome=outcome("business-rule"))
    sent = there.send(lambda n: answers(200, said), transaction=True)
    assert rules(sent) == ["D227", "D227"]
    assert "a rule of the receiver does not hold (at Patient.birthDate)" in sent.issues[0].message
    assert NAME not in told(there, sent)


@pytest.mark.parametrize(
    "said",
    [
        {}, None, responses(GOOD[:-1]), responses([*GOOD, "201"]), {**responses(GOOD), "type": "searchset"},
        {"resourceType": "Bundle", "type": "transaction-response"}, outcome("informational", severity="information"),
    ],
)  # fmt: skip
def test_an_answer_that_does_not_say_what_became_of_the_entries(there: There, said: Any) -> None:
    sent = there.send(lambda n: answers(200, said), transaction=True, get=lambda n: answers(403))
    assert (sent.state, rules(sent)) == ("in doubt", ["D226"])
    assert len(there.posts) == 1


@pytest.mark.parametrize("status", [400, 401, 403, 404, 405, 409, 410, 412, 413, 415, 422, 418, 501, 505, 304])
def test_refused(there: There, status: int) -> None:
    data = outcome("value", "made-up")
    sent = there.send(lambda n: answers(status, data))
    assert (sent.state, rules(sent)) == ("refused", ["D224"])
    assert f"HTTP {status}" in sent.issues[0].message
    if status != 304:
        assert "error: a value is not allowed there (at Patient.birthDate)" in sent.issues[0].message
    assert NAME not in told(there, sent)
    assert len(there.posts) == 1


@pytest.mark.parametrize("place", [f"Patient.where(name='{NAME}')", NAME + " x", "x" * 400, "Patient." + "a" * 300])
def test_places_that_could_quote_something(there: There, place: str) -> None:
    sent = there.send(lambda n: answers(422, outcome("value", place=place)))
    assert sent.issues[0].message.endswith("It says: error: a value is not allowed there.")


@pytest.mark.parametrize(
    "data", [[], "x", 7, {"resourceType": "OperationOutcome", "issue": 7}, {"issue": [1]}, outcome()]
)
def test_outcomes_of_odd_shapes(there: There, data: Any) -> None:
    sent = there.send(lambda n: answers(422, data))
    assert (sent.state, rules(sent)) == ("refused", ["D224"])


def test_accepted_with_remarks(there: There) -> None:
    sent = there.send(lambda n: answers(201, outcome("code-invalid", severity="warning")))
    assert (sent.state, rules(sent)) == ("accepted", ["D231"])
    assert NAME not in told(there, sent)


def test_busy_for_a_while(there: There) -> None:
    sent = there.send(lambda n: answers(201) if n > 3 else answers(503 if n % 2 else 429))
    assert (sent.state, len(there.posts)) == ("accepted", 4)
    assert there.waits.seconds == [1.0, 2.0, 4.0]


def test_as_long_as_it_asks(there: There) -> None:
    sent = there.send(lambda n: answers(201) if n > 1 else answers(429, **{"Retry-After": "17"}))
    assert (sent.state, there.waits.seconds) == ("accepted", [17.0])


@pytest.mark.parametrize("asked", ["-1", "soon", "1e9", "nan", "", "9" * 400])
def test_odd_times_to_wait(there: There, asked: str) -> None:
    sent = there.send(lambda n: answers(201) if n > 1 else answers(429, **{"Retry-After": asked}), patience=30)
    assert sent.state in ("accepted", "not sent")
    assert all(0 <= s <= 30 for s in there.waits.seconds)


def test_longer_than_our_patience(there: There) -> None:
    sent = there.send(lambda n: answers(503, **{"Retry-After": "500"}), patience=60)
    assert (sent.state, rules(sent), there.waits.seconds) == ("not sent", ["D225"], [])
    assert there.receipt["verdict"] == "not sent"


def test_busy_for_ever(there: There) -> None:
    sent = there.send(lambda n: answers(503))
    assert (sent.state, rules(sent), len(there.posts)) == ("not sent", ["D225"], 5)


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_sent_on_to_another_host(there: There, status: int, tmp_path: Path) -> None:
    with raw_server(lambda method, connection: None) as (other, came):
        sent = there.send(lambda n: answers(status, Location=f"{other}/r4/Bundle"))
    assert (sent.state, rules(sent), came) == ("not sent", ["D222"], [])


@pytest.mark.parametrize("status", [307, 308])
def test_sent_on_within_the_server(there: There, status: int) -> None:
    sent = there.send(lambda n: answers(201) if n > 1 else answers(status, Location="/elsewhere/Bundle"))
    assert sent.state == "accepted"
    assert [p.path for p in there.posts] == ["/r4/Bundle", "/elsewhere/Bundle"]
    assert there.posts[1].get_data() == SUMMARY


@pytest.mark.parametrize("status", [301, 302, 303])
def test_sent_on_so_that_the_body_would_be_lost(there: There, status: int) -> None:
    sent = there.send(lambda n: answers(status, Location="/elsewhere/Bundle"))
    assert (rules(sent), len(there.posts)) == (["D222"], 1)


def test_sent_on_and_on(there: There) -> None:
    sent = there.send(lambda n: answers(307, Location="/r4/Bundle"))
    assert (rules(sent), len(there.posts)) == (["D222"], 3)


def test_a_search_that_is_sent_elsewhere(there: There) -> None:
    sent = there.send(lambda n: answers(201), get=lambda n: answers(302, Location="https://elsewhere.example.org/"))
    assert (sent.state, rules(sent), there.posts) == ("not sent", ["D222"], [])


def test_a_server_that_does_not_search(there: There) -> None:
    sent = there.send(lambda n: answers(201), get=lambda n: answers(405))
    assert (sent.state, len(there.posts)) == ("accepted", 1)


@pytest.mark.parametrize("found", [
    {**NONE, "entry": [{"resource": {"resourceType": "Bundle", "identifier": {"value": "another"}}}]},
    {**NONE, "entry": [{"resource": {**json.loads(SUMMARY), "entry": []}}]},
    {**NONE, "entry": [{"resource": json.loads(SUMMARY)}, {"resource": json.loads(SUMMARY)}]},
])  # fmt: skip
def test_something_else_is_there(there: There, found: Any) -> None:
    sent = there.send(lambda n: answers(201), get=lambda n: answers(200, found))
    assert (sent.state, rules(sent), there.posts) == ("refused", ["D212"], [])


@pytest.mark.parametrize("found", [
    [], {"resourceType": "Bundle"}, {**NONE, "entry": 7}, {**NONE, "link": [{"relation": "next"}]},
    outcome("processing"),
])  # fmt: skip
def test_a_search_that_says_nothing(there: There, found: Any) -> None:
    sent = there.send(lambda n: answers(201), get=lambda n: answers(200, found))
    assert (sent.state, len(there.posts)) == ("accepted", 1)
    assert there.receipt["tries"][0]["came"] == "the server does not say"


def _deep() -> dict[str, Any]:
    return {"resourceType": "Basic", "extension": json.loads('[{"x":' * 400 + "1" + "}]" * 400)}


@pytest.mark.parametrize("change", [
    lambda e: e["resource"].update(birthDate="1900-01-01") if e["resource"]["resourceType"] == "Patient" else None,
    lambda e: e["resource"].pop("bodySite", None), lambda e: e["resource"].update(extension=[]),
    lambda e: e.update(resource=_deep()),
])  # fmt: skip
def test_another_document_under_our_identifier_is_not_ours(there: There, change: Callable[[Any], Any]) -> None:
    found = json.loads(SUMMARY)
    for entry in found["entry"]:
        change(entry)
    sent = there.send(lambda n: answers(201), get=lambda n: answers(200, {**NONE, "entry": [{"resource": found}]}))
    assert (sent.state, rules(sent), there.posts) == ("refused", ["D212"], [])


def test_ours_as_a_server_spells_it(there: There) -> None:
    """Its own id and meta, narratives made anew, moments in UTC, numbers with other zeros: R4 lets a server do so."""
    found = json.loads(SUMMARY.replace(b"+00:00", b"Z"))
    found |= {"id": "17", "meta": {"versionId": "1"}}
    for entry in found["entry"]:
        entry["resource"] |= {"meta": {"versionId": "1"}, "text": {"status": "generated", "div": "<div/>"}}
    sent = there.send(lambda n: answers(201), get=lambda n: answers(200, {**NONE, "entry": [{"resource": found}]}))
    assert (sent.state, rules(sent), sent.place, there.posts) == ("accepted", ["D229"], "Bundle/17", [])


_UNPROVED = {
    "page": lambda: Response("<html>Log in to the network</html>", 200, {"Content-Type": "text/html"}),
    "nothing": lambda: answers(204),
    "part": lambda: answers(206),
    "another": lambda: answers(200, {"resourceType": "Patient"}),
    "refusal": lambda: answers(200, outcome("invalid")),
    "refused though created": lambda: answers(201, outcome("exception", severity="fatal")),
}


@pytest.mark.parametrize("what", _UNPROVED)
def test_an_answer_that_does_not_say_that_it_was_stored(there: There, what: str) -> None:
    """https://hl7.org/fhir/R4/http.html#create: 201 tells of a new resource; anything else is asked about."""
    doubt = there.send(lambda n: _UNPROVED[what]())
    assert (doubt.state, rules(doubt), len(there.posts), len(there.gets)) == ("in doubt", ["D226"], 1, 2)
    assert NAME not in told(there, doubt)


@pytest.mark.parametrize("what", _UNPROVED)
def test_an_answer_that_does_not_say_so_and_it_was_stored(there: There, what: str) -> None:
    stored = {**NONE, "entry": [{"resource": json.loads(SUMMARY)}]}
    sent = there.send(lambda n: _UNPROVED[what](), get=lambda n: answers(200, stored if n > 1 else NONE))
    assert (sent.state, rules(sent), len(there.posts)) == ("accepted", ["D229"], 1)


def test_what_the_server_still_stores_is_not_sent_once_more(there: There) -> None:
    """It answers 504 at once, and searches find the bundle only when it was stored, 12 seconds later."""
    stored = {**NONE, "entry": [{"resource": json.loads(SUMMARY)}]}

    def get(n: int) -> Response:
        return answers(200, stored if there.posts and sum(there.waits.seconds) >= 12 else NONE)

    sent = there.send(lambda n: answers(504), get=get)
    assert (sent.state, rules(sent), len(there.posts)) == ("accepted", ["D229"], 1)


def test_what_is_not_there_after_a_while_is_sent_once_more(there: There) -> None:
    sent = there.send(lambda n: answers(504) if n == 1 else answers(201))
    assert (sent.state, len(there.posts), sum(there.waits.seconds) >= 30) == ("accepted", 2, True)


def test_whoever_does_not_wait_that_long_stays_in_doubt(there: There) -> None:
    sent = there.send(lambda n: answers(504), patience=5)
    assert (sent.state, rules(sent), len(there.posts)) == ("in doubt", ["D226"], 1)
    at_once = sender(there.tmp_path, "there", there.waits).send(there.tmp_path / "M.json", SUMMARY)
    assert (at_once.state, len(there.posts)) == ("in doubt", 1)


def test_only_an_outcome_is_among_what_was_found(there: There) -> None:
    found = {**NONE, "entry": [{"search": {"mode": "outcome"}, "resource": outcome("informational")}]}
    sent = there.send(lambda n: answers(201), get=lambda n: answers(200, found))
    assert (sent.state, there.receipt["tries"][0]["came"]) == ("accepted", "it is not there")


@pytest.mark.parametrize(
    "location", [f"https://x/Patient?family={NAME}", "x" * 9999, "javascript:alert(1)", "Bundle/a b"]
)
def test_odd_places(there: There, location: str) -> None:
    sent = there.send(lambda n: answers(201, Location=location, ETag=NAME))
    assert (sent.state, sent.place, there.receipt["etag"]) == ("accepted", "", "")


def test_a_crash_leaves_the_receipt_in_doubt(there: There, monkeypatch: pytest.MonkeyPatch) -> None:
    def crash(*_: Any) -> None:
        raise MemoryError

    real = wires.Wire.ask
    monkeypatch.setattr(
        wires.Wire, "ask", lambda self, method, *a: crash() if method == "POST" else real(self, method, *a)
    )
    with pytest.raises(MemoryError):
        there.send(lambda n: answers(201))
    assert there.receipt["verdict"] == "in doubt"


def test_nobody_at_the_address(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    sent, receipt = send_raw(f"http://127.0.0.1:{port}", tmp_path)
    assert (sent.state, rules(sent), receipt["verdict"]) == ("not sent", ["D220"], "not sent")


def send_raw(address: str, tmp_path: Path, **settings: Any) -> tuple[Sent, dict[str, Any]]:
    endpoint = {"name": "there", "address": address, "organisation": "AG", "without_tls": True, **settings}
    folder = practice_folder(tmp_path, endpoint)
    (tmp_path / "M.json").write_bytes(SUMMARY)
    sent = sender(folder, "there").send(tmp_path / "M.json", SUMMARY)
    return sent, json.loads((tmp_path / "M.there.receipt.json").read_bytes())


def reset(connection: socket.socket) -> None:
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    connection.close()


def fin_in_the_middle(connection: socket.socket) -> None:
    connection.sendall(b"HTTP/1.1 201 Created\r\nContent-Length: 500\r\n\r\n{")


def garbage(connection: socket.socket) -> None:
    connection.sendall(b"220 mail.example.org ESMTP\r\n")


def too_much(connection: socket.socket) -> None:
    connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n\r\n")
    while True:
        connection.sendall(b" " * 1_000_000)


def drips(connection: socket.socket) -> None:
    connection.sendall(b"HTTP/1.1 200 OK\r\n")
    for _ in range(30):
        connection.sendall(b"X-A: b\r\n")
        time.sleep(0.1)


def silent(connection: socket.socket) -> None:
    time.sleep(2.5)


@pytest.mark.parametrize("fault", [reset, fin_in_the_middle, garbage, too_much, drips, silent])
def test_no_whole_answer_is_never_sent_again_blindly(fault: Callable[[socket.socket], None], tmp_path: Path) -> None:
    """The server can be asked first and not afterwards: one POST, and in doubt."""
    posts: list[int] = []

    def answer(method: str, connection: socket.socket) -> None:
        if method == "POST":
            posts.append(1)
            fault(connection)
        elif not posts:
            body = json.dumps(NONE).encode()
            connection.sendall(
                b"HTTP/1.1 200 OK\r\nConnection: close\r\nContent-Length: %d\r\n\r\n%s" % (len(body), body)
            )
        else:
            reset(connection)

    with raw_server(answer) as (address, came):
        sent, receipt = send_raw(address, tmp_path, seconds=1)
    assert (sent.state, rules(sent), receipt["verdict"]) == ("in doubt", ["D226"], "in doubt")
    assert came.count("POST") == 1


@pytest.mark.parametrize("place", [b"http://[", b"http://127.0.0.1:999999/r4", b"/\xff\xfe"])
@pytest.mark.parametrize("on", ["GET", "POST"])
def test_sent_on_to_a_place_that_cannot_be_read(on: str, place: bytes, tmp_path: Path) -> None:
    def answer(method: str, connection: socket.socket) -> None:
        body = json.dumps(NONE).encode()
        moved = b"HTTP/1.1 307 Elsewhere\r\nConnection: close\r\nContent-Length: 0\r\nLocation: %s\r\n\r\n" % place
        found = b"HTTP/1.1 200 OK\r\nConnection: close\r\nContent-Length: %d\r\n\r\n%s" % (len(body), body)
        connection.sendall(moved if method == on else found)

    with raw_server(answer) as (address, _):
        sent, receipt = send_raw(address, tmp_path, seconds=1)
    assert (sent.state, receipt["verdict"]) in [(state, state) for state in ("not sent", "in doubt", "refused")]
    assert len(sent.issues) == 1


def test_taken_in_to_be_looked_at_later(there: There) -> None:
    """202 is no yes, and no reason to send it once more."""
    sent = there.send(lambda n: answers(202))
    assert (sent.state, rules(sent), len(there.posts)) == ("in doubt", ["D226"], 1)


def test_a_receipt_is_never_written_over_by_that_of_another_bundle(there: There) -> None:
    first = there.send(lambda n: answers(201))
    kept = there.receipt
    other = as_bytes(made("M26-0114"))
    second = sender(there.tmp_path, "there").send(there.tmp_path / "M.json", other)
    assert (first.state, second.state, there.receipt) == ("accepted", "accepted", kept)
    assert second.receipt != first.receipt
    again = sender(there.tmp_path, "there").send(there.tmp_path / "M.json", other)
    assert (again.state, again.receipt) == ("sent before", second.receipt)


def test_a_quiet_change_does_not_leave_even_when_told_to(there: There) -> None:
    there.send(lambda n: answers(201))
    changed = as_bytes(made("M26-0101", changes={"source_sha256": "0" * 64}))
    sent = sender(there.tmp_path, "there", again=True).send(there.tmp_path / "M.json", changed)
    assert (sent.state, rules(sent), len(there.posts)) == ("held back", ["D212"], 1)


def test_a_transaction_of_which_a_part_is_there_is_sent_again(there: There) -> None:
    """The server says that the Provenance is there, and that nothing else is: every entry may be sent again."""
    provenance = next(e for e in json.loads(TRANSACTION)["entry"] if e["resource"]["resourceType"] == "Provenance")

    def get(n: int) -> Response:
        asked = there.gets[-1]
        return answers(200, NONE) if asked.query_string else answers(200, provenance["resource"])

    sent = there.send(lambda n: answers(200, responses(GOOD)), transaction=True, get=get)
    assert (sent.state, len(there.posts)) == ("accepted", 1)
    assert there.receipt["tries"][0]["came"] == "it is not there"


def test_a_provenance_of_another_state_of_the_record_is_not_ours(there: There) -> None:
    entries = json.loads(TRANSACTION)["entry"]
    other = next(e["resource"] for e in entries if e["resource"]["resourceType"] == "Provenance")
    other["entity"][-1]["what"]["identifier"]["value"] = "0" * 64
    sent = there.send(lambda n: answers(200, responses(GOOD)), transaction=True, get=lambda n: answers(200, other))
    assert (sent.state, len(there.gets), len(there.posts)) == ("accepted", 1, 1)


def test_sending_again_in_vain_takes_nothing_back(there: There) -> None:
    there.send(lambda n: answers(201 if n == 1 else 503))
    again = sender(there.tmp_path, "there", again=True).send(there.tmp_path / "M.json", SUMMARY)
    assert rules(again) == ["D225"]
    assert there.receipt["verdict"] == "accepted"


def test_in_doubt_and_sent_again_on_purpose(there: There) -> None:
    """The server never says whether it has it: only a person can decide to send it once more."""
    doubt = there.send(lambda n: answers(504) if n == 1 else answers(201), get=lambda n: answers(405))
    assert (doubt.state, len(there.posts)) == ("in doubt", 1)
    still = sender(there.tmp_path, "there").send(there.tmp_path / "M.json", SUMMARY)
    assert (still.state, len(there.posts)) == ("in doubt", 1)
    again = sender(there.tmp_path, "there", again=True).send(there.tmp_path / "M.json", SUMMARY)
    assert (again.state, len(there.posts)) == ("accepted", 2)


def test_in_doubt_and_then_not_reached_stays_in_doubt(there: There) -> None:
    """Not being reached today says nothing of what arrived yesterday."""
    doubt = there.send(lambda n: answers(504), get=lambda n: answers(405))
    there.server.stop()
    try:
        again = sender(there.tmp_path, "there", again=True).send(there.tmp_path / "M.json", SUMMARY)
    finally:
        there.server.start()
    assert (doubt.state, again.state, there.receipt["verdict"]) == ("in doubt", "in doubt", "in doubt")


@pytest.mark.parametrize("then", [307, 401])
def test_in_doubt_stays_so_until_the_server_says_no(there: There, then: int) -> None:
    """Asked another day, the server sends the question elsewhere, or does not know us: nobody knows more."""
    state = {"get": 405}
    place = {"Location": "https://elsewhere.example.org/"}
    doubt = there.send(lambda n: answers(504), get=lambda n: answers(state["get"], **place))
    state["get"] = then
    again = sender(there.tmp_path, "there").send(there.tmp_path / "M.json", SUMMARY)
    assert (doubt.state, again.state, there.receipt["verdict"], len(there.posts)) == (
        "in doubt",
        "in doubt",
        "in doubt",
        1,
    )


def stopped_while(there: There, monkeypatch: pytest.MonkeyPatch, method: str) -> None:
    """Ctrl-C at the first request of this method, after the server has it."""
    ask = wires.Wire.ask

    def asked(self: wires.Wire, how: str, *rest: Any) -> wires.Answer:
        answer = ask(self, how, *rest)
        if how == method:
            raise KeyboardInterrupt
        return answer

    monkeypatch.setattr(wires.Wire, "ask", asked)


def test_stopped_after_it_was_sent_it_is_in_doubt_and_the_next_run_asks(
    there: There, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        stopped_while(there, patched, "POST")
        sent = there.send(lambda n: answers(201))
    assert (sent.state, sent.stopped, rules(sent)) == ("in doubt", True, ["D226"])
    assert f"Its receipt is {there.tmp_path / 'M.there.receipt.json'}." in sent.issues[0].message
    assert there.receipt["verdict"] == "in doubt"
    assert there.receipt["tries"][-1]["came"] == "it was stopped here before an answer came"
    there.server.clear()
    found = {**NONE, "total": 1, "entry": [{"resource": {**json.loads(SUMMARY), "id": "7"}}]}
    again = there.send(lambda n: answers(500), get=lambda n: answers(200, found))
    assert (again.state, rules(again), len(there.posts)) == ("accepted", ["D229"], 1)


def test_stopped_while_what_was_accepted_is_sent_again_is_told_as_that(
    there: There, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It did leave; the earlier yes stands."""
    assert there.send(lambda n: answers(201)).state == "accepted"
    stopped_while(there, monkeypatch, "POST")
    sent = sender(there.tmp_path, "there", again=True).send(there.tmp_path / "M.json", SUMMARY)
    assert (sent.state, sent.stopped, rules(sent)) == ("accepted", True, ["D226"])
    assert there.receipt["verdict"] == "accepted"
    assert [one["came"] for one in there.receipt["tries"] if one["did"] == "sent"] == [
        "accepted", "it was stopped here before an answer came",
    ]  # fmt: skip


def test_stopped_before_it_was_sent_nothing_is_in_doubt(there: There, monkeypatch: pytest.MonkeyPatch) -> None:
    stopped_while(there, monkeypatch, "GET")
    with pytest.raises(KeyboardInterrupt):
        there.send(lambda n: answers(201))
    assert (there.receipt["verdict"], there.posts) == ("not sent", [])


@pytest.mark.parametrize(("status", "doubt"), [(429, False), (503, False), (500, True), (504, True)])
def test_stopped_while_it_waits(there: There, monkeypatch: pytest.MonkeyPatch, status: int, doubt: bool) -> None:
    """A server that says that it is busy took nothing."""

    def stop(seconds: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(there.waits, "wait", stop)
    if doubt:
        sent = there.send(lambda n: answers(status))
        assert (sent.state, sent.stopped) == ("in doubt", True)
    else:
        with pytest.raises(KeyboardInterrupt):
            there.send(lambda n: answers(status))
    assert there.receipt["verdict"] == ("in doubt" if doubt else "not sent")


def test_each_wait_is_told_before(there: There) -> None:
    sent = there.send(lambda n: answers(429, **{"Retry-After": "7"}) if n == 1 else answers(503 if n == 2 else 201))
    assert sent.state == "accepted"
    assert [(last.why, last.status, seconds) for last, seconds in there.waits.told] == [
        ("busy", 429, 7.0),
        ("busy", 503, 2.0),
    ]
    assert [seconds for _, seconds in there.waits.told] == there.waits.seconds
