"""One ear's record from the Observations about it."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import STAGES, Ear, Stage
from bridge.fhir.elements import ear_of, term
from bridge.fhir.own import word
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.times import from_datetime
from bridge.receive.hearing import hearing
from bridge.receive.hearing_aid import hearing_aid
from bridge.receive.history import past, past_events
from bridge.receive.images import images
from bridge.receive.index import Index
from bridge.receive.values import (
    answer,
    asserted,
    coded,
    integer_in,
    kept,
    measure_in,
    note_of,
    part_of_visit,
    percent_in,
    place_in,
    size_in,
    term_in,
    terms_in,
    when_in,
    word_in,
)
from bridge.receive.work import works
from bridge.visit import EarRecord, Examination, Finding, Part
from bridge.visit.ear import Drum, Impression, Symptom, View, Wax

Json = dict[str, Any]

PARTS = (
    ("contents", "contents"),
    ("canal", "canal"),
    ("drum", "drum"),
    ("outer_ear", "outer-ear"),
    ("mastoid_cavity", "cavity"),
)
_ASSERTED = {"confirmed": "present", "refuted": "absent", "provisional": "suspected", "differential": "suspected"}
"""`unconfirmed` stands for words that nobody could read."""


def ear_record(index: Index, ear: Ear) -> EarRecord | None:
    """What the bundle says of one ear; None where it says nothing."""
    stages = {stage: _examination(index, ear, stage) for stage in STAGES}
    note = index.observation("ear-note", ear=ear)
    change = index.observation("hearing-change", ear=ear)
    fields = kept(
        symptoms=tuple(_symptom(o) for o in index.observations("symptom", ear=ear)),
        history=past_events(index, ear),
        hearing_aid=hearing_aid(index, ear),
        hearing_before=hearing(index, ear, "before"),
        **stages,
        work=works(index, ear),
        hearing_after=hearing(index, ear, "after"),
        hearing_change=coded(change) if change else None,
        impressions=_impressions(index, ear),
        images=images(index, ear),
        note=note["valueString"] if note else None,
    )
    return part_of_visit(EarRecord, fields) if fields else None


def _examination(index: Index, ear: Ear, stage: Stage) -> Examination | None:
    def found(kind: str) -> list[Json]:
        return index.observations(kind, ear=ear, stage=stage)

    def first(kind: str) -> Json | None:
        return index.observation(kind, ear=ear, stage=stage)

    view, wax, note = first("examination-view"), first("wax-state"), first("examination-note")
    fields: dict[str, Any] = kept(
        view=_view(view) if view else None,
        wax=_wax(wax) if wax else None,
        note=note["valueString"] if note else None,
        **{field: _part(first(f"{stem}-state"), found(f"{stem}-finding")) for field, stem in PARTS if field != "drum"},
        drum=_drum(first("drum-view"), first("drum-state"), found("drum-finding")),
    )
    return part_of_visit(Examination, fields) if fields else None


def _view(observation: Json) -> View:
    return part_of_visit(
        View,
        kept(
            achieved=word("view", observation.get("valueCodeableConcept")),
            answer=answer(observation),
            reason=term_in(observation, "absent-reason"),
            device=term_in(observation, "viewing-device"),
            speculum=size_in(observation, "speculum-size"),
        ),
    )


def _wax(observation: Json) -> Wax:
    return part_of_visit(
        Wax,
        kept(
            answer=answer(observation),
            reason=term_in(observation, "absent-reason"),
            amount=coded(observation),
            percent=percent_in(observation, "occlusion"),
            consistency=terms_in(observation, "wax-consistency"),
            colour=terms_in(observation, "wax-colour"),
            adherence=term_in(observation, "wax-adherence"),
            place=place_in(observation),
            note=note_of(observation),
        ),
    )


def _part_fields(state: Json | None, findings: list[Json]) -> dict[str, Any]:
    told = state or {}
    return kept(
        answer=answer(told),
        reason=term_in(told, "absent-reason"),
        findings=tuple(_finding(o) for o in findings),
        note=note_of(told),
    )


def _part(state: Json | None, findings: list[Json]) -> Part | None:
    fields = _part_fields(state, findings)
    return part_of_visit(Part, fields) if fields else None


def _drum(view: Json | None, state: Json | None, findings: list[Json]) -> Drum | None:
    fields = _part_fields(state, findings)
    seen = word("drum-view", view.get("valueCodeableConcept")) if view else None
    if view and seen in ("whole", "partly"):
        fields |= kept(seen=seen, seen_reason=term_in(view, "absent-reason"))
    return part_of_visit(Drum, fields) if fields else None


def _finding(observation: Json) -> Finding:
    return part_of_visit(
        Finding,
        kept(
            term=asserted(observation),
            place=place_in(observation),
            amount=term_in(observation, "finding-amount"),
            percent=percent_in(observation, "finding-percent"),
            width=measure_in(observation, "finding-width"),
            moisture=term_in(observation, "moisture"),
            how=word_in(observation, "finding-how", "how"),
        ),
    )


def _symptom(observation: Json) -> Symptom:
    return part_of_visit(
        Symptom,
        kept(
            term=asserted(observation),
            onset=when_in(observation, "symptom-onset"),
            developed_over=measure_in(observation, "symptom-developed"),
            severity=word_in(observation, "severity", "severity"),
            score=integer_in(observation, "symptom-score"),
            note=note_of(observation),
        ),
    )


def _impressions(index: Index, ear: Ear) -> tuple[Impression, ...]:
    """In the order of the bundle, which is the order of the record, whatever each was written as."""
    found = []
    for resource in index.all:
        if resource["resourceType"] == "Condition" and not past(resource):
            if ear_of((resource.get("bodySite") or [None])[0]) == ear:
                found.append(_impression(index.use(resource)))
        elif kind_of(resource) == "no-impression" and ear_of(resource.get("bodySite")) == ear:
            index.use(resource)
            fields = kept(term=asserted(resource), onset=when_in(resource, "symptom-onset"), note=note_of(resource))
            found.append(part_of_visit(Impression, fields))
    return tuple(found)


def _impression(condition: Json) -> Impression:
    verification = _code(condition.get("verificationStatus"))
    past = verification == "confirmed" and _code(condition.get("clinicalStatus")) == "inactive"
    assertion = "past" if past else _ASSERTED.get(verification)
    category = [_code(c) for c in condition.get("category", ())]
    onset = condition.get("onsetDateTime")
    return part_of_visit(
        Impression,
        kept(
            term=term(condition["code"], assertion),
            standing="problem-list-item" in category,
            onset=from_datetime(onset) if onset else None,
            note=note_of(condition),
        ),
    )


def _code(concept: Json | None) -> str:
    return str(next((c.get("code") for c in (concept or {}).get("coding", ())), ""))
