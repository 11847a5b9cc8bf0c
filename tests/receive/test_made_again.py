"""What somebody changed in a document of ours is told, wherever it stands; of what nobody changed nothing is told.

`VISIT_BRIDGE_MANY=2000 python -m pytest tests/receive/test_made_again.py` runs the full count.
"""

from __future__ import annotations

import json
import os
import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from bridge.fhir.write_json import dumps
from bridge.received import check_received
from bridge.taken_over import Arrived, arrived
from tests.receive.of_ours import document, other_bundle, written

ROOT = Path(__file__).parents[2]
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "40"))
CHANGES = MANY
Json = dict[str, Any]


def taken(content: bytes) -> Arrived:
    data, issues = check_received(content, "in.json")
    return arrived(data, "in.json", issues)


def told(result: Arrived) -> list[str]:
    return [f"{i.where.path}: {i.message}" for i in result.issues if i.rule in ("X184", "X186")]


@pytest.mark.parametrize("make", [document, other_bundle])
def test_of_what_nobody_changed_nothing_is_told(make: Callable[[int], Json]) -> None:
    for seed in range(MANY):
        result = taken(written(make(seed), seed))
        assert len(result.visits) == 1, f"seed {seed}"
        assert (told(result), result.kept, result.account) == ([], [], []), f"seed {seed}"


def demo(name: str) -> Json:
    data: Json = json.loads((ROOT / f"demo_bundles/{name}.bundle.json").read_bytes())
    return data


def of_type(data: Json, type: str) -> tuple[int, Json]:
    return next((n, e["resource"]) for n, e in enumerate(data["entry"]) if e["resource"]["resourceType"] == type)


def section(data: Json, key: str) -> Json:
    found = (s for s in data["entry"][0]["resource"]["section"] if f"section-{key}" in json.dumps(s["code"]))
    return next(found)


def swap(one: Json, key: str, before: str, after: str) -> None:
    assert before in one[key]
    one[key] = one[key].replace(before, after)


