"""Work on one ear from its Procedures and the Observations that are part of them."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import Ear
from bridge.fhir.elements import ear_of, term
from bridge.fhir.tell.administrative import key_of
from bridge.receive.history import past
from bridge.receive.index import Index
from bridge.receive.products import products_of
from bridge.receive.values import (
    asserted,
    coded,
    integer_in,
    kept,
    measure_in,
    note_of,
    part_of_visit,
    size_in,
    text_in,
    word_in,
)
from bridge.visit import Work
from bridge.visit.ear import Event, Instrument, Irrigation, Suction

Json = dict[str, Any]


def works(index: Index, ear: Ear) -> tuple[Work, ...]:
    """In the order of the bundle, which is the order of the record."""
    procedures = (p for p in index.of_type("Procedure") if ear_of((p.get("bodySite") or [None])[0]) == ear)
    return tuple(_work(index, p) for p in procedures if not past(p))


def _work(index: Index, procedure: Json) -> Work:
    def found(kind: str) -> list[Json]:
        return index.observations(kind, part_of=procedure)

    def score(kind: str) -> int | None:
        one = index.observation(kind, part_of=procedure)
        return int(one["valueInteger"]) if one else None

    index.use(procedure)
    settings = index.observation("procedure-settings", part_of=procedure) or {}
    tolerance = index.observation("tolerance", part_of=procedure)
    return part_of_visit(
        Work,
        kept(
            method=term(procedure["code"]),
            why=next((r.get("text") for r in procedure.get("reasonCode", ())), None),
            instruments=tuple(
                part_of_visit(
                    Instrument,
                    kept(name=coded(o), size=size_in(o, "instrument-size"), lot=text_in(o, "instrument-lot")),
                )
                for o in found("instrument-used")
            ),
            suction=_suction(settings),
            irrigation=_irrigation(settings),
            products=products_of(index, procedure),
            attempts=integer_in(settings, "attempts"),
            duration=measure_in(settings, "duration"),
            tolerance=coded(tolerance) if tolerance else None,
            pain_before=score("pain-before"),
            pain_peak=score("pain-peak"),
            pain_after=score("pain-after"),
            events=tuple(
                part_of_visit(
                    Event, kept(term=asserted(o), severity=word_in(o, "severity", "severity"), done=note_of(o))
                )
                for o in found("procedure-event")
            ),
            outcome=_term(procedure.get("outcome")),
            outcome_reason=_term(procedure.get("statusReason")),
            practitioner=_practitioner(index, procedure),
            note=note_of(procedure),
        ),
    )


def _term(concept: Json | None) -> Any:
    return term(concept) if concept else None


def _suction(settings: Json) -> Suction | None:
    fields = kept(
        pressure=measure_in(settings, "suction-pressure"),
        taken=word_in(settings, "suction-taken", "taken"),
        time=measure_in(settings, "suction-time"),
    )
    return part_of_visit(Suction, fields) if fields else None


def _irrigation(settings: Json) -> Irrigation | None:
    fields = kept(
        temperature=measure_in(settings, "water-temperature"),
        pressure=measure_in(settings, "water-pressure"),
        volume=measure_in(settings, "water-volume"),
        tip=text_in(settings, "irrigation-tip"),
    )
    return part_of_visit(Irrigation, fields) if fields else None


def _practitioner(index: Index, procedure: Json) -> str | None:
    """The key of who did it, where the visit had more than one and the Procedure names just one."""
    performers = procedure.get("performer", ())
    if len(performers) != 1 or len(list(index.of_type("Practitioner"))) < 2:
        return None
    who = index.at(performers[0].get("actor"))
    return key_of(who) if who else None
