"""Allergies, medicines, drops, cautions and earlier events as R4: shape, place, and nothing doubted made plain.

Oracles outside the project: the JSON schema that HL7 publishes with R4, and readers in this file that know raw
JSON and the words put in, and nothing else of the project.
"""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

import jsonschema_rs
import pytest
from hypothesis import given, settings

from bridge.check import check_bundle
from bridge.issues import rules
from bridge.visit import Visit
from tests.care_visits import OWN, SCT, document, resources, visit, visits
from tests.standards import standard_json

Json = dict[str, Any]

TYPES = (
    "AllergyIntolerance",
    "Condition",
    "Flag",
    "MedicationAdministration",
    "MedicationStatement",
    "Observation",
    "Procedure",
)


@cache
def validator(type: str) -> jsonschema_rs.Draft6Validator:
    schema = standard_json("fhir-r4/fhir.schema.json.gz")
    return jsonschema_rs.Draft6Validator({"definitions": schema["definitions"], "$ref": f"#/definitions/{type}"})


@given(visits)
@settings(max_examples=60, deadline=None)
def test_the_published_schema_accepts_it(of: Visit) -> None:
    bundle = document(of)
    for type in TYPES:
        for resource in resources(bundle, type):
            plain = json.loads(json.dumps(resource, default=float))
            assert [e.message for e in validator(type).iter_errors(plain)] == []


@given(visits)
@settings(max_examples=60, deadline=None)
def test_no_rule_of_the_standard_is_broken(of: Visit) -> None:
    found = check_bundle(document(of))
    assert [f"{i.rule} {i.where.path} {i.message}" for i in found if not rules()[i.rule].trade] == []


def term(text: str, assertion: str, *codes: str) -> Json:
    return {"text": text, "assertion": assertion, "codings": [{"system": OWN, "code": c} for c in codes]}


@pytest.mark.parametrize("said", ["suspected", "absent", "past"])
def test_nothing_doubted_is_told_as_plain(said: str) -> None:
    fields: Json = {
        "allergies": [{"term": term("zallergy", said)}],
        "medicines": [{"name": term("zmedicine", said)}],
        "softeners": [{"name": term("zsoftener", said), "strength": "5%"}],
        "cautions": [{"term": term("zcaution", said, "caution-diabetes"), "since": "2001", "note": "n"}],
        "right": {
            "history": [
                {"term": term("zevent", said, "perforated-drum"), "date": "2001"},
                {"term": term("zsurgery", said, "past-mastoidectomy")},
            ],
            "work": [
                {"method": "microsuction", "products": [{"name": term("zdrops", said), "when": "used in clinic"}]}
            ],
        },
    }
    told = {"zallergy", "zmedicine", "zsoftener", "zcaution", "zevent", "zsurgery", "zdrops"}
    bundle = document(visit(**fields))
    for entry in bundle["entry"]:
        resource = entry["resource"]
        if resource["resourceType"] in TYPES:
            mine = {word for word in told if word in json.dumps(resource, default=str)}
            told -= mine
            if mine and resource["resourceType"] == "Flag":
                # a caution stays in force though its event is past, and says so in a category of its own
                assert said == "past"
                assert "assertion-past" in json.dumps(resource["category"])
            else:
                assert not mine or plain(resource) not in FORBIDDEN[said], resource
            assert not mine or SAID[said].search(resource["text"]["div"]), resource["text"]
    assert told == set()


FORBIDDEN = {
    "suspected": {"active", "confirmed", "taken", "done", "stated"},
    "absent": {"active", "confirmed", "taken", "done", "stated", "unconfirmed"},
    "past": {"active", "stated"},
}
SAID = {
    "suspected": re.compile(r"suspected|Note on the caution"),
    "absent": re.compile(r"\bno \w+|not present|not taken"),
    "past": re.compile(r"past|before|Note on the caution"),
}
"""Words of which one must stand in the narrative, however the sentence is turned."""


def plain(resource: Json) -> str:
    """What a machine makes of a resource that looks at its type and its status elements only."""
    type = resource["resourceType"]
    clinical = [c["code"] for c in resource.get("clinicalStatus", {}).get("coding", ())]
    verified = [c["code"] for c in resource.get("verificationStatus", {}).get("coding", ())]
    if type in ("AllergyIntolerance", "Condition"):
        if clinical == ["active"] and "unconfirmed" not in verified:
            return "active"
        return str(verified[0])
    if type == "Flag":
        return str(resource["status"])
    if type == "MedicationStatement":
        return {"active": "active", "intended": "active", "completed": "taken"}.get(resource["status"], "open")
    if type in ("MedicationAdministration", "Procedure"):
        return "done" if resource["status"] == "completed" else "open"
    value = resource.get("valueCodeableConcept", {}).get("coding", ())
    doubted = any(c["code"].startswith("assertion-") for c in value if c["system"] == OWN)
    return "open" if doubted or "valueString" in resource else "stated"


def test_words_that_nobody_could_read_make_no_flag_and_no_confirmed_event() -> None:
    words = {"text": "no diabetes as far as known"}
    bundle = document(visit(cautions=[{"term": words}], left={"history": [{"term": words}]}))
    assert resources(bundle, "Flag") == []
    (event,) = resources(bundle, "Condition")
    assert "verificationStatus" not in event
    assert event["clinicalStatus"]["coding"][0]["code"] == "inactive"