FRAME: dict[str, tuple[str, str, Callable[[Json], object]]] = {
    "title": ("M26-0110", "Composition", lambda d: d["entry"][0]["resource"].update(title="Referral letter")),
    "date": ("M26-0110", "Composition", lambda d: swap(d["entry"][0]["resource"], "date", "2026-", "2025-")),
    "section's title": ("M26-0110", "Composition", lambda d: section(d, "allergies").update(title="No allergies")),
    "section's text": (
        "M26-0110", "Composition", lambda d: swap(section(d, "author")["text"], "div", "</p>", " and others</p>")
    ),
    "section gone": (
        "M26-0101-v2", "Composition",
        lambda d: d["entry"][0]["resource"]["section"].remove(section(d, "changes")),
    ),
    "what changed": (
        "M26-0101-v2", "Composition",
        lambda d: swap(section(d, "changes")["text"], "div", "Now said: ", "Now said: a "),
    ),
    "red flag": (
        "M26-0130", "Composition", lambda d: swap(section(d, "alert")["text"], "div", "24 hours", "24 days")
    ),
    "when to be seen": (
        "M26-0130", "Composition", lambda d: swap(section(d, "alert")["text"], "div", "10 November", "20 November")
    ),
    "kept back": (
        "M26-0101-v2", "Composition", lambda d: swap(section(d, "kept")["text"], "div", "instruments", "everybody")
    ),
    "recorded": ("M26-0110", "Provenance", lambda d: swap(of_type(d, "Provenance")[1], "recorded", "2026-", "2025-")),
    "agent": (
        "M26-0110", "Provenance",
        lambda d: of_type(d, "Provenance")[1]["agent"][0]["type"]["coding"][0].update(display="Witness"),
    ),
    "name in one line": (
        "M26-0110", "Practitioner", lambda d: of_type(d, "Practitioner")[1]["name"][0].update(text="Dr Somebody Else")
    ),
    "practitioner's text": (
        "M26-0110", "Practitioner", lambda d: swap(of_type(d, "Practitioner")[1]["text"], "div", "<p>", "<p>Not ")
    ),
    "clinic's text": (
        "M26-0110",
        "Organization",
        lambda d: swap(of_type(d, "Organization")[1]["text"], "div", "<p>", "<p>Not "),
    ),
    "of whom it is": ("M26-0110", "Observation", lambda d: of_type(d, "Observation")[1].pop("subject")),
    "at which visit": ("M26-0110", "Observation", lambda d: of_type(d, "Observation")[1].pop("encounter")),
    "who holds the letter": ("M26-0110", "Composition", lambda d: of_type(d, "Composition")[1].pop("custodian")),
    "why it was done": (
        "M26-0110",
        "Procedure",
        lambda d: of_type(d, "Procedure")[1].update(
            reasonReference=[{"reference": d["entry"][of_type(d, "Observation")[0]]["fullUrl"]}]
        ),
    ),
    "what a section lists": ("M26-0110", "Composition", lambda d: section(d, "author")["entry"].pop()),
    "what the record covers": ("M26-0110", "Provenance", lambda d: of_type(d, "Provenance")[1]["target"].pop()),
    "the system of our own codes": (
        "M26-0110", "Composition",
        lambda d: swap(section(d, "allergies")["code"]["coding"][-1], "system", "2.25.3", "2.25.4"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", FRAME)
def test_a_changed_frame_is_told_and_kept(what: str) -> None:
    name, type, change = FRAME[what]
    data = demo(name)
    change(data)
    number, resource = of_type(data, type)
    result = taken(dumps(data))
    place = f"Bundle.entry[{number}].resource"
    assert len(result.visits) == 1
    assert [line.partition(": ")[0] for line in told(result)] == [place]
    assert [e["resource"] for _, bundle in result.kept for e in bundle["entry"]] == [resource]
    assert [line.path for line in result.account] == [place]


def test_of_several_visits_the_changed_one_alone_is_told() -> None:
    both = {e["fullUrl"]: e for n in ("M26-0110", "M26-0128", "M26-0129") for e in demo(n)["entry"]}
    data: Json = {"resourceType": "Bundle", "type": "collection", "entry": list(both.values())}
    whole = taken(dumps(data))
    assert (len(whole.visits), told(whole), whole.kept) == (3, [], [])
    number = max(n for n, e in enumerate(data["entry"]) if e["resource"]["resourceType"] == "Encounter")
    swap(data["entry"][number]["resource"]["text"], "div", "<p>", "<p>Not ")
    assert [line.partition(": ")[0] for line in told(taken(dumps(data)))] == [f"Bundle.entry[{number}].resource"]


def test_what_a_document_says_of_itself_is_told() -> None:
    data = demo("M26-0110")
    swap(data, "timestamp", "2026-", "2025-")
    result = taken(dumps(data))
    assert told(result) == ["Bundle: What this document says of itself is not what the visit says."]
    assert [(line.path, line.elements) for line in result.account] == [("Bundle", ("timestamp",))]


def test_another_edition_is_named_as_the_reason() -> None:
    data = demo("M26-0110")
    number = next(n for n, e in enumerate(data["entry"]) if "visit-bridge" in str(e["resource"].get("deviceName")))
    data["entry"][number]["resource"]["version"][0]["value"] = "99.0"
    (said,) = told(taken(dumps(data)))
    assert said.startswith(f"Bundle.entry[{number}].resource: This document names another edition of visit-bridge")


def test_what_is_missing_is_named_by_its_place() -> None:
    data = demo("M26-0110")
    number, one = of_type(data, "Practitioner")
    del one["name"][0]["text"]
    says = "This Practitioner lacks what visit-bridge writes for such a visit: name.text."
    assert told(taken(dumps(data))) == [f"Bundle.entry[{number}].resource: {says}"]


def leaves(node: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Texts and codes; addresses of resources are the check's own, and what they claim is filing."""
    if isinstance(node, dict):
        for key, value in node.items():
            if key not in ("id", "reference", "fullUrl", "meta", "resourceType", "request"):
                yield from leaves(value, (*path, key))
    elif isinstance(node, list):
        for at, value in enumerate(node):
            yield from leaves(value, (*path, at))
    elif isinstance(node, str):
        yield path, node


def otherwise(value: str, rng: random.Random) -> str:
    if value.startswith("<div"):
        words = [
            m for m in re.finditer(r"\w+", value) if value.rfind(">", 0, m.start()) > value.rfind("<", 0, m.start())
        ]
        words = [m for m in words if "&" not in value[max(0, m.start() - 2) : m.start()]]
        one = rng.choice(words)
        return f"{value[: one.start()]}zyxwv{value[one.end() :]}"
    if re.match(r"\d{4}-\d\d-\d\d", value):
        return f"{value[:8]}{'11' if value[8:10] != '11' else '12'}{value[10:]}"
    return rng.choice((f"{value}x", "zyxwv", value[::-1] if value[::-1] != value else "zyxwv"))


@pytest.mark.parametrize("gone", [False, True], ids=["changed", "taken away"])
def test_one_text_or_code_that_is_changed_is_in_the_visit_or_told(gone: bool) -> None:
    """Whatever is not told is refused, read as another system's, or what the visit now says."""
    names = [p.name.removesuffix(".bundle.json") for p in sorted((ROOT / "demo_bundles").glob("*.bundle.json"))]
    taken_over = 0
    for seed in range(CHANGES):
        rng = random.Random(seed)
        make = rng.choice((document, other_bundle, None))
        data = make(seed) if make else demo(rng.choice(names))
        before = taken(dumps(data)).visits
        path, value = rng.choice(list(leaves(data)))
        node: Any = data
        for step in path[:-1]:
            node = node[step]
        if gone:
            del node[path[-1]]
        else:
            node[path[-1]] = otherwise(value, rng)
        result = taken(dumps(data))
        if any(i.rule == "X178" for i in result.issues) or not result.visits:
            continue
        taken_over += 1
        assert told(result) or result.visits != before, f"seed {seed}: {path}"
    assert taken_over > CHANGES / 3


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("182764009", "80602006"),
        ("182764009", "441509002"),
        ("caution-anticoagulant", "caution-pacemaker"),
    ],
)
def test_a_code_that_was_swapped_is_told(before: str, after: str) -> None:
    """Words, code and name are taken over as they came, so nothing else shows that they do not belong together."""
    data = demo("M26-0118")
    number, flag = of_type(data, "Flag")
    data["entry"][number]["resource"] = json.loads(json.dumps(flag).replace(f'"{before}"', f'"{after}"'))
    [said] = told(result := taken(dumps(data)))
    assert said == f"Bundle.entry[{number}].resource: In this Flag a code does not have the name that stands beside it."
    assert any(line.path == f"Bundle.entry[{number}].resource" and line.elements for line in result.account)


def test_every_code_that_becomes_its_neighbour_is_told() -> None:
    """Each becomes another one of its system in the same document; X178: by that it is no document of ours any more."""
    data = demo("M26-0110")
    codings = [c for e in data["entry"] for c in _codings(e["resource"]) if c.get("display")]
    assert len(codings) > 100
    for one in codings[::4]:
        other = next((c for c in codings if c["system"] == one["system"] and c["code"] != one["code"]), None)
        if other is None:
            continue
        kept, one["code"] = one["code"], other["code"]
        result = taken(dumps(data))
        one["code"] = kept
        rules = {i.rule for i in result.issues}
        assert not result.visits or rules & {"X178", "X186"}, f"{kept} became {other['code']}"


def _codings(value: Any) -> Iterator[Json]:
    if isinstance(value, dict):
        if {"system", "code"} <= value.keys():
            yield value
        for inner in value.values():
            yield from _codings(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _codings(inner)
