"""Documents of ours in which one thing is not as we write it: nothing strange becomes a finding, nothing is lost."""

from __future__ import annotations

import copy
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from bridge.data import load_csv, table_path
from bridge.received import check_received
from bridge.taken_over import Arrived, arrived
from bridge.visit import Visit
from tests.own_elements import COUNT, bundles, written

ROOT = Path(__file__).parents[2]
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "60"))
STRANGER = "urn:uuid:99999999-9999-4999-8999-999999999999"


def document(number: str = "M26-0110") -> dict[str, Any]:
    data: dict[str, Any] = json.loads((ROOT / f"demo_bundles/{number}.bundle.json").read_bytes())
    return data


def taken(data: dict[str, Any]) -> Arrived:
    read, issues = check_received(json.dumps(data).encode(), "in.json")
    return arrived(read, "in.json", issues)


def findings(data: dict[str, Any]) -> list[dict[str, Any]]:
    """Observations of an ear, with words of their own."""
    resources = [e["resource"] for e in data["entry"]]
    return [
        r for r in resources if r["resourceType"] == "Observation" and "bodySite" in r and "valueCodeableConcept" in r
    ]


def another_client(data: dict[str, Any], one: dict[str, Any]) -> None:
    data["entry"].append(
        {
            "fullUrl": STRANGER,
            "resource": {"resourceType": "Patient", "id": STRANGER[9:], "name": [{"family": "Elder"}]},
        }
    )
    one["subject"] = {"reference": STRANGER}


def in_error(data: dict[str, Any], one: dict[str, Any]) -> None:
    one["status"] = "entered-in-error"


def modified(data: dict[str, Any], one: dict[str, Any]) -> None:
    one["modifierExtension"] = [{"url": "https://example.org/negated", "valueBoolean": True}]


def no_side(data: dict[str, Any], one: dict[str, Any]) -> None:
    del one["bodySite"]


def words(visit: Visit) -> str:
    return visit.model_dump_json(exclude={"source_sha256", "number"})


@pytest.mark.parametrize("change", [another_client, in_error, modified, no_side], ids=lambda f: f.__name__)
def test_what_is_strange_is_kept_and_is_no_finding(change: Callable[[dict[str, Any], dict[str, Any]], None]) -> None:
    number = len(findings(document()))
    assert number > 3
    for at in range(number):
        data = document()
        one = findings(data)[at]
        one["valueCodeableConcept"] = {"text": "zyxwv"}
        change(data, one)
        sent = copy.deepcopy(one)
        result = taken(data)
        assert all("zyxwv" not in words(v) for v in result.visits)
        kept = [e["resource"] for _, bundle in result.kept for e in bundle["entry"]]
        assert sent in kept
        lines = [
            line
            for line in result.account
            if line.type == "Observation" and "valueCodeableConcept.text" in line.elements
        ]
        assert lines != []


def test_every_resource_of_a_document_that_is_not_wholly_ours_is_accounted_for() -> None:
    data = document()
    in_error(data, findings(data)[0])
    result = taken(data)
    named = {line.path for line in result.account}
    assert {f"Bundle.entry[{n}].resource" for n in range(len(data["entry"]))} <= named
    kept = [e["resource"] for _, bundle in result.kept for e in bundle["entry"]]
    for number, entry in enumerate(data["entry"]):
        line = next(line for line in result.account if line.path == f"Bundle.entry[{number}].resource")
        assert line.state == "in the visit" or entry["resource"] in kept, line


ADDED: dict[str, Callable[[dict[str, Any]], object]] = {
    "Patient": lambda r: r.update(maritalStatus={"text": "zyxwv"}),
    "Observation": lambda r: r.update(interpretation=[{"text": "zyxwv"}]),
    "Procedure": lambda r: r.update(complicationDetail=[{"display": "zyxwv"}]),
    "Encounter": lambda r: r.update(extension=[{"url": "https://example.org/x", "valueString": "zyxwv"}]),
    "Organization": lambda r: r.update(alias=["zyxwv"]),
}


