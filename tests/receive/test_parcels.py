"""Visits from search results, collections, transactions and NDJSON, as a server or a careless hand gives them back.

Oracle: the visit that was sent. How a server changes what it is sent (new ids, references of its own, any order,
meta, an OperationOutcome beside the matches) is told by https://hl7.org/fhir/R4/http.html and search.html.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

import pytest

from bridge.build import build_collection, build_document, build_transaction
from bridge.check import check_bundle
from bridge.fhir.ndjson import at_line, dump_lines, read_received
from bridge.fhir.write_json import dumps
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from tests import generate
from tests.test_round_trip import NAMESPACE, ZONE

Json = dict[str, Any]
BUILD: dict[str, Callable[..., Json]] = {"transaction": build_transaction, "collection": build_collection}


def visit(seed: int) -> Visit:
    return generate.visit(random.Random(seed), fill=0.6)


def stored(bundle: Json, rng: random.Random, base: str = "https://fhir.example.org/r4/") -> list[Json]:
    """The entries that a server would find later: its own ids, its own references, in any order."""
    told = json.loads(dumps(bundle))["entry"]
    names = {e["fullUrl"]: f"{e['resource']['resourceType']}/{n}" for n, e in enumerate(told, rng.randrange(10**6))}
    found = []
    for entry in told:
        text = json.dumps(entry["resource"])
        for url, name in names.items():
            text = text.replace(f'"{url}"', f'"{rng.choice(("", base))}{name}"')
        resource = {**json.loads(text), "id": names[entry["fullUrl"]].rpartition("/")[2]}
        resource["meta"] = {"versionId": "1", "lastUpdated": "2026-11-04T08:00:00Z"}
        url = f"{base}{names[entry['fullUrl']]}"
        found.append({"fullUrl": url, "resource": resource, "search": {"mode": "match"}})
    rng.shuffle(found)
    return found


def searchset(*entries: Json) -> Json:
    return {"resourceType": "Bundle", "type": "searchset", "total": len(entries), "entry": list(entries)}


@pytest.mark.parametrize("kind", BUILD)
@pytest.mark.parametrize("seed", range(15))
def test_what_a_server_gives_back_is_the_visit_that_was_sent(kind: str, seed: int) -> None:
    sent = visit(seed)
    found = searchset(*stored(BUILD[kind](sent, NAMESPACE, ZONE), random.Random(seed)))
    assert bundle_to_visits(found) == ([sent], [])
    assert [i for i in check_bundle(found) if i.severity >= Severity.error] == []


def test_two_visits_of_one_search_come_back_apart() -> None:
    rng = random.Random(1)
    sent = [visit(3), visit(4)]
    entries = [stored(build_collection(v, NAMESPACE, ZONE), rng) for v in sent]
    visits, issues = bundle_to_visits(searchset(*entries[0], *entries[1]))
    assert issues == []
    assert sorted(visits, key=lambda v: v.number) == sorted(sent, key=lambda v: v.number)


def test_what_a_server_says_of_its_search_is_no_loss() -> None:
    sent = visit(5)
    outcome = {"resourceType": "OperationOutcome", "issue": [{"severity": "warning", "code": "not-supported"}]}
    entries = stored(build_collection(sent, NAMESPACE, ZONE), random.Random(5))
    told = {"fullUrl": "https://fhir.example.org/r4/OperationOutcome/1", "resource": outcome}
    assert bundle_to_visits(searchset(*entries, {**told, "search": {"mode": "outcome"}})) == ([sent], [])
    _, issues = bundle_to_visits(searchset(*entries, told))
    assert [i.rule for i in issues] == ["X104"]


def test_a_fact_about_another_client_is_refused() -> None:
    bundle = build_collection(visit(6), NAMESPACE, ZONE)
    number, resource = next((n, e["resource"]) for n, e in enumerate(bundle["entry"]) if "subject" in e["resource"])
    resource["subject"] = {"reference": "urn:uuid:00000000-0000-4000-8000-000000000001"}
    visits, issues = bundle_to_visits(bundle)
    assert visits == []
    assert ("X110", f"Bundle.entry[{number}].resource.subject") in {(i.rule, i.where.path) for i in issues}


def test_a_document_of_another_version_than_its_record_is_refused() -> None:
    bundle = build_document(visit(7), NAMESPACE, ZONE)
    bundle["identifier"]["value"] = "summary/x/99"
    assert [i.rule for i in bundle_to_visits(bundle)[1]] == ["X102"]


@pytest.mark.parametrize("seed", range(10))
def test_each_line_stands_alone(seed: int) -> None:
    """Judged by the standard library alone."""
    content = dump_lines(build_collection(visit(seed), NAMESPACE, ZONE))
    assert content.endswith(b"\n")
    assert b"\r" not in content
    resources = [json.loads(line) for line in content.decode("utf-8").splitlines()]
    names = {f"{r['resourceType']}/{r['id']}" for r in resources}
    assert len(names) == len(resources)
    assert "Composition" not in {r["resourceType"] for r in resources}

    def references(node: Any) -> set[str]:
        if isinstance(node, list):
            return {r for item in node for r in references(item)}
        if not isinstance(node, dict):
            return set()
        own = {node["reference"]} if isinstance(node.get("reference"), str) else set()
        return own | {r for item in node.values() for r in references(item)}

    assert {r for r in references(resources) if not r.startswith("#")} <= names


def test_two_files_one_after_the_other_are_two_visits() -> None:
    """Of one client: the lines that both files have in common are read once."""
    sent = [visit(8), visit(8).model_copy(update={"number": "V-next", "note": "seen again"})]
    files = [dump_lines(build_collection(v, NAMESPACE, ZONE)) for v in sent]
    data, issues = read_received(b"".join(files))
    assert issues == []
    assert len(data["entry"]) < sum(len(f.splitlines()) for f in files)
    assert bundle_to_visits(data) == (sent, [])


def test_a_broken_line_is_named_and_stops_no_other() -> None:
    lines = dump_lines(build_collection(visit(10), NAMESPACE, ZONE)).splitlines(keepends=True)
    wrong = json.loads(lines[2])
    wrong["unheard"] = True
    content = b"".join([lines[0], lines[1][:-5] + b"\n", b"\n", json.dumps(wrong).encode() + b"\n", *lines[3:]])
    data, issues = read_received(content, "visit.ndjson")
    found = [*issues, *at_line(data, check_bundle(data))]
    assert [(i.rule, i.where.row) for i in issues] == [("S122", 2)]
    unknown = next(i for i in found if i.rule == "S102")
    assert (unknown.where.row, unknown.where.path) == (4, f"{wrong['resourceType']}.unheard")
    assert len(data["entry"]) == len(lines) - 1


@pytest.mark.parametrize("content", [b"", b"\n \n", b"{", b"[]\n[]\n", b"{}\n{}\n", b'{"a":1}\n\xff\n{"b":2}\n'])
def test_any_lines_are_told_and_never_raise(content: bytes) -> None:
    data, issues = read_received(content, "in.ndjson")
    assert issues or list(at_line(data, check_bundle(data)))
