"""Data types of FHIR in CDA and back. What is expected is written by hand from the schema and the standards named."""

from __future__ import annotations

import copy
import random
from decimal import Decimal
from typing import Any

import pytest
from lxml import etree

from bridge.cda.moments import ts_text, when_of
from bridge.cda.names import ad, address_of, human_of, pn, point_of, tel
from bridge.cda.oids import root_of, template, uri_of
from bridge.cda.rest import rest_of, with_rest
from bridge.cda.values import (
    cd,
    concept_of,
    identifier_of,
    ii,
    ivl_ts,
    period_of,
    pq,
    quantity_of,
    reference_ii,
    reference_of,
)

SCT, OWN = "http://snomed.info/sct", "urn:oid:2.25.315634712590341250083437118789586142799"


def text(made: Any) -> str:
    return (
        etree.tostring(made, encoding="unicode")
        .replace(' xmlns="urn:hl7-org:v3"', "")
        .replace(' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"', "")
    )


def shape(found: Any) -> Any:
    return found.tag, dict(found.attrib), found.text, [shape(child) for child in found]


CONCEPTS: list[tuple[dict[str, Any], str]] = [
    (
        {"coding": [{"system": SCT, "version": "20260101", "code": "17621005", "display": "Normal"}], "text": "NAD"},
        '<code code="17621005" codeSystem="2.16.840.1.113883.6.96" codeSystemVersion="20260101" displayName="Normal">'
        "<originalText>NAD</originalText></code>",
    ),
    (
        {"coding": [{"system": SCT, "code": "1"}, {"system": OWN, "code": "x", "display": "an x"}]},
        '<code code="1" codeSystem="2.16.840.1.113883.6.96"><translation code="x" '
        'codeSystem="2.25.315634712590341250083437118789586142799" displayName="an x"/></code>',
    ),
    (
        {"coding": [{"system": "https://example.org/a", "code": "a"}, {"system": SCT, "code": "1"}], "text": "x"},
        '<code code="1" codeSystem="2.16.840.1.113883.6.96"><originalText>x</originalText><translation code="a" '
        'codeSystem="2.25.DERIVED" codeSystemName="https://example.org/a"/></code>',
    ),
    ({"text": "clarty"}, '<code nullFlavor="OTH"><originalText>clarty</originalText></code>'),
]


@pytest.mark.parametrize(("concept", "expected"), CONCEPTS)
def test_a_concept_is_a_code_with_translations_and_its_words(concept: dict[str, Any], expected: str) -> None:
    made = cd("code", concept)
    assert text(made) == expected.replace("2.25.DERIVED", root_of("https://example.org/a")[0])
    assert concept_of(made) == concept


@pytest.mark.parametrize("systems", ["aab1o", "a", "ab", "1a", "o1", "a1b", "ao", "1", ""])
def test_codings_come_back_in_their_order(systems: str) -> None:
    uris = {"a": "https://example.org/a", "b": "https://example.org/b", "1": SCT, "o": OWN}
    codings = [{"system": uris[one], "code": f"{one}{at}"} for at, one in enumerate(systems)]
    concept = {"coding": codings} if codings else {"text": "x"}
    read = concept_of(cd("code", concept)) or {}
    assert (read == concept) is (systems not in {"1a", "a1b"})
    beside = rest_of({"code": concept}, {"code": read})
    assert with_rest({"code": read}, beside) == {"code": concept}


RESOURCE = {
    "resourceType": "Observation", "id": "x", "text": {"div": "left out"}, "meta": {"versionId": "1"},
    "a": [1, Decimal("1.50"), True, "x", {"b": [{"c": "d"}, {"e": False}]}],
    "code": {"coding": [{"system": SCT, "code": "1", "userSelected": True}], "text": "x"},
    "_a": [None, {"extension": [{"url": "u", "valueCode": "v"}]}],
}  # fmt: skip
READ: list[dict[str, Any]] = [
    {}, {"a": [], "code": {}}, {"a": [1, 2, 3, 4, 5, 6, 7], "z": 1}, {"a": "x", "code": []}, {"a": {"b": 1}},
    {"a": [1, Decimal("1.5"), 1, "x", {"b": [{"c": "d", "x": [1]}, {}, {}]}]},
]  # fmt: skip


@pytest.mark.parametrize("read", READ)
def test_what_cda_has_no_element_for_travels_beside(read: dict[str, Any]) -> None:
    """Whatever a reader makes of a resource: with what stands beside, it is the resource without narrative and meta."""
    whole = {key: value for key, value in RESOURCE.items() if key not in ("text", "meta")}
    again = with_rest(copy.deepcopy(read), rest_of(RESOURCE, read))
    assert again == whole
    assert str(again["a"][1]) == "1.50"
    assert again["a"][2] is True


