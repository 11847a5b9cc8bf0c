"""Guardians: one RelatedPerson each, named where the visit names them, and nobody guessed.

Oracle: https://hl7.org/fhir/R4/relatedperson.html, consent.html (performer), encounter.html (participant),
communication.html (recipient); the codes of relationships by the published v3 RoleCode.
"""

from __future__ import annotations

from typing import Any

import pytest
from lxml import html

from bridge.check import check_bundle
from bridge.data import load_csv, table_path
from bridge.pipeline import letter_of
from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from tests.care_visits import document, resources
from tests.standards import standard_json

Json = dict[str, Any]
MOTHER = {"name": {"given": ["Eda"], "family": "Ash"}, "relationship": "Mum", "phone": "07700 900123"}
FATHER = {"name": {"given": ["Ivo"], "family": "Ash"}, "relationship": "father"}


def visit(*guardians: Json, **fields: Any) -> Visit:
    client = {"number": "C7", "legal_name": {"family": "Ash", "given": ["Ida"]}, "guardians": list(guardians)}
    base = {"number": "V1", "client": client, "start": "2026-11-03T10:15+00:00", "practitioners": [{"key": "JM"}]}
    return Visit.model_validate({**base, **fields})


def built(*guardians: Json, **fields: Any) -> Json:
    made = visit(*guardians, **fields)
    bundle = document(made)
    assert bundle_to_visits(bundle) == ([made], [])
    assert [i for i in check_bundle(bundle) if i.rule != "B122"] == []
    return bundle


def test_a_guardian_stands_in_one_place_with_words_code_and_phone() -> None:
    bundle = built({**MOTHER, "parental_responsibility": True})
    (person,) = resources(bundle, "RelatedPerson")
    (patient,) = resources(bundle, "Patient")
    assert "contact" not in patient
    assert person["patient"] == {"reference": f"urn:uuid:{patient['id']}"}
    first, second = person["relationship"]
    assert first["text"] == "Mum"
    assert [c["code"] for c in first["coding"]] == ["MTH"]
    assert [c["code"] for c in second["coding"]] == ["guardian-responsible"]
    assert person["telecom"] == [{"system": "phone", "value": "07700 900123"}]
    page = letter_of(bundle).content.decode()
    assert page.count("Eda Ash") == 1
    assert "Mum" in page
    assert "has parental responsibility" in page


def test_the_same_guardian_is_the_same_person_at_the_next_visit() -> None:
    one, other = built(MOTHER), built(MOTHER, number="V2")
    assert [p["id"] for p in resources(one, "RelatedPerson")] == [p["id"] for p in resources(other, "RelatedPerson")]


def consent_by(*guardians: Json, by: str | None) -> list[str]:
    bundle = built(*guardians, consent={"status": "given by guardian", **({"given_by": by} if by else {})})
    names = {f"urn:uuid:{p['id']}": p["name"][0]["given"][0] for p in resources(bundle, "RelatedPerson")}
    names |= {f"urn:uuid:{p['id']}": "the client" for p in resources(bundle, "Patient")}
    (consent,) = resources(bundle, "Consent")
    page = " ".join(html.document_fromstring(letter_of(bundle).content.decode()).text_content().split())
    assert by is None or f"Who gave consent to examination and treatment: {by}." in page
    return [names[p["reference"]] for p in consent.get("performer", ())]


ABLE: Json = {"parental_responsibility": True}
UNABLE: Json = {"parental_responsibility": False}


