"""The tables of CDA, held against what HL7 publishes."""

from __future__ import annotations

import re
from typing import Any

from lxml import etree

from bridge.cda.header import CONFIDENTIALITY, FUNCTIONS, RELATED
from bridge.cda.people import GENDER_SYSTEM, GENDERS, UNTRACED_ROOT
from bridge.data import load_csv, table_path
from bridge.fhir.systems import systems
from tests.standards import standard_json, standards_file

ROWS = list(load_csv(table_path("cda", "oids.csv")))
FLAVORS = list(load_csv(table_path("cda", "null-flavors.csv")))
VOCABULARY = "cda/normative/processable/coreschemas/voc.xsd"
FILES = ("valuesets.json", "v2-tables.json", "v3-codesystems.json")


def code_systems() -> dict[str, Any]:
    """The code systems of FHIR R4 by their address."""
    found = {}
    for name in FILES:
        for entry in standard_json(f"fhir-r4/{name}.gz")["entry"]:
            if entry["resource"]["resourceType"] == "CodeSystem":
                found.setdefault(entry["resource"]["url"], entry["resource"])
    return found


def oid(resource: Any) -> str:
    numbers = resource.get("identifier") or []
    values = [i["value"] for i in (numbers if isinstance(numbers, list) else [numbers])]
    return next((v.removeprefix("urn:oid:") for v in values if v.startswith("urn:oid:")), "")


def test_an_oid_that_r4_states_is_the_one_that_it_states() -> None:
    published, checked = code_systems(), 0
    for row in ROWS:
        if row["uri"] in published and oid(published[row["uri"]]):
            assert row["oid"] == oid(published[row["uri"]]), row["name"]
            checked += 1
        assert (".json" in row["source"]) <= bool(row["uri"] in published), row["name"]
    assert checked > 30


def test_each_system_that_r4_gives_an_oid_has_it_here() -> None:
    published, here = code_systems(), {row["uri"] for row in ROWS}
    ours = {uri for uri in systems().values() if uri in published and oid(published[uri])}
    assert ours - here == set()


def test_each_oid_stands_once_and_each_system_is_written_by_one() -> None:
    assert len({row["oid"] for row in ROWS}) == len(ROWS)
    written = [row["uri"] for row in ROWS if not row["only"]]
    assert len(set(written)) == len(written)
    assert all(re.fullmatch(r"[0-2](\.(0|[1-9]\d*))+", row["oid"]) and row["source"] for row in ROWS)
    assert UNTRACED_ROOT in {row["oid"] for row in ROWS if row["only"] == "read"}


def test_every_reason_that_r4_has_is_told_apart_from_an_answer() -> None:
    published = code_systems()
    for name in ("data-absent-reason", "list-empty-reason"):
        codes = set[str]()

        def collect(concepts: Any, codes: set[str] = codes) -> None:
            for concept in concepts:
                codes.add(concept["code"])
                collect(concept.get("concept", ()))

        collect(published[systems()[name]]["concept"])
        assert {row["code"] for row in FLAVORS if row["system"] == name} == codes
    assert [row["code"] for row in FLAVORS if not row["flavor"]] == ["nilknown"]


def test_not_examined_and_not_seen_have_flavours_of_their_own() -> None:
    """NASK: not sought; UNK: a value applies and is not known; NI: no more is known than that there is none."""
    by_code = {(row["system"], row["code"]): row["flavor"] for row in FLAVORS}
    assert by_code["data-absent-reason", "not-performed"] == "NASK"
    assert by_code["data-absent-reason", "unknown"] == "UNK"
    assert by_code["list-empty-reason", "unavailable"] == "NI"


def enumerated(name: str) -> set[str]:
    """The values of a type of HL7's vocabulary schema, those of the types that it unites included."""
    space = "{http://www.w3.org/2001/XMLSchema}"
    root = etree.parse(str(standards_file(VOCABULARY))).getroot()
    types = {t.get("name"): t for t in root.iter(f"{space}simpleType")}
    found, waiting = set[str](), [name]
    while waiting:
        type = types[waiting.pop()]
        found |= {str(e.get("value")) for e in type.iter(f"{space}enumeration")}
        waiting += [m for u in type.iter(f"{space}union") for m in str(u.get("memberTypes") or "").split()]
    return found


def test_what_is_written_is_in_hl7_s_vocabulary() -> None:
    assert {row["flavor"] for row in FLAVORS} - {""} <= enumerated("NullFlavor")
    assert set(RELATED.values()) == enumerated("x_ActRelationshipDocument")


def test_codes_of_the_header_stand_under_the_systems_of_hl7() -> None:
    published = {oid(resource): resource for resource in code_systems().values()}
    assert {c["code"] for c in published[GENDER_SYSTEM]["concept"]} >= set(GENDERS.values())
    assert published[FUNCTIONS]["url"].endswith("/v3-ParticipationFunction")
    assert published[CONFIDENTIALITY]["url"].endswith("/v3-Confidentiality")