def test_a_system_without_an_oid_gets_one_of_its_uri_and_the_uri_stands_beside_it() -> None:
    """ITU-T X.667: 2.25 and a UUID as a number; the UUID is version 5 of RFC 4122 in the name space of URLs."""
    import uuid

    uri = "https://fhir.hl7.org.uk/CodeSystem/UKCore-ConditionCategory"
    number = int(uuid.uuid5(uuid.NAMESPACE_URL, uri).hex, 16)
    assert root_of(uri) == (f"2.25.{number}", uri)
    assert uri_of(f"2.25.{number}", uri) == uri
    assert uri_of(f"2.25.{number}", "https://example.org/another") == f"urn:oid:2.25.{number}"


def test_a_code_of_an_absent_value_is_never_the_value() -> None:
    reason = {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/data-absent-reason", "code": "unknown"}]}
    made = cd("value", reason, "CD", null="UNK")
    assert (made.get("nullFlavor"), made.get("code")) == ("UNK", None)
    assert concept_of(made) == reason


IDENTIFIERS: list[tuple[dict[str, Any], str]] = [
    (
        {"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "9990000018"},
        '<id root="2.16.840.1.113883.2.1.4.1" extension="9990000018"/>',
    ),
    ({"system": "urn:oid:2.25.7", "value": "C-1"}, '<id root="2.25.7" extension="C-1"/>'),
    ({"system": "urn:ietf:rfc:3986", "value": "urn:oid:1.2.3"}, '<id root="1.2.3"/>'),
    (
        {"system": "urn:oid:2.25.7", "value": "9", "assigner": {"display": "Audiology"}},
        '<id root="2.25.7" extension="9" assigningAuthorityName="Audiology"/>',
    ),
]


@pytest.mark.parametrize(("identifier", "expected"), IDENTIFIERS)
def test_an_identifier_is_a_root_and_an_extension(identifier: dict[str, Any], expected: str) -> None:
    made = ii("id", identifier)
    assert text(made) == expected
    assert identifier_of(made) == identifier


@pytest.mark.parametrize("value", ["5", "urn:oid:no", "urn:uuid:no", "a b"])
@pytest.mark.parametrize("system", ["https://example.org/ids", "urn:oid:2.25.08", "urn:ietf:rfc:3986", None, "x y"])
def test_any_identifier_comes_back(system: str | None, value: str) -> None:
    identifier = {**({"system": system} if system else {}), "value": value}
    assert identifier_of(ii("id", identifier)) == identifier


def test_an_untraced_nhs_number_is_read_from_its_own_root() -> None:
    """NHS England's CDA messages have 2.16.840.1.113883.2.1.3.2.4.18.23 for numbers that were not traced."""
    found = etree.fromstring('<id xmlns="urn:hl7-org:v3" root="2.16.840.1.113883.2.1.3.2.4.18.23" extension="1"/>')
    assert identifier_of(found) == {"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "1"}


MOMENTS = [
    ("2010", "2010"), ("2011-05", "201105"), ("2024-02-29", "20240229"),
    ("2026-11-03T10:15:00+00:00", "20261103101500+0000"), ("2026-07-03T10:15:00.0+01:00", "20260703101500.0+0100"),
    ("2026-07-03T10:15:07.250-03:30", "20260703101507.250-0330"),
]  # fmt: skip


@pytest.mark.parametrize(("when", "value"), MOMENTS)
def test_a_moment_keeps_what_is_known_of_it(when: str, value: str) -> None:
    assert ts_text(when) == value
    assert when_of(value) == when


def test_a_time_without_an_offset_is_read_as_its_day() -> None:
    assert when_of("202611031015") == "2026-11-03"
    assert when_of("202611031015+0100") == "2026-11-03T10:15:00+01:00"
    assert when_of("yesterday") is None
    assert ts_text("yesterday") is None


@pytest.mark.parametrize("period", [{"start": "2010"}, {"end": "2011-05"}, {"start": "2010", "end": "2012-01-02"}])
def test_a_period_keeps_its_open_ends(period: dict[str, str]) -> None:
    assert period_of(ivl_ts("effectiveTime", period)) == period


UCUM = "http://unitsofmeasure.org"
QUANTITIES: list[tuple[dict[str, Any], str]] = [
    (
        {"value": Decimal("1.50"), "unit": "mm", "system": UCUM, "code": "mm"},
        '<value xsi:type="PQ" value="1.50" unit="mm"/>',
    ),
    (
        {"value": 37, "unit": "°C", "system": UCUM, "code": "Cel"},
        '<value xsi:type="PQ" value="37" unit="Cel"><translation value="37" codeSystem="UNIT" nullFlavor="OTH">'
        "<originalText>°C</originalText></translation></value>",
    ),
    (
        {"value": 8, "unit": "Fr"},
        '<value xsi:type="PQ" nullFlavor="OTH"><translation value="8" codeSystem="UNIT" nullFlavor="OTH">'
        "<originalText>Fr</originalText></translation></value>",
    ),
    (
        {"value": 5, "comparator": "<", "unit": "mm", "system": UCUM, "code": "mm"},
        '<value xsi:type="IVL_PQ"><high value="5" unit="mm" inclusive="false"/></value>',
    ),
]


@pytest.mark.parametrize(("quantity", "expected"), QUANTITIES)
def test_a_quantity_keeps_its_digits_and_is_never_without_its_unit(quantity: dict[str, Any], expected: str) -> None:
    made = pq("value", quantity, "PQ")
    expected_root = etree.fromstring(
        f'<x xmlns="urn:hl7-org:v3" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">{expected}</x>'
    )[0]
    for place in expected_root.iter():
        if place.get("codeSystem"):
            place.set("codeSystem", template("units in words"))
    assert shape(made) == shape(expected_root)
    back = quantity_of(made)
    assert back == quantity
    assert back is not None
    assert str(back["value"]) == str(quantity["value"])


NAMES = [
    {"use": "official", "text": "Mrs Ann Moss", "family": "Moss", "given": ["Ann"], "prefix": ["Mrs"]},
    {"use": "old", "text": "Ann Hill", "family": "Hill", "given": ["Ann"]},
    {"use": "nickname", "text": "Nan"},
    {"text": "Dr A. Moss & partners"},
]


@pytest.mark.parametrize("name", NAMES)
def test_a_name_comes_back(name: dict[str, Any]) -> None:
    assert human_of(pn("name", name)) == name


def test_a_former_name_is_told_as_one_that_ended() -> None:
    made = pn("name", NAMES[1])
    assert made.find("{*}validTime/{*}high") is not None
    assert made.get("use") is None


def test_an_address_comes_back() -> None:
    home = {
        "use": "home", "line": ["Flat 3", "Mill Street"], "city": "Aldersby", "district": "Overshire",
        "postalCode": "ZX9 5GE", "country": "GB",
    }  # fmt: skip
    assert address_of(ad("addr", home)) == home
    assert [child.tag.rpartition("}")[2] for child in ad("addr", home)] == [
        "streetAddressLine", "streetAddressLine", "city", "county", "postalCode", "country",
    ]  # fmt: skip


def test_a_phone_number_is_a_tel_url_without_blanks() -> None:
    """RFC 3966: no blanks in a number."""
    made = tel("telecom", {"system": "phone", "value": "01632 960 111", "use": "work"})
    assert made.get("value") == "tel:01632960111"
    assert made.get("use") == "WP"
    mail = {"system": "email", "value": "clinic@millbrook.example.org"}
    assert point_of(tel("telecom", mail)) == mail


REFERENCES = [
    {"reference": "urn:uuid:25951c11-4c94-4121-bf62-7766a61d17d9"},
    {"reference": "Patient/12"},
    {"identifier": {"system": "urn:oid:2.25.7", "value": "C-1"}},
]


@pytest.mark.parametrize("reference", REFERENCES)
def test_a_reference_is_the_id_of_what_it_points_at(reference: dict[str, Any]) -> None:
    assert reference_of(reference_ii("id", reference)) == reference


def test_anything_at_all_is_written_without_a_fault_and_never_read_as_more() -> None:
    random_ = random.Random(7)
    odd: list[Any] = [None, "", "x", 3, True, [], {}, [None], {"coding": 4}, {"coding": [None, {"code": 5}]}]
    for _ in range(300):
        concept = {"coding": random_.choice(odd), "text": random_.choice(odd)}
        back = concept_of(cd("code", concept))
        assert back is None or set(back) <= {"coding", "text"}
        quantity = {key: random_.choice(odd) for key in ("value", "unit", "code", "system")}
        again = quantity_of(pq("value", quantity, "PQ"))
        assert again is None or again["value"] == quantity["value"]
