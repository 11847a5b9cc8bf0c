"""Data and definitions that together ask for more than anybody looks at: it ends, and what was not decided is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest

from bridge.check.look import numbered
from bridge.check.profiles import check_profiles, run
from bridge.check.profiles.asked import asked_for
from bridge.issues import Issue, Severity
from tests.check.profiles.corpus import HOME, Json, address, definition

URL = f"{HOME}/StructureDefinition/"


def sd(name: str, *elements: Json, of: str = "Patient") -> Json:
    made: Json = address(definition({"sd": name, "of": of, "elements": list(elements)}))
    return made


def held(data: Json, definitions: list[Json], profiles: tuple[str, ...] = ()) -> list[Issue]:
    return check_profiles(address(data), data["resourceType"], asked_for(profiles, definitions))


def linked(count: int) -> Json:
    """A bundle of patients each of whom leads to the next, and the last to the first."""
    entries = [
        {
            "fullUrl": f"http://example.org/Patient/{n}",
            "resource": {
                "resourceType": "Patient",
                "id": str(n),
                "meta": {"profile": [f"{URL}A"]},
                "link": [{"other": {"reference": f"Patient/{(n + 1) % count}"}, "type": "seealso"}],
            },
        }
        for n in range(count)
    ]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries}


def test_a_long_chain_of_references_ends() -> None:
    profile = sd("A", {"id": "Patient.link.other", "to": ["@A"]})
    found = held(linked(400), [profile])
    assert {i.rule for i in found} == {"P143"}
    assert not held(linked(run.MAX_LED - 1), [profile])


def test_the_last_of_a_short_chain_is_looked_at() -> None:
    profile = sd(
        "A", {"id": "Patient.link.other", "to": ["@A"]}, {"id": "Patient.gender", "min": 1, "fixedCode": "male"}
    )
    data = linked(5)
    for entry in data["entry"][:4]:
        entry["resource"]["gender"] = "male"
    rules = Counter(i.rule for i in held(data, [profile]) if i.severity >= Severity.error)
    assert rules["P108"]


def test_all_that_is_contained_is_found_by_one_look(monkeypatch: pytest.MonkeyPatch) -> None:
    looks: list[str] = []

    def counted(owner: Any, name: str) -> Iterator[tuple[int, Json]]:
        looks.append(name)
        return numbered(owner, name)

    monkeypatch.setattr("bridge.check.profiles.context.numbered", counted)
    contained = [{"resourceType": "Organization", "id": f"o{n}", "name": "X"} for n in range(300)]
    data = {
        "resourceType": "Patient",
        "contained": contained,
        "generalPractitioner": [{"reference": f"#o{n}"} for n in range(300)],
    }
    profiles = [
        sd("A", {"id": "Patient.generalPractitioner", "to": ["@O"]}),
        sd("O", {"id": "Organization.name", "min": 1}, of="Organization"),
    ]
    assert not held(data, profiles, (f"{URL}A",))
    assert 0 < len(looks) < 10


def test_values_tried_against_slices_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "MAX_STEPS", (5_000, 0))
    by = {"discriminator": [{"type": "value", "path": "type"}], "rules": "open"}
    rows: list[Json] = [{"id": "Patient.identifier", "slicing": by}]
    for n in range(100):
        rows.append({"id": f"Patient.identifier:s{n}"})
        rows.append({"id": f"Patient.identifier:s{n}.type", "patternCodeableConcept": {"text": f"x{n}"}})
    data = {"resourceType": "Patient", "identifier": [{"type": {"text": "y"}}] * 100}
    assert [i.rule for i in held(data, [sd("A", *rows)], (f"{URL}A",))] == ["S117"]


def test_constraints_share_what_they_may_look_at(monkeypatch: pytest.MonkeyPatch) -> None:
    rule = ["x-1", "error", "%resource.name.where(family.exists()).count() > 0", "x"]
    data = {"resourceType": "Patient", "name": [{"family": "X"}] * 100}
    profile = sd("A", {"id": "Patient.name", "rule": [rule]})
    assert not held(data, [profile], (f"{URL}A",))
    monkeypatch.setattr(run, "MAX_WORK", (2_000, 0))
    found = held(data, [profile], (f"{URL}A",))
    assert {i.rule for i in found} == {"P132"}
    assert 0 < len(found) < 100
