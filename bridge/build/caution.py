"""Flag for a caution that stands or stood; Observation for any other, and for a remark.

A caution that the practitioner lists stays in force though its event is past (radiotherapy years ago): the Flag is
active, its words say that it is past. What is suspected, denied, none, or words that nobody could read must not stand
as a Flag. A Flag has no body site and no note: the ear is a category of its own, the remark an Observation whose focus
is the Flag.
"""

from __future__ import annotations

from bridge.build.context import Context, one
from bridge.build.observation import assertion_value, observe, when_component
from bridge.fhir.elements import concept
from bridge.fhir.ids import reference
from bridge.fhir.nothing import says_none
from bridge.fhir.own import fixed
from bridge.fhir.times import to_datetime
from bridge.visit.care import Caution
from bridge.wording import say


def build_cautions(context: Context) -> None:
    for index, caution in enumerate(context.visit.cautions):
        if caution.term.assertion in ("present", "past") and not says_none(caution.term):
            _flag(context, caution, index)
        else:
            _observation(context, caution, index)


def _flag(context: Context, caution: Caution, index: int) -> None:
    ear = caution.ear
    flag = context.make(
        "caution",
        "Flag",
        ("caution", index),
        {
            "identifier": context.fact_identifier("caution", index),
            "status": "active",
            "category": [
                one("flag-category:safety"),
                *([fixed("ear", ear)] if ear else []),
                *([fixed("assertion", "past")] if caution.term.assertion == "past" else []),
            ],
            "code": concept(caution.term),
            "subject": context.patient,
            **({"period": {"start": to_datetime(caution.since)}} if caution.since else {}),
            "encounter": context.encounter,
            **({"author": context.practitioners[0]} if context.practitioners else {}),
        },
        ear=ear,
    )
    if caution.note:
        value = {"focus": [reference(flag.id)], "valueString": caution.note}
        told = observe(context, "caution-note", (index,), value, [], ear=ear)
        told.resource["code"]["text"] = say("note.caution", caution=caution.term.text)


def _observation(context: Context, caution: Caution, index: int) -> None:
    value, question = assertion_value(caution.term)
    details = [*question, *when_component("symptom-onset", caution.since)]
    observe(context, "caution", (index,), value, details, ear=caution.ear, note=caution.note)
