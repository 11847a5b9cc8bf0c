"""Each rule of profiles speaks in a case at least, and what is not decided is told as that."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.check.profiles import check_profiles
from bridge.check.profiles.asked import asked_for
from bridge.errors import InputError
from bridge.issues import Issue, Severity, rules
from tests.check.profiles.test_corpus import ALL, found

URL = "https://example.org/fhir/StructureDefinition/small"
HERE = {"P140", "P144", "P145"}


def profile(type: str, *elements: dict[str, Any]) -> dict[str, Any]:
    return {
        "resourceType": "StructureDefinition",
        "url": URL,
        "name": "Small",
        "status": "active",
        "kind": "resource",
        "abstract": False,
        "type": type,
        "baseDefinition": f"http://hl7.org/fhir/StructureDefinition/{type}",
        "derivation": "constraint",
        "differential": {"element": [{"path": row["id"].partition(":")[0], **row} for row in elements]},
    }


def against(definition: dict[str, Any], resource: dict[str, Any], *, must: bool = False) -> list[Issue]:
    asked = asked_for([definition], must=must)
    return check_profiles(resource, resource["resourceType"], asked)


def test_a_slice_told_apart_by_what_is_not_at_hand_is_not_decided() -> None:
    definition = profile(
        "Observation",
        {
            "id": "Observation.category",
            "slicing": {"discriminator": [{"type": "value", "path": "$this"}], "rules": "closed"},
        },
        {
            "id": "Observation.category:ours",
            "path": "Observation.category",
            "sliceName": "ours",
            "min": 1,
            "binding": {"strength": "required", "valueSet": "https://example.org/fhir/ValueSet/nowhere"},
        },
    )
    coded = {"coding": [{"system": "https://example.org/codes", "code": "a"}]}
    resource = {"resourceType": "Observation", "status": "final", "code": {"text": "a"}, "category": [coded]}
    told = against(definition, resource)
    assert [(i.rule, i.where.path) for i in told] == [("P144", "Observation.category[0]")]
    assert told[0].severity is Severity.information


def test_a_flaw_of_a_definition_is_told_and_the_rest_is_used() -> None:
    definition = profile("Patient", {"id": "Patient.name", "min": 1}, {"id": "Patient.nothingLikeIt", "min": 1})
    told = against(definition, {"resourceType": "Patient"})
    assert {i.rule for i in told} == {"P145", "P101"}
    assert not any("nothingLikeIt" in i.message for i in told if i.rule == "P101")


@pytest.mark.parametrize("must", [True, False])
def test_must_support_is_told_only_where_it_is_asked_for(must: bool) -> None:
    definition = profile(
        "Patient", {"id": "Patient.name", "mustSupport": True}, {"id": "Patient.gender", "mustSupport": True}
    )
    told = against(definition, {"resourceType": "Patient", "gender": "other"}, must=must)
    assert [i.rule for i in told] == ["P140"] * must
    assert all("Patient.name" in i.message for i in told)


def test_every_rule_of_profiles_is_met() -> None:
    met = {one.rule for case in ALL for one in found(case)} | HERE
    assert {code for code in rules() if "P100" < code < "P150"} <= met


@pytest.mark.parametrize("wanted", [5, None, {"resourceType": "StructureDefinition"}])
def test_what_is_no_profile_is_refused(wanted: Any) -> None:
    with pytest.raises(InputError):
        asked_for([wanted])