@pytest.mark.parametrize(
    ("guardians", "by", "who"),
    [
        ([MOTHER], None, []),
        ([{**MOTHER, **ABLE}, {**FATHER, "accompanied": True}], None, []),
        ([MOTHER, {**FATHER, **UNABLE}], None, []),
        ([MOTHER, FATHER], "mother", ["Eda"]),
        ([{**MOTHER, **ABLE}, FATHER], "Dad", ["Ivo"]),
        ([MOTHER, FATHER], "ivo ash", ["Ivo"]),
        ([MOTHER, FATHER], "Ivo", []),
        ([MOTHER, FATHER], "parents", []),
        ([MOTHER, {**FATHER, "relationship": "mother"}], "mother", []),
        ([MOTHER, {**FATHER, "relationship": "mother"}], "Ivo Ash", ["Ivo"]),
        ([MOTHER], "her aunt", []),
        ([], "mother", []),
        ([], "client", ["the client"]),
    ],
)
def test_who_consented_is_whom_the_record_names(guardians: list[Json], by: str | None, who: list[str]) -> None:
    assert consent_by(*guardians, by=by) == who


def test_the_letter_names_who_consented() -> None:
    page = letter_of(built(MOTHER, FATHER, consent={"status": "given by guardian", "given_by": "Dad"})).content.decode()
    assert "parental responsibility, by Ivo Ash (father)" in page


def test_who_came_along_takes_part_in_the_visit() -> None:
    bundle = built(MOTHER, {**FATHER, "accompanied": True})
    (encounter,) = resources(bundle, "Encounter")
    father = resources(bundle, "RelatedPerson")[1]
    came = [p for p in encounter["participant"] if "type" in p]
    assert [p["individual"]["reference"] for p in came] == [f"urn:uuid:{father['id']}"]
    assert [c["code"] for c in came[0]["type"][0]["coding"]] == ["ESC"]
    assert "Came with Ivo Ash (father)." in encounter["text"]["div"]
    head = html.document_fromstring(letter_of(bundle).content.decode())
    told = {dt.text_content().strip(): dt.getnext().text_content().strip() for dt in head.iter("dt")}
    assert told["Came with"] == "Ivo Ash (father)"


def test_nobody_came_along_is_not_told() -> None:
    assert "Came with" not in letter_of(built(MOTHER)).content.decode()


@pytest.mark.parametrize(
    ("to", "type"),
    [
        (None, "Patient"),
        ("client", "Patient"),
        ("mother", "RelatedPerson"),
        ("MUM", "RelatedPerson"),
        ("Eda Ash", "RelatedPerson"),
        ("the carer", ""),
        ("client and mother", ""),
    ],
)
def test_advice_goes_to_whom_the_record_names(to: str | None, type: str) -> None:
    bundle = built(MOTHER, FATHER, advice=[{"term": "keep it dry", **({"to": to} if to else {})}])
    (advice,) = resources(bundle, "Communication")
    (recipient,) = advice["recipient"]
    urls = {e["fullUrl"]: e["resource"]["resourceType"] for e in bundle["entry"]}
    assert recipient.get("display") == to
    assert urls.get(recipient.get("reference", ""), "") == type
    assert f"to {to}" in letter_of(bundle).content.decode() or to is None


def test_two_mothers_are_not_guessed_between() -> None:
    bundle = built(MOTHER, {**FATHER, "relationship": "mother"}, advice=[{"term": "keep it dry", "to": "mother"}])
    (advice,) = resources(bundle, "Communication")
    assert advice["recipient"] == [{"display": "mother"}]


def test_relationships_are_words_once_with_codes_for_a_related_person() -> None:
    """Oracle: the published code system v3 RoleCode."""
    rows = list(load_csv(table_path("relationships.csv")))
    words = [w for row in rows for w in row["words"].split("|")]
    assert len(words) == len(set(words))
    codes = {c.partition(":")[2] for row in rows for c in row["codes"].split()}
    systems = (e["resource"] for e in standard_json("fhir-r4/v3-codesystems.json.gz")["entry"])
    waiting = next(
        list(s["concept"]) for s in systems if s["id"] == "v3-RoleCode" and s["resourceType"] == "CodeSystem"
    )
    published: set[str] = set()
    while waiting:
        concept = waiting.pop()
        published.add(concept["code"])
        waiting += concept.get("concept", [])
    assert codes
    assert codes <= published
