"""Where references lead, and how they must be written, case by case.

Oracle: https://hl7.org/fhir/R4/references.html (literal references, the pattern of addresses on a server, contained
resources) and bundle.html#references (how a short reference becomes a whole one).
"""

from __future__ import annotations

import pytest

from bridge.check.references import Index, form_problem, leads_into_another
from tests.no_hang import no_hang

ASH = {"resourceType": "Patient", "id": "1", "meta": {"versionId": "1"}}
ASH_LATER = {"resourceType": "Patient", "id": "1", "meta": {"versionId": "2"}}
ELSEWHERE = {"resourceType": "Patient", "id": "1"}
NAMED = {"resourceType": "Practitioner"}
PART = {"resourceType": "Device", "id": "d"}
FLAG = {"resourceType": "Flag", "id": "f", "contained": [PART]}
LOOSE = {"resourceType": "Flag", "id": "g"}
UUID = "urn:uuid:00000000-0000-4000-8000-000000000001"
BUNDLE = {
    "entry": [
        {"fullUrl": "https://a.example.org/fhir/Patient/1", "resource": ASH},
        {"fullUrl": "https://a.example.org/fhir/Patient/1", "resource": ASH_LATER},
        {"fullUrl": "https://b.example.org/Patient/1", "resource": ELSEWHERE},
        {"fullUrl": UUID, "resource": NAMED},
        {"fullUrl": "urn:oid:1.2.3", "resource": PART},
        {"fullUrl": "https://b.example.org/Flag/f", "resource": FLAG},
        {"fullUrl": "urn:uuid:00000000-0000-4000-8000-000000000002", "resource": LOOSE},
        {"fullUrl": 7, "resource": {"resourceType": 7}},
        {"resource": []},
        None,
    ]
}


@pytest.mark.parametrize(
    ("reference", "owner", "found"),
    [
        ("Patient/1", FLAG, ELSEWHERE),
        ("Patient/1", ASH, ASH),
        ("Patient/1", LOOSE, None),  # urn:uuid is no server: a short reference has no meaning there
        ("https://a.example.org/fhir/Patient/1", FLAG, ASH),
        ("https://a.example.org/fhir/Patient/1/_history/2", FLAG, ASH_LATER),
        ("https://a.example.org/fhir/Patient/1/_history/3", FLAG, None),
        ("Patient/1/_history/1", FLAG, None),  # no version is told there
        ("http://a.example.org/fhir/Patient/1", FLAG, None),
        ("https://a.example.org/Patient/1", FLAG, None),
        ("patient/1", FLAG, None),
        (UUID, LOOSE, NAMED),
        (UUID.upper(), LOOSE, None),
        ("urn:oid:1.2.3", LOOSE, PART),
        ("#d", FLAG, PART),
        ("#", FLAG, FLAG),
        ("#d", LOOSE, None),
        ("#f", FLAG, None),
        ("", FLAG, None),
    ],
)
def test_a_reference_leads_there(reference: str, owner: dict[str, object], found: object) -> None:
    assert Index(BUNDLE).find(reference, owner).resource is found


def test_what_can_be_told_of_a_target_that_is_not_there() -> None:
    index = Index(BUNDLE)
    assert index.find("Substance/1", FLAG)[1:3] == ("Substance", False)
    assert index.find("https://c.example.org/Substance/1", FLAG)[1:3] == ("Substance", True)
    assert index.find("https://c.example.org/Matter/1", FLAG)[1:3] == ("", True)
    assert index.find("urn:uuid:00000000-0000-4000-8000-000000000009", FLAG)[1:3] == ("", False)


def test_two_versions_are_two_answers_unless_one_is_named() -> None:
    index = Index(BUNDLE)
    assert index.find("https://a.example.org/fhir/Patient/1", FLAG).several
    assert not index.find("https://a.example.org/fhir/Patient/1/_history/1", FLAG).several
    assert not index.find(UUID, FLAG).several


RIGHT = [
    "Patient/1", "Patient/1/_history/2", "https://example.org/Patient/1", "http://example.org:8080/a/b/Patient/1",
    "https://example.org/anything?at=all#here", UUID, UUID.upper().replace("URN:UUID", "urn:uuid"), "urn:oid:2.25.7",
    "urn:ietf:rfc:3986", "ftp://example.org/a", "#a", "#", f"Patient/{'a' * 64}", "Patient/a.b-c",
]  # fmt: skip
WRONG = [
    "Patient", "Patient/", "/Patient/1", "Patient/1/", "Patient/1/2", "Patient/a_b", f"Patient/{'a' * 65}", "1", "?a=b",
    "Patinet/1", "patient/1", "Resource/1", "Patient/1/_history/", "Patient/1/history/2", "urn:uuid:7", "urn:oid:9.1",
    "urn:oid:1.02", "https://example.org/a b", "Patient/1 ", "Patient/\n1", "\u00c4rztin/1", "Patinet?a=b",
]  # fmt: skip


@pytest.mark.parametrize("reference", RIGHT)
def test_a_way_to_write_a_reference(reference: str) -> None:
    assert form_problem(reference, searches=False) == ""


@pytest.mark.parametrize("reference", WRONG)
def test_no_way_to_write_a_reference(reference: str) -> None:
    assert form_problem(reference, searches=True)


@pytest.mark.parametrize("reference", ["Patient?identifier=a|7", "Patient?_id=1&active=true"])
def test_a_search_refers_in_transactions_only(reference: str) -> None:
    assert form_problem(reference, searches=True) == ""
    assert form_problem(reference, searches=False)


def test_what_is_contained_elsewhere() -> None:
    assert leads_into_another("Patient/1#a")
    assert leads_into_another("https://example.org/Patient/1#a")
    assert not leads_into_another("#a")
    assert not leads_into_another("https://example.org/page#a")


@pytest.mark.parametrize("text", ["http://" + "Aa/" * 200_000, "A" * 500_000, "Patient/" * 100_000, "a:" * 300_000])
def test_a_hostile_text_is_answered(text: str) -> None:
    with no_hang():
        form_problem(text, searches=True)
        leads_into_another(text + "#a")
        Index({"entry": [{"fullUrl": text, "resource": ASH}]}).find(text, ASH)
