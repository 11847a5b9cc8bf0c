"""A letter never tells a fact that its document takes back as if it stood.

Oracle: the states' definitions in FHIR R4; the words are the labels of mappings/in-force.csv.
"""

from __future__ import annotations

import copy
import html
import json
import re
from pathlib import Path
from typing import Any

import pytest

from bridge.fhir.tell import said
from bridge.pipeline import letter_of

FOLDER = Path(__file__).parents[2] / "demo_bundles"
DEMO = json.loads((FOLDER / "M26-0110.bundle.json").read_text(encoding="utf-8"))
Json = dict[str, Any]


def first(bundle: Json, type: str, holding: str = "") -> Json:
    found = (e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type)
    return next(r for r in found if holding in json.dumps(r))


def words_of(bundle: Json) -> str:
    page = re.sub(r"<style.*?</style>", "", letter_of(bundle).content.decode(), flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.parametrize(
    ("type", "holding", "change", "told", "plain"),
    [
        ("Observation", '"drum-finding"', {"status": "entered-in-error"},
         "entered in error, not to be used: perforation suspected", None),
        ("Observation", '"drum-finding"', {"implicitRules": "https://example.org/r"}, "cannot read, not to be", None),
        ("Procedure", "", {"status": "preparation"}, "Only prepared, not done: microsuction", None),
        ("Procedure", "", {"status": "not-done"}, "complete (but the entry is marked as not done)", None),
        ("Flag", "", {"status": "entered-in-error"}, "entered in error, not to be used: anticoagulant", None),
        ("ServiceRequest", "", {"status": "revoked"}, "ithdrawn, not to be done: Please examine", None),
        ("ServiceRequest", "", {"doNotPerform": True}, "ot to be done: Please examine", None),
        ("Communication", "", {"status": "preparation"}, "repared, not yet given: ", None),
        ("Consent", "patient-privacy", {"status": "draft"}, "draft and not in force", "Consent to share was given"),
        ("Encounter", "", {"status": "cancelled"}, "Visit cancelled or not attended", None),
        ("CarePlan", "", {"status": "revoked"}, "ithdrawn, not to be followed: ", None),
    ],
)  # fmt: skip
def test_what_is_not_in_force_says_so_first(
    type: str, holding: str, change: Json, told: str, plain: str | None
) -> None:
    bundle = copy.deepcopy(DEMO)
    first(bundle, type, holding).update(change)
    page = words_of(bundle)
    assert told in page
    assert told not in words_of(DEMO)
    assert plain is None or plain not in page


@pytest.mark.parametrize("change", [{"status": "revoked"}, {"status": "completed"}, {"doNotPerform": True}], ids=str)
def test_only_what_is_in_force_is_asked(change: Json) -> None:
    bundle = copy.deepcopy(DEMO)
    first(bundle, "ServiceRequest").update(change)
    asked = words_of(bundle).split("Action for you")[-1].split("Proposed for the record")[0]
    assert asked.strip() == "No request that is in force."


def test_the_head_names_what_is_not_in_force() -> None:
    bundle = copy.deepcopy(DEMO)
    first(bundle, "Observation").update(status="cancelled")
    assert "Not in force in this document: Observation (cancelled, not to be used)" in words_of(bundle)
    assert "Not in force" not in words_of(DEMO)


def codes_of(bundle: Json) -> str:
    return words_of(bundle).rpartition(" Codes ")[2]


@pytest.mark.parametrize(
    ("type", "change", "told"),
    [
        ("Procedure", {}, "Method Right"),
        ("Procedure", {"status": "not-done"}, "Method (not done) Right"),
        ("Procedure", {"status": "stopped"}, "Method (stopped) Right"),
        ("Procedure", {"status": "entered-in-error"}, "Method (entered in error, not to be used) Right"),
        ("Condition", {"clinicalStatus": {"coding": [{"code": "resolved"}]}, "verificationStatus": {}},
         "Impression (resolved) Right"),
        ("Condition", {"clinicalStatus": {"coding": [{"code": "inactive"}]}, "verificationStatus": {}},
         "Impression (in the past) Right"),
    ],
)  # fmt: skip
def test_a_code_is_told_with_what_became_of_it(type: str, change: Json, told: str) -> None:
    bundle = copy.deepcopy(DEMO)
    found = first(bundle, type)
    found["code"]["coding"].append({"system": "http://snomed.info/sct", "code": "60442001", "display": "Perforation"})
    found.update(change)
    assert told in codes_of(bundle)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.bundle.json")), ids=lambda p: p.name)
def test_no_bare_qualifier_is_listed_as_a_code(path: Path) -> None:
    """2667000 absent, 255594003 complete, 255609007 partial, 262008008 not performed, 260388006 no status change."""
    listed = codes_of(json.loads(path.read_text(encoding="utf-8")))
    assert listed
    assert [c for c in ("2667000", "255594003", "255609007", "262008008", "260388006") if c in listed] == []


def test_history_in_words_that_nobody_could_read_is_quoted() -> None:
    condition: Json = {
        "resourceType": "Condition",
        "category": [{"coding": [{"system": "http://snomed.info/sct", "code": "0"}]}],
        "code": {"text": "no op known?"},
    }
    from bridge.fhir.own import fixed

    condition["category"] = [fixed("history", "past")]
    assert said(condition) == "“no op known?” (the practitioner’s own words)"
    condition["verificationStatus"] = {"coding": [{"code": "confirmed"}]}
    assert said(condition) == "no op known?"
