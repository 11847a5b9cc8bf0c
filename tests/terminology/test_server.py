"""A terminology server that answers well, slowly, wrongly or not at all: a real one on the loopback.

Meaning of the answers: https://hl7.org/fhir/R4/valueset-operation-validate-code.html, codesystem-operation-lookup.html.
"""

from __future__ import annotations

import os
import socket
import stat
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bridge.cache_folder import cache_folder
from bridge.terminology import kept
from bridge.terminology.members import Terminology
from bridge.terminology.parameters import looked_up, validated
from bridge.terminology.server import Server
from tests.terminology.small import SETS, TOOLS, filtered, terminology, value_set
from tests.terminology.stub import Stub, serving

SET = f"{SETS}/tools"
UNDECIDED = value_set("tools", filtered("x", "some-op", "y"))
"""A value set over the small code system that tables cannot decide."""


@pytest.fixture(autouse=True)
def _own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(tmp_path / "cache"))
    for name in ("HTTP_PROXY", "http_proxy", "ALL_PROXY", "all_proxy"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def stub() -> Iterator[Stub]:
    with serving() as one:
        yield one


def told(server: Server) -> list[str]:
    return [issue.rule for issue in server.issues]


def with_server(stub: Stub, seconds: float = 10) -> tuple[Terminology, Server]:
    server = Server(stub.address, seconds)
    return terminology(UNDECIDED, server=server), server


def test_codes_are_in_out_or_out_of_use(stub: Stub) -> None:
    asked, server = with_server(stub)
    answers = [asked.member(SET, TOOLS, code) for code in ("loop", "candle")]
    assert [(one.verdict, one.inactive) for one in answers] == [("in", False), ("in", True)]
    assert server.member(SET, TOOLS, "laser").verdict == "out"  # type: ignore[union-attr]
    assert told(server) == []
    assert stub.seen[0][:2] == ("/fhir/ValueSet/$validate-code", {"url": SET, "system": TOOLS, "code": "loop"})


def test_tables_decide_what_they_can_without_the_server(stub: Stub) -> None:
    server = Server(stub.address)
    asked = terminology(value_set("tools", {"system": TOOLS}), server=server)
    assert [asked.member(SET, TOOLS, code).verdict for code in ("loop", "laser")] == ["in", "out"]
    assert asked.known(TOOLS, "loop").verdict == "in"
    assert stub.seen == []


def test_the_version_of_a_value_set_is_sent_apart(stub: Stub) -> None:
    Server(stub.address).member(f"{SET}|1.2", TOOLS, "loop")
    assert stub.seen[0][1] == {"url": SET, "valueSetVersion": "1.2", "system": TOOLS, "code": "loop"}


def test_a_plain_code_is_asked_with_each_system_of_its_set(stub: Stub) -> None:
    asked, _ = with_server(stub)
    assert asked.member(SET, None, "loop").verdict == "in"
    assert {question["system"] for _, question, _ in stub.seen} == {TOOLS}


def test_look_up(stub: Stub) -> None:
    server = Server(stub.address)
    answers = [server.known(TOOLS, code) for code in ("loop", "candle", "laser")]
    assert [(one.verdict, one.inactive) for one in answers if one] == [("in", False), ("in", True), ("out", False)]
    assert server.known("http://example.org/other", "loop") is None
    assert told(server) == ["T204"]
    assert terminology(server=server).known("http://example.org/other", "loop").verdict == "unknown"


def test_a_wrong_display_is_told_and_the_code_still_in(stub: Stub) -> None:
    server = Server(stub.address)
    answer = server.member(SET, TOOLS, "loop", "Hook")
    assert answer is not None
    assert (answer.verdict, answer.display_wrong) == ("in", "Loop")
    right, out = server.member(SET, TOOLS, "loop", "Loop"), server.member(SET, TOOLS, "laser", "Hook")
    assert right is not None
    assert right.display_wrong == ""
    assert out is not None
    assert out.verdict == "out"
    stub.play = "lenient"
    answer = server.member(SET, TOOLS, "hook", "Loop")
    assert answer is not None
    assert (answer.verdict, answer.display_wrong) == ("in", "Hook")


def test_words_that_people_wrote_are_not_sent(stub: Stub) -> None:
    asked, _ = with_server(stub)
    asked.member(SET, TOOLS, "loop", "Words about somebody")
    asked.member(SET, TOOLS, "words about somebody", None)
    asked.member(SET, "system about somebody", "loop", None)
    asked.known(TOOLS, "somebody " * 3)
    asked.known("somebody's system", "loop")
    assert "somebody" not in repr(stub.seen)
    assert len(stub.seen) == 1
    asked.member(SET, TOOLS, "loop", "Otalgia")  # a name of a code in our tables
    assert stub.seen[1][1]["display"] == "Otalgia"


def test_nothing_is_told_of_who_asks(stub: Stub, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    netrc = tmp_path / "netrc"
    netrc.write_text("machine 127.0.0.1 login somebody password secret\n", encoding="utf-8")
    netrc.chmod(0o600)
    monkeypatch.setenv("NETRC", str(netrc))
    stub.play = "with cookies"
    server = Server(stub.address)
    server.member(SET, TOOLS, "loop")
    server.member(SET, TOOLS, "hook")
    for _, _, headers in stub.seen:
        assert {"Authorization", "Cookie"} & set(headers) == set()
    assert len(stub.seen) == 2


@pytest.mark.parametrize("play", ["lacking politely", "lacking the system", "lacking by issue"])
def test_a_server_that_lacks_the_definition_leaves_the_code_undecided(stub: Stub, play: str) -> None:
    stub.play = play
    asked, server = with_server(stub)
    assert [asked.member(SET, TOOLS, code).verdict for code in ("loop", "hook")] == ["unknown", "unknown"]
    assert told(server) == ["T204"]


def test_a_value_set_that_the_server_does_not_have(stub: Stub) -> None:
    server = Server(stub.address)
    assert server.member(f"{SETS}/other", TOOLS, "loop") is None
    assert told(server) == ["T204"]


@pytest.mark.parametrize("play", ["slow", "dripping"])
def test_a_slow_server_is_left_alone(stub: Stub, play: str) -> None:
    stub.play = play
    asked, server = with_server(stub, 0.2)
    assert [asked.member(SET, TOOLS, code).verdict for code in ("loop", "hook", "light")] == ["unknown"] * 3
    assert told(server) == ["T202"]
    assert len(stub.seen) == 1


def test_nobody_at_the_address() -> None:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        port = listening.getsockname()[1]
    server = Server(f"http://127.0.0.1:{port}/fhir")
    assert [server.member(SET, TOOLS, code) for code in ("loop", "hook")] == [None, None]
    assert told(server) == ["T201"]
    assert server.stopped


def test_a_server_that_hangs_up_is_asked_twice_and_then_left_alone(stub: Stub) -> None:
    stub.play = "hanging up"
    server = Server(stub.address)
    assert [server.member(SET, TOOLS, code) for code in ("loop", "hook")] == [None, None]
    assert told(server) == ["T201"]
    assert len(stub.seen) == 2


BROKEN = """html,of another type,out of order,cut off,breaking off,huge,deep,of another shape,a list,elsewhere,
    round and round"""


@pytest.mark.parametrize("play", [name.strip() for name in BROKEN.split(",")])
def test_what_cannot_be_understood_decides_nothing(stub: Stub, play: str) -> None:
    stub.play = play
    asked, server = with_server(stub)
    assert asked.member(SET, TOOLS, "loop").verdict == "unknown"
    assert asked.known("http://example.org/other", "loop").verdict == "unknown"
    assert told(server) == ["T203"]
    assert server.issues[0].message.startswith("An answer of the terminology server ")
    before = len(stub.seen)
    for code in ("hook", "light", "headlamp"):
        asked.member(SET, TOOLS, code)
    assert server.stopped
    assert len({question["code"] for _, question, _ in stub.seen[before:]}) == 1


ODD: list[Any] = [None, 5, "x", [], {}, [None], [{"name": {}}], [{"name": "issues", "resource": {"resourceType": []}}]]
ODD += [
    [{"name": "issues", "resource": {"resourceType": "OperationOutcome", "issue": [{"severity": {}, "details": 3}]}}]
]


@pytest.mark.parametrize("odd", ODD, ids=repr)
def test_answers_of_any_shape_are_read(odd: Any) -> None:
    for data in ({"parameter": odd}, {"issue": odd}):
        for kind in ("Parameters", "OperationOutcome", odd):
            for status in (200, 404, 500):
                whole = {"resourceType": kind, **data}
                assert {validated(status, whole).said, looked_up(status, whole).said} <= {"unclear", "not known"}


def test_an_address_elsewhere_is_not_gone_to(stub: Stub) -> None:
    stub.play = "elsewhere"
    Server(stub.address).member(SET, TOOLS, "loop")
    assert len(stub.seen) == 1


def test_a_server_that_moved_at_the_same_place_is_followed(stub: Stub) -> None:
    stub.play = "moved"
    server = Server(stub.address)
    answer = server.member(SET, TOOLS, "loop")
    assert answer is not None
    assert answer.verdict == "in"


def test_answers_are_kept_for_the_next_run_for_a_week(stub: Stub, monkeypatch: pytest.MonkeyPatch) -> None:
    assert Server(stub.address).member(SET, TOOLS, "candle") == Server(stub.address).member(SET, TOOLS, "candle")
    assert len(stub.seen) == 1
    now = kept.time.time()
    monkeypatch.setattr(kept.time, "time", lambda: now + kept.WEEK + 1)
    Server(stub.address).member(SET, TOOLS, "candle")
    assert len(stub.seen) == 2


def test_a_server_that_is_away_is_not_missed_for_what_is_kept(stub: Stub) -> None:
    first = Server(stub.address).member(SET, TOOLS, "loop")
    stub.play = "html"
    server = Server(stub.address)
    server.stopped = True
    assert server.member(SET, TOOLS, "loop") == first
    assert told(server) == []


def test_what_is_not_decided_is_not_kept(stub: Stub) -> None:
    stub.play = "lacking politely"
    Server(stub.address).member(SET, TOOLS, "loop")
    stub.play = "well"
    answer = Server(stub.address).member(SET, TOOLS, "loop")
    assert answer is not None
    assert answer.verdict == "in"


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are told otherwise there")
def test_the_cache_is_private_and_names_no_code(stub: Stub) -> None:
    Server(stub.address).member(SET, TOOLS, "headlamp")
    files = list(cache_folder().iterdir())
    assert len(files) == 1
    assert stat.S_IMODE(files[0].stat().st_mode) == 0o600
    assert stat.S_IMODE(cache_folder().stat().st_mode) == 0o700
    assert b"headlamp" not in files[0].read_bytes()


@pytest.mark.parametrize("content", [b"", b"not a data base" * 100])
def test_a_damaged_or_empty_cache_does_no_harm(stub: Stub, content: bytes) -> None:
    Server(stub.address).member(SET, TOOLS, "loop")
    next(cache_folder().iterdir()).write_bytes(content)
    answer = Server(stub.address).member(SET, TOOLS, "loop")
    assert answer is not None
    assert answer.verdict == "in"


@pytest.mark.parametrize("place", ["file", "link"])
def test_a_cache_that_cannot_be_written_does_no_harm(
    stub: Stub, place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    victim = tmp_path / "victim"
    victim.write_bytes(b"mine")
    if place == "file":
        monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(victim / "sub"))
    else:
        cache_folder().mkdir()
        os.symlink(victim, cache_folder() / kept._FILE)
    server = Server(stub.address)
    assert [server.member(SET, TOOLS, "loop") for _ in range(2)][1] is not None
    assert victim.read_bytes() == b"mine"
    assert len(stub.seen) == 1
