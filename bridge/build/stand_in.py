"""What only the Composition says, as resources of their own, for where there is no Composition.

That a list is empty for a reason (none known, not asked) is a List with the standard's own emptyReason; that
somebody approved the record is a Provenance whose agent attests.
"""

from __future__ import annotations

from bridge.build.context import Built, Context, Json, one
from bridge.fhir.ids import reference
from bridge.fhir.own import word
from bridge.fhir.times import to_datetime, to_instant

ANSWERS = ("nilknown", "notasked")
ANSWERED = ("actions", "medications", "allergies", "sharing")
"""Sections under which the record itself may say that there is nothing, or that nobody asked."""


def build_empty_lists(context: Context, composition: Json) -> None:
    """A List for each section that the record itself says is empty."""
    for section in composition["section"]:
        if _answered(section):
            _list(context, section)


def _answered(section: Json) -> bool:
    reasons = {c["code"] for c in section.get("emptyReason", {}).get("coding", ())}
    return word("section", section["code"]) in ANSWERED and bool(reasons & set(ANSWERS))


def _list(context: Context, section: Json) -> None:
    visit = context.visit
    heading = word("section", section["code"])
    context.make(
        "empty-list",
        "List",
        ("empty", heading),
        {
            "identifier": context.fact_identifier("empty", heading),
            "status": "current",
            "mode": "snapshot",
            "title": section["title"],
            "code": section["code"],
            "subject": context.patient,
            "encounter": context.encounter,
            "date": to_datetime(visit.recorded_at or visit.start),
            **({"source": context.practitioners[0]} if context.practitioners else {}),
            "emptyReason": section["emptyReason"],
        },
    )


def build_approval(context: Context, provenance: Built) -> None:
    """Who stands by the record, and when; nothing for a draft."""
    approved = context.visit.approved
    if approved is None:
        return
    context.make(
        "approval",
        "Provenance",
        ("approval", context.visit.version),
        {
            "target": [*provenance.resource["target"], reference(provenance.id)],
            "occurredDateTime": to_datetime(approved.at),
            "recorded": to_instant(approved.at, context.zone),
            "agent": [{"type": one("provenance-participant-type:attester"), "who": context.practitioner(approved.by)}],
        },
    )
