"""The tables of `mappings/cda/entries*.csv` hold together with the standards that they speak of."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from lxml import etree

from bridge.cda.entries.places import place_of
from bridge.cda.entries.tables import UNKNOWN, element_at, rows_of, statuses
from bridge.data import load_csv, table_path
from bridge.fhir import tables
from tests.cda.documents import DEMO, bundle_at
from tests.cda.entries.some import IN_HEADER
from tests.standards import standard_json, standards_file

XS = "{http://www.w3.org/2001/XMLSchema}"


def rows(name: str) -> list[dict[str, str]]:
    return list(load_csv(table_path("cda", name)))


@cache
def vocabulary(name: str) -> frozenset[str]:
    """The codes of a domain of HL7's voc.xsd."""
    root = etree.parse(str(standards_file("cda/normative/processable/coreschemas/voc.xsd"))).getroot()
    types = {place.get("name"): place for place in root.iter(f"{XS}simpleType")}

    def codes(name: str) -> set[str]:
        members = (m for union in types[name].iter(f"{XS}union") for m in (union.get("memberTypes") or "").split())
        own = {place.get("value") for place in types[name].iter(f"{XS}enumeration")}
        return own.union(*map(codes, members))

    return frozenset(codes(name))


@cache
def v3(name: str) -> frozenset[str]:
    """The codes of a system of HL7 V3, as FHIR R4 publishes them."""
    for entry in standard_json("fhir-r4/v3-codesystems.json.gz")["entry"]:
        if entry["resource"]["id"] == f"v3-{name}" and "concept" in entry["resource"]:
            return frozenset(_codes(entry["resource"]["concept"]))
    raise LookupError(name)


def _codes(concepts: Any) -> set[str]:
    return {c["code"] for c in concepts}.union(*(_codes(c.get("concept", ())) for c in concepts))


def test_every_type_has_an_act_of_the_schema() -> None:
    moods = {
        "act": "x_DocumentActMood",
        "observation": "x_ActMoodDocumentObservation",
        "procedure": "x_DocumentProcedureMood",
        "substanceAdministration": "x_DocumentSubstanceMood",
        "supply": "x_DocumentSubstanceMood",
        "encounter": "x_DocumentEncounterMood",
        "organizer": "ActMood",
    }
    kinds = {row["type"]: row for row in rows("entries.csv")}
    for row in kinds.values():
        assert row["mood"] in vocabulary(moods[row["element"]]), row
        assert row["class"] in vocabulary("ActClass"), row
        assert row["code"] in {"", *v3("ActCode")}, row
        assert tables.knows(row["type"]), row
    for row in rows("entries-status.csv"):
        assert row["mood"] in {"", *vocabulary(moods[kinds[row["type"]]["element"]])}, row


def test_each_row_names_an_element_of_the_standard_and_a_place_and_a_link_of_cda() -> None:
    types = {row["type"] for row in rows("entries-elements.csv")}
    assert types == {row["type"] for row in rows("entries.csv")}
    for type in sorted(types):
        assert len({row.path for row in rows_of(type)}) == len(rows_of(type)), type
        for row in rows_of(type):
            assert row.element or any(e.choice == f"{row.path}[x]" for e in tables.elements(type).values()), row
            assert row.place == "nested" or place_of(row), row
            relations, parts = vocabulary("x_ActRelationshipEntryRelationship"), vocabulary("ParticipationType")
            assert row.link in {"", *relations, *parts}, row
            if row.place in ("related", "nested", "context encounter"):
                assert row.link in relations, row


def test_each_status_is_a_code_of_its_element_and_of_act_status() -> None:
    for row in rows("entries-status.csv"):
        element = element_at(row["type"], row["element"])
        assert element is not None, row
        assert row["value"] in (tables.plain_codes(element.codes) or ()), row
        assert row["status"] in {"", UNKNOWN, *v3("ActStatus")}, row
        assert bool(row["status"]) != (row["element"] == "intent"), row
        assert row["negated"] in ("", "yes"), row


def test_a_status_that_is_negated_is_one_that_never_took_place() -> None:
    negated = {(row["type"], row["value"]): row["status"] for row in rows("entries-status.csv") if row["negated"]}
    assert set(negated.values()) == {"cancelled"}


@pytest.mark.parametrize("group", ["priority", "agent", "role"])
def test_codes_of_v3_are_published(group: str) -> None:
    known = {
        "priority": v3("ActPriority"),
        "agent": vocabulary("ParticipationType"),
        "role": vocabulary("x_ActRelationshipExternalReference"),
    }[group]
    found = [row for row in rows("entries-codes.csv") if row["group"] == group]
    assert {row["cda"] for row in found} <= known
    assert len({row["fhir"] for row in found}) == len(found)


def test_the_acts_of_all_types_that_our_documents_hold_are_in_the_table() -> None:
    held = {e["resource"]["resourceType"] for path in DEMO for e in bundle_at(path)["entry"]}
    assert held - IN_HEADER <= {row["type"] for row in rows("entries.csv")}


def test_statuses_of_one_type_are_told_apart_or_the_commonest_comes_first() -> None:
    assert next(row.value for row in statuses("Observation")["status"] if row.code == "completed") == "final"
    assert next(row.value for row in statuses("Task")["status"] if row.code == "active") == "requested"
