"""A missing slice that is told by a profile: what keeps the one entry that may be meant out of it is told too."""

from __future__ import annotations

from typing import Any

from bridge import check_resource

HERE = "https://example.org/fhir/StructureDefinition/"
CORE = "http://hl7.org/fhir/StructureDefinition/"


def profile(name: str, type: str, *elements: dict[str, Any]) -> dict[str, Any]:
    return {
        "resourceType": "StructureDefinition", "url": HERE + name, "name": name, "status": "active", "kind": "resource",
        "abstract": False, "type": type, "baseDefinition": CORE + type, "derivation": "constraint",
        "differential": {"element": [{"id": e["path"], **e} for e in elements]},
    }  # fmt: skip


NAMED = profile("Named", "Patient", {"path": "Patient.name", "min": 1})
CLIENTS = profile(
    "Clients",
    "Bundle",
    {"path": "Bundle.entry", "slicing": {"discriminator": [{"type": "profile", "path": "resource"}], "rules": "open"}},
    {"id": "Bundle.entry:client", "path": "Bundle.entry", "sliceName": "client", "min": 1},
    {
        "id": "Bundle.entry:client.resource",
        "path": "Bundle.entry.resource",
        "min": 1,
        "type": [{"code": "Patient", "profile": [HERE + "Named"]}],
    },
)


def errors(*resources: dict[str, Any]) -> list[tuple[str, str]]:
    data = {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": one} for one in resources]}
    report = check_resource(data, profiles=[CLIENTS], definitions=[NAMED])
    return [(i.rule, i.where.path) for i in report.issues if i.severity.name == "error" and i.rule[0] == "P"]


def test_the_one_entry_of_the_type_is_told_why() -> None:
    nameless = {"resourceType": "Patient", "gender": "female"}
    device = {"resourceType": "Device"}
    assert errors(device, nameless) == [("P110", "Bundle"), ("P101", "Bundle.entry[1].resource")]


def test_nothing_is_told_of_entries_where_several_or_none_may_be_meant() -> None:
    nameless = {"resourceType": "Patient", "gender": "female"}
    assert errors(nameless, nameless) == [("P110", "Bundle")]
    assert errors({"resourceType": "Device"}) == [("P110", "Bundle")]


def test_nor_where_the_slice_is_there() -> None:
    nameless = {"resourceType": "Patient", "gender": "female"}
    assert errors({"resourceType": "Patient", "name": [{"text": "A"}]}, nameless) == []
