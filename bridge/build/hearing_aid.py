"""Hearing aid: the Device, and a DeviceUseStatement that says in which ear and whether it is in use.

Where there is none, where the record only says that none is in use, and where its words deny one, no Device is
invented: an Observation says so.
"""

from __future__ import annotations

from bridge.build.context import Context, Json, ref_to
from bridge.build.observation import assertion_value, fixed_component, observe
from bridge.ear_words import EARS, Ear
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.nothing import says_none
from bridge.fhir.own import fixed
from bridge.fhir.tell.words import words
from bridge.fhir.times import to_datetime
from bridge.phrases import qualifier
from bridge.visit import Term
from bridge.visit.ear import HearingAid


def build_hearing_aids(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        aid = record.hearing_aid if record else None
        if aid is None:
            continue
        if is_device(aid):
            _device(context, aid, ear)
        else:
            _observation(context, aid, ear)


def is_device(aid: HearingAid) -> bool:
    """Whether the record says that there is one."""
    if aid.style is None:
        return aid.uses
    return not says_none(aid.style) and _said(aid.style) in (None, "present")


def _said(style: Term) -> str | None:
    return style.assertion or (None if style.codings else qualifier(style.text))


def _device(context: Context, aid: HearingAid, ear: Ear) -> None:
    visit = context.visit
    kind = concept(aid.style) if aid.style else fixed("hearing-aid", "hearing aid")
    device = context.make(
        "hearing-aid-device",
        "Device",
        (ear, "hearing-aid"),
        {
            "identifier": context.fact_identifier(ear, "hearing-aid"),
            "type": kind,
            "patient": context.patient,
        },
        ear=ear,
    )
    recorded: Json = {"recordedOn": to_datetime(visit.recorded_at)} if visit.recorded_at else {}
    context.make(
        "hearing-aid",
        "DeviceUseStatement",
        (ear, "hearing-aid"),
        {
            "identifier": context.fact_identifier(ear, "hearing-aid-use"),
            "status": "active" if aid.uses else "stopped",
            "subject": context.patient,
            **recorded,
            "device": {**ref_to(device), "display": words(kind)},
            "bodySite": ear_site(ear),
            **({"note": [{"text": aid.note}]} if aid.note else {}),
        },
        ear=ear,
    )


def _observation(context: Context, aid: HearingAid, ear: Ear) -> None:
    value: Json = {"valueCodeableConcept": fixed("hearing-aid", "not used")}
    details: list[Json] = []
    if aid.style and aid.style.assertion in ("suspected", "absent", "past"):
        value, details = assertion_value(aid.style)
    elif aid.style:
        value = {"valueCodeableConcept": concept(aid.style)}
    if aid.style and not aid.uses:
        details = [*details, *fixed_component("hearing-aid-use", "hearing-aid", "not used")]
    observe(context, "hearing-aid-none", (), value, details, ear=ear, note=aid.note)
