"""Sending to HAPI FHIR (JPA on H2): what it stores is asked of it directly, by another client than ours."""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
import requests

from tests.deliver.server.at_work import Waits, as_bytes, made, practice_folder, sender
from tests.deliver.server.on_the_way import losing_proxy


def fresh(form: str = "summary", number: str = "M26-0101", **changes: Any) -> bytes:
    """A bundle that no other test has sent: the visit under a number of its own."""
    own = f"T-{uuid4().hex[:8]}"
    return as_bytes(made(number, form, {"number": own, **changes}))


def put_down(folder: Path, content: bytes, name: str = "M.bundle.json") -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def there(address: str, organisation: str = "AG", **settings: Any) -> dict[str, Any]:
    return {"name": "there", "address": address, "organisation": organisation, "without_tls": True, **settings}


NEXT = {"organisation": "EN", "whose": "next clinic", "takes": "transaction"}


def stored(base: str, content: bytes) -> int:
    """How many documents stand there under the bundle's identifier."""
    said = json.loads(content)["identifier"]
    found = requests.get(f"{base}/Bundle", params={"identifier": f"{said['system']}|{said['value']}"}, timeout=60)
    assert found.status_code == 200
    return len(found.json().get("entry", []))


def stored_entries(base: str, content: bytes) -> list[int]:
    """The same for each entry of a transaction."""
    counts = []
    for entry in json.loads(content)["entry"]:
        request, type = entry["request"], entry["resource"]["resourceType"]
        query = request.get("ifNoneExist") or request["url"].partition("?")[2]
        if query:
            found = requests.get(f"{base}/{type}?{query}", timeout=60)
            counts.append(len(found.json().get("entry", [])))
        else:
            counts.append(int(requests.get(f"{base}/{request['url']}", timeout=60).status_code == 200))
    return counts


def test_a_document_is_stored_once(fhir_server: str, tmp_path: Path) -> None:
    folder, content = practice_folder(tmp_path, there(fhir_server)), fresh()
    path = put_down(tmp_path, content)
    first = sender(folder, "there").send(path, content)
    assert (first.state, first.issues) == ("accepted", [])
    assert first.place.startswith("Bundle/")
    assert stored(fhir_server, content) == 1
    held = requests.get(f"{fhir_server}/{first.place}", timeout=60).json()
    assert [e["fullUrl"] for e in held["entry"]] == [e["fullUrl"] for e in json.loads(content)["entry"]]

    again = sender(folder, "there").send(path, content)
    assert (again.state, [i.rule for i in again.issues]) == ("sent before", ["D211"])
    forced = sender(folder, "there", again=True).send(path, content)
    assert (forced.state, [i.rule for i in forced.issues]) == ("accepted", ["D229"])
    assert first.receipt is not None
    first.receipt.unlink()
    without = sender(folder, "there").send(path, content)
    assert (without.state, [i.rule for i in without.issues]) == ("accepted", ["D229"])
    assert stored(fhir_server, content) == 1