@pytest.mark.parametrize("type", ADDED)
def test_what_others_added_is_kept_beside_the_visit(type: str) -> None:
    data = document()
    one = next(e["resource"] for e in data["entry"] if e["resource"]["resourceType"] == type)
    ADDED[type](one)
    result, plain = taken(data), taken(document())
    assert result.visits == plain.visits
    assert (plain.kept, plain.account) == ([], [])
    assert [(places, [e["resource"] for e in bundle["entry"]]) for places, bundle in result.kept] == [((0,), [one])]
    (line,) = result.account
    assert (line.type, line.state, line.visit) == (type, "in part", result.visits[0].number)
    assert any(
        part in path for path in line.elements for part in ("marital", "interpret", "complic", "extension", "alias")
    )
    assert "X184" in {i.rule for i in result.issues}


def test_of_generated_documents_of_ours_nothing_is_taken_for_added() -> None:
    """Other seeds than those that the table was made of."""
    assert written(bundles(range(COUNT, COUNT + MANY))) - written_in_table() == set()


def written_in_table() -> set[tuple[str, str]]:
    return {(row["type"], row["place"]) for row in load_csv(table_path("own-elements.csv"))}


def test_what_is_kept_of_two_clients_is_kept_apart() -> None:
    both = {e["fullUrl"]: e for n in ("M26-0110", "M26-0128") for e in document(n)["entry"]}
    data: dict[str, Any] = {"resourceType": "Bundle", "type": "collection", "entry": list(both.values())}
    for each in findings(data):
        each["interpretation"] = [{"text": "something else"}]
    in_error(data, findings(data)[0])
    result = taken(data)
    patients = {e["fullUrl"] for e in data["entry"] if e["resource"]["resourceType"] == "Patient"}
    assert len(patients) == 2
    groups = [{p for p in patients if p in json.dumps(bundle)} for places, bundle in result.kept if places]
    assert groups != []
    assert all(len(group) <= 1 for group in groups)


CHANGED: dict[str, tuple[str, Callable[[dict[str, Any]], bool]]] = {
    "advice": ("Communication", lambda r: _put(r, "payload", 0, "contentString", text="do not keep dry")),
    "side in words": ("Observation", lambda r: _put(r, "bodySite", "text", text="zyxwv")),
    "code": ("Observation", lambda r: _put(r, "component", 0, "code", "coding", 0, "code", text="zyxwv")),
    "instrument": ("Procedure", lambda r: _put(r, "usedCode", 0, "text", text="zyxwv")),
}


def _put(resource: dict[str, Any], *path: str | int, text: str) -> bool:
    """Whether there was something at the path to be changed."""
    node: Any = resource
    try:
        for step in path[:-1]:
            node = node[step]
        node[path[-1]]  # raises where it is not there
    except (KeyError, IndexError):
        return False
    node[path[-1]] = text
    return True


@pytest.mark.parametrize("what", CHANGED)
def test_what_others_changed_is_kept_beside_the_visit_and_told(what: str) -> None:
    data = document()
    type, change = CHANGED[what]
    number = next(
        n for n, e in enumerate(data["entry"]) if e["resource"]["resourceType"] == type and change(e["resource"])
    )
    result = taken(data)
    assert len(result.visits) == 1
    kept = [e["resource"] for _, bundle in result.kept for e in bundle["entry"]]
    assert data["entry"][number]["resource"] in kept
    told = [i.where.path for i in result.issues if i.rule == "X186"]
    assert f"Bundle.entry[{number}].resource" in told
    assert {"Bundle.entry[0].resource", f"Bundle.entry[{number}].resource"} >= set(told), (
        "the letter's own text at most"
    )
    assert [line.path for line in result.account] == told


@pytest.mark.parametrize("name", ["M26-0101", "M26-0127", "M26-0127.referral", "transactions/M26-0129.transaction"])
def test_of_what_nobody_changed_nothing_is_told(name: str) -> None:
    result = taken(document(name))
    assert [i for i in result.issues if i.rule in ("X184", "X186")] == []
    assert (result.kept, result.account) == ([], [])
