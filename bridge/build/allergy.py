"""AllergyIntolerance: what the client told, as told.

None known and not asked make no resource, lest a reader that does not know our codes files an allergy; the
letter's section says them with the standard's own reasons (list-empty-reason nilknown, notasked).
"""

from __future__ import annotations

from bridge.build.context import Context, Json, one
from bridge.ear_words import Assertion
from bridge.fhir.elements import concept
from bridge.fhir.own import coding, fixed
from bridge.fhir.times import to_datetime
from bridge.visit.care import Allergy


def build_allergies(context: Context) -> None:
    """One for each allergy named."""
    allergies = context.visit.allergies
    for index, allergy in enumerate(allergies.items if allergies else ()):
        _allergy(context, index, allergy.term.assertion, concept(allergy.term), _told(allergy))


def _allergy(context: Context, part: object, assertion: Assertion | None, code: Json, told: Json) -> None:
    visit = context.visit
    context.make(
        "allergy",
        "AllergyIntolerance",
        ("allergy", part),
        {
            "identifier": context.fact_identifier("allergy", part),
            "clinicalStatus": one(
                f"allergyintolerance-clinical:{'inactive' if assertion in ('absent', 'past') else 'active'}"
            ),
            "verificationStatus": _verification(assertion),
            "code": code,
            "patient": context.patient,
            "encounter": context.encounter,
            **({"recordedDate": to_datetime(visit.recorded_at)} if visit.recorded_at else {}),
            **({"recorder": context.practitioners[0]} if context.practitioners else {}),
            **told,
        },
    )


def _verification(assertion: Assertion | None) -> Json:
    """Nothing that is only told is confirmed; our own code beside tells a suspicion from a plain statement."""
    if assertion == "absent":
        return one("allergyintolerance-verification:refuted")
    suspected = fixed("assertion", "suspected")["coding"] if assertion == "suspected" else []
    return {"coding": [coding("allergyintolerance-verification:unconfirmed"), *suspected]}


def _told(allergy: Allergy) -> Json:
    return {
        **({"note": [{"text": allergy.note}]} if allergy.note else {}),
        **({"reaction": [{"manifestation": [{"text": allergy.reaction}]}]} if allergy.reaction else {}),
    }