def test_a_transaction_is_stored_once(fhir_server: str, tmp_path: Path) -> None:
    folder, content = practice_folder(tmp_path, there(fhir_server, **NEXT)), fresh("transaction", "M26-0112")
    path = put_down(tmp_path, content)
    assert sender(folder, "there").send(path, content).state == "accepted"
    assert set(stored_entries(fhir_server, content)) == {1}
    receipt = json.loads((tmp_path / "M.there.receipt.json").read_bytes())
    assert {e["status"] // 100 for e in receipt["entries"]} == {2}
    (tmp_path / "M.there.receipt.json").unlink()
    found = sender(folder, "there").send(path, content)
    assert (found.state, [i.rule for i in found.issues]) == ("accepted", ["D229"])
    assert set(stored_entries(fhir_server, content)) == {1}


def test_a_correction_follows_the_first_version(fhir_server: str, tmp_path: Path) -> None:
    """Its entries are known by the same identifiers, so that what is there proves nothing of the new version."""
    folder, own = practice_folder(tmp_path, there(fhir_server, **NEXT)), f"T-{uuid4().hex[:8]}"
    first = as_bytes(made("M26-0112", "transaction", {"number": own}))
    second = as_bytes(made("M26-0112", "transaction", {"number": own, "version": 2, "replaces": 1}))
    for name, content in (("M", first), ("M-v2", second)):
        sent = sender(folder, "there").send(put_down(tmp_path, content, f"{name}.bundle.json"), content)
        assert (sent.state, sent.issues) == ("accepted", [])
        assert set(stored_entries(fhir_server, content)) == {1}


@pytest.mark.parametrize("form", ["summary", "transaction"])
@pytest.mark.parametrize("how", ["cut", "502", "504", "500"])
def test_an_answer_lost_after_the_server_took_it(fhir_server: str, tmp_path: Path, form: str, how: str) -> None:
    content = fresh(form, "M26-0112")
    waits = Waits()
    with losing_proxy(fhir_server, lambda method, n: how if method == "POST" and n == 1 else "") as (address, seen):
        settings = there(address, **NEXT) if form == "transaction" else there(address, "TR")
        folder = practice_folder(tmp_path, settings)
        sent = sender(folder, "there", waits).send(put_down(tmp_path, content), content)
    assert (sent.state, [i.rule for i in sent.issues]) == ("accepted", ["D229"])
    assert [method for method, _, _ in seen].count("POST") == 1
    if form == "transaction":
        assert set(stored_entries(fhir_server, content)) == {1}
    else:
        assert stored(fhir_server, content) == 1


@pytest.mark.parametrize("form", ["summary", "transaction"])
def test_what_was_lost_before_the_server_had_it_is_sent_again(fhir_server: str, tmp_path: Path, form: str) -> None:
    content = fresh(form, "M26-0112")
    with losing_proxy(fhir_server, lambda method, n: "reset" if method == "POST" and n == 1 else "") as (address, seen):
        settings = there(address, **NEXT) if form == "transaction" else there(address, "TR")
        folder = practice_folder(tmp_path, settings)
        sent = sender(folder, "there").send(put_down(tmp_path, content), content)
    assert sent.state == "accepted"
    assert [method for method, _, _ in seen].count("POST") == 2
    assert set(stored_entries(fhir_server, content) if form == "transaction" else [stored(fhir_server, content)]) == {1}


def test_in_doubt_until_the_server_can_be_asked(fhir_server: str, tmp_path: Path) -> None:
    """The line goes down with the answer, for good: in doubt; on another day it is found, and not sent again."""
    content, down = fresh(), []

    def lose(method: str, n: int) -> str:
        if method == "POST":
            down.append(n)
            return "cut"
        return "reset" if down else ""

    with losing_proxy(fhir_server, lose) as (address, seen):
        folder = practice_folder(tmp_path, there(address))
        path = put_down(tmp_path, content)
        sent = sender(folder, "there").send(path, content)
        assert (sent.state, [i.rule for i in sent.issues]) == ("in doubt", ["D226"])
        assert json.loads((tmp_path / "M.there.receipt.json").read_bytes())["verdict"] == "in doubt"
        still = sender(folder, "there").send(path, content)
        assert (still.state, [i.rule for i in still.issues]) == ("in doubt", ["D226"])
        assert len(down) == 1
        down.clear()
        found = sender(folder, "there").send(path, content)
        assert (found.state, [i.rule for i in found.issues]) == ("accepted", ["D229"])
    assert [method for method, _, _ in seen].count("POST") == 1
    assert stored(fhir_server, content) == 1


@pytest.mark.parametrize("status", ["429", "503"])
def test_a_busy_server_is_waited_for(fhir_server: str, tmp_path: Path, status: str) -> None:
    """The proxy asks the server even so: nobody can be sure that a gateway's 503 means that nothing was taken."""
    content, waits = fresh(), Waits()
    with losing_proxy(fhir_server, lambda method, n: status if method == "POST" and n == 1 else "") as (address, _):
        folder = practice_folder(tmp_path, there(address))
        sent = sender(folder, "there", waits).send(put_down(tmp_path, content), content)
    assert sent.state == "accepted"
    assert waits.seconds == [1.0]
    assert stored(fhir_server, content) == 1


def refused_by(change: Callable[[dict[str, Any]], None], content: bytes) -> bytes:
    data = json.loads(content)
    change(data)
    return json.dumps(data).encode()


def test_what_the_server_refuses(fhir_server: str, tmp_path: Path) -> None:
    """A reference to what is in no bundle and not on the server: HAPI holds to referential integrity."""
    from bridge.deliver.server import Clock, Delivery, Receipt, SignIn, Way, Wire
    from bridge.practice.endpoints import Endpoint

    def elsewhere(data: dict[str, Any]) -> None:
        data["entry"][6]["resource"]["subject"] = {"reference": "Patient/nobody-Tarnwick"}

    content = refused_by(elsewhere, fresh("transaction", "M26-0112"))
    endpoint = Endpoint.model_validate(there(fhir_server, **NEXT))
    wire, kept = Wire(Way(endpoint.may_go)), list[str]()
    receipt = Receipt("", "", "transaction", "there", fhir_server)
    delivery = Delivery(endpoint, wire, SignIn(endpoint, None, wire), lambda r: kept.append(r.verdict), Clock())
    done = delivery.bring(json.loads(content), content, receipt)
    assert (done.why, done.status // 100, receipt.verdict) == ("refused", 4, "refused")
    assert kept[0] == "in doubt"
    assert "Tarnwick" not in f"{done}{receipt}"
    assert stored_entries(fhir_server, content)[5] == 0


def test_another_document_under_the_same_number(fhir_server: str, tmp_path: Path) -> None:
    own = f"T-{uuid4().hex[:8]}"
    first = as_bytes(made("M26-0101", "summary", {"number": own}))
    other = as_bytes(made("M26-0101", "summary", {"number": own, "source_sha256": "0" * 64}))
    folder = practice_folder(tmp_path, there(fhir_server))
    assert sender(folder, "there").send(put_down(tmp_path, first), first).state == "accepted"
    by_receipt = sender(folder, "there").send(put_down(tmp_path, other), other)
    assert (by_receipt.state, [i.rule for i in by_receipt.issues]) == ("held back", ["D212"])
    (tmp_path / "M.there.receipt.json").unlink()
    by_server = sender(folder, "there").send(put_down(tmp_path, other), other)
    assert (by_server.state, [i.rule for i in by_server.issues]) == ("refused", ["D212"])
    assert stored(fhir_server, first) == 1


def test_nothing_leaves_without_consent(fhir_server: str, tmp_path: Path) -> None:
    content = fresh(sharing={"status": "withdrawn", "withdrawn_at": "2026-11-01"})
    with losing_proxy(fhir_server, lambda method, n: "") as (address, seen):
        folder = practice_folder(tmp_path, there(address))
        sent = sender(folder, "there").send(put_down(tmp_path, content), content)
    assert (sent.state, [i.rule for i in sent.issues]) == ("held back", ["D205"])
    assert seen == []


def test_the_receipt(fhir_server: str, tmp_path: Path) -> None:
    content = fresh()
    folder, receipts = practice_folder(tmp_path / "p", there(fhir_server)), tmp_path / "receipts"
    sent = sender(folder, "there", receipts=receipts).send(put_down(tmp_path, content), content)
    assert sent.receipt == receipts / "M.there.receipt.json"
    told = sent.receipt.read_text(encoding="utf-8")
    if os.name == "posix":
        assert stat.S_IMODE(sent.receipt.stat().st_mode) == 0o600
    said = json.loads(told)
    assert (said["verdict"], said["endpoint"], said["organisation"]) == ("accepted", "there", "Z99901")
    assert [t["did"] for t in said["tries"]] == ["asked", "sent"]
    assert said["tries"][1]["status"] == 201
    client = next(e["resource"] for e in json.loads(content)["entry"] if e["resource"]["resourceType"] == "Patient")
    words = [client["name"][0]["family"], client["birthDate"], *(i["value"] for i in client["identifier"])]
    assert [word for word in words if word in told] == []