def test_uncoded_words_that_deny_make_no_medicine_that_is_taken() -> None:
    (statement,) = resources(document(visit(medicines=["no aspirin"])), "MedicationStatement")
    assert statement["status"] == "not-taken"


def test_none_is_no_caution_and_no_medicine() -> None:
    none = {"text": "nil", "assertion": "present", "codings": [{"system": OWN, "code": "caution-none"}]}
    oil = {"text": "nil", "codings": [{"system": OWN, "code": "product-none"}]}
    bundle = document(visit(cautions=[{"term": none}], softeners=[{"name": oil}]))
    assert resources(bundle, "Flag") == []
    assert [s["status"] for s in resources(bundle, "MedicationStatement")] == ["not-taken"]


WORK = {
    "method": "microsuction",
    "products": [
        {"name": "saline", "when": "used in clinic", "dose": "20 mL", "batch": "B7", "expiry": "2027-05"},
        {"name": "olive oil", "when": "supplied", "dose": "2 drops", "start": "2026-11-04"},
        {"name": "water", "when": "used in clinic"},
        {"name": "drops"},
    ],
}


def test_products_of_the_work_name_their_ear_and_are_part_of_it() -> None:
    bundle = document(visit(left={"work": [WORK]}))
    (procedure,) = resources(bundle, "Procedure")
    part = [{"reference": f"urn:uuid:{procedure['id']}"}]
    given_here = resources(bundle, "MedicationAdministration")
    others = resources(bundle, "MedicationStatement")
    assert [r["partOf"] for r in given_here + others] == [part] * 4
    sites = [r["dosage"]["site"] for r in given_here] + [r["dosage"][0]["site"] for r in others]
    assert [[c["code"] for c in site["coding"]] for site in sites] == [["89644007"]] * 4
    assert [r["status"] for r in given_here + others] == ["completed", "completed", "intended", "unknown"]
    assert given_here[0]["contained"][0]["batch"] == {"lotNumber": "B7", "expirationDate": "2027-05"}


def test_strength_is_a_number_only_where_the_words_are_one() -> None:
    strengths = ["5%", "50 mg/mL", "2 to 5%", "05%"]
    bundle = document(visit(medicines=[{"name": "drops", "strength": s} for s in strengths]))
    ratios = [r["contained"][0]["ingredient"][0]["strength"] for r in resources(bundle, "MedicationStatement")]
    assert [(str(r["numerator"].get("value")), r["numerator"]["unit"]) for r in ratios] == [
        ("5", "%"),
        ("50", "mg/mL"),
        ("None", "2 to 5%"),
        ("None", "05%"),
    ]


def test_earlier_surgery_is_a_completed_procedure_apart_from_todays_work() -> None:
    surgery = {"text": "mastoidectomy", "assertion": "present", "codings": [{"system": SCT, "code": "50445001"}]}
    bundle = document(
        visit(right={"history": [{"term": surgery, "date": "1999"}], "work": [{"method": "microsuction"}]})
    )
    work, past = resources(bundle, "Procedure")
    assert "category" not in work
    assert (past["status"], past["performedDateTime"]) == ("completed", "1999")
    assert [c["code"] for c in past["category"]["coding"]] == ["event-from-before"]
    assert "reasonReference" not in work


def test_an_allergy_told_is_never_confirmed_and_none_known_is_said() -> None:
    (told,) = resources(document(visit(allergies=[{"term": "latex", "reaction": "rash"}])), "AllergyIntolerance")
    assert told["verificationStatus"]["coding"][0]["code"] == "unconfirmed"
    assert told["reaction"] == [{"manifestation": [{"text": "rash"}]}]
    assert resources(document(visit(allergies="none known")), "AllergyIntolerance") == []
    assert resources(document(visit(allergies="not asked")), "AllergyIntolerance") == []


@pytest.mark.parametrize(("answer", "reason"), [("none", "nilknown"), ("not asked", "notasked")])
def test_the_section_says_why_it_has_no_medicines(answer: str, reason: str) -> None:
    (letter,) = resources(document(visit(medicines=answer, left={"work": [WORK]})), "Composition")
    section = next(s for s in letter["section"] if s["title"].startswith("Medications"))
    assert [c["code"] for c in section["emptyReason"]["coding"]] == [reason]
    assert "entry" not in section


def test_every_fact_stands_in_a_section() -> None:
    """A resource that the letter's order forgets would be in the bundle and in no reader's eye."""
    caution = {"term": {"text": "diabetes", "assertion": "present"}, "note": "tablets"}
    event = {"term": {"text": "infection", "assertion": "past"}}
    bundle = document(
        visit(
            allergies=["latex"],
            medicines=["aspirin"],
            softeners=["olive oil"],
            cautions=[caution],
            right={"history": [event], "work": [WORK]},
        )
    )
    (letter,) = resources(bundle, "Composition")
    listed = {e["reference"] for s in letter["section"] for e in s.get("entry", ())}
    facts = {f"urn:uuid:{r['id']}" for type in TYPES for r in resources(bundle, type)}
    assert facts - listed == set()
