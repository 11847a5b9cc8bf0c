"""Provenance and Device: who recorded this and when, from which state of the record, with which tool."""

from __future__ import annotations

from bridge import __version__
from bridge.build.context import Built, Context, Json, one
from bridge.fhir.ids import reference
from bridge.fhir.own import fixed
from bridge.fhir.systems import system
from bridge.fhir.times import to_datetime, to_instant
from bridge.visit.care import NotReferred
from bridge.wording import say


def build_device(context: Context) -> Built:
    return context.add(
        "device",
        {
            "resourceType": "Device",
            "id": context.ids.of("Device", "visit-bridge"),
            "identifier": [context.local_identifier("device", "visit-bridge")],
            "status": "active",
            "deviceName": [{"name": "visit-bridge", "type": "model-name"}],
            "version": [{"type": {"text": "software version, with its mappings"}, "value": __version__}],
        },
    )


def build_provenance(context: Context, letter: str = "summary") -> Built:
    """Each kind of letter has its own, because it is about another Composition.

    A summary of the whole record does not give the reason for a referral that was not made at one visit: it tells what
    stands, and that visit's own documents carry it.
    """
    visit = context.visit
    recorded = visit.recorded_at or visit.start
    agents: list[Json] = [{"type": one("provenance-participant-type:author"), "who": p} for p in context.practitioners]
    agents.append({"type": one("provenance-participant-type:assembler"), "who": context.device})
    entities = [{"role": "source", "what": _version(context, visit.version)}]
    if visit.replaces:
        entities.append({"role": "revision", "what": _version(context, visit.replaces)})
    if visit.source_sha256:
        what = {"identifier": {"system": system("sha-256"), "value": visit.source_sha256}}
        entities.append({"role": "source", "what": {**what, "display": say("record.source")}})
    return context.make(
        "provenance",
        "Provenance",
        (visit.version, *([letter] if letter != "summary" else [])),
        {
            "target": [reference(b.id) for b in context.built if b.topic not in ("device", "provenance")],
            "occurredDateTime": to_datetime(recorded),
            "recorded": to_instant(recorded, context.zone),
            **({"reason": _not_referred(visit.not_referred)} if visit.not_referred and letter != "ips" else {}),
            "agent": agents,
            "entity": entities,
        },
    )


def _not_referred(told: NotReferred) -> list[Json]:
    """Why a red flag stands without a referral, then each flag that the record names beside it.

    Known again by codes of our own. The element is bound to purposes of use (extensible), so that the nearest of
    those stands beside them: coordination of care.
    """
    rules = [fixed("not-referred", "rule", rule) for rule in told.rules]
    return [fixed("not-referred", "reason", told.reason), *rules]


def _version(context: Context, number: int) -> Json:
    """One version of the practice's record of this visit, as a logical reference."""
    value = f"{context.visit.number}/{number}"
    return {
        "identifier": {"type": fixed("record", "version"), "system": context.ids.system("record"), "value": value},
        "display": say("record.version", number=number),
    }
