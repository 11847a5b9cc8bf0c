"""Hearing tests from their Observations: the mirror of build/hearing.py."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import Ear, Stage
from bridge.fhir.own import word
from bridge.receive.index import Index
from bridge.receive.values import kept, measure_in, one, part_of_visit, word_in
from bridge.visit.ear import Hearing, Threshold, Tympanometry

Json = dict[str, Any]


def hearing(index: Index, ear: Ear, stage: Stage) -> Hearing | None:
    def first(kind: str) -> Json:
        return index.observation(kind, ear=ear, stage=stage) or {}

    for conduction in ("air", "bone"):  # they list thresholds, which are read one by one
        first(f"audiogram-{conduction}")
    fields = kept(
        thresholds=tuple(_threshold(o) for o in index.observations("hearing-threshold", ear=ear, stage=stage)),
        tympanometry=_tympanometry(first("tympanometry")),
        rinne=word("rinne", first("rinne").get("valueCodeableConcept")),
        whisper=first("whispered-voice").get("valueString"),
        note=first("hearing-note").get("valueString"),
    )
    return part_of_visit(Hearing, fields) if fields else None


def weber(index: Index) -> str | None:
    found = index.observation("weber")
    return word("weber", found.get("valueCodeableConcept")) if found else None


def _threshold(observation: Json) -> Threshold:
    frequency = measure_in(observation, "frequency")
    tried = one(observation, "level-tried")
    return part_of_visit(
        Threshold,
        kept(
            frequency=int(frequency.value) if frequency else None,
            level=(tried or observation)["valueQuantity"]["value"],
            conduction=word_in(observation, "conduction", "conduction"),
            masked=word_in(observation, "masking", "masking") == "masked",
            no_response=tried is not None,
        ),
    )


def _tympanometry(observation: Json) -> Tympanometry | None:
    fields = kept(
        type=word("tympanogram", observation.get("valueCodeableConcept")),
        peak_pressure=measure_in(observation, "tympanogram-pressure"),
        admittance=measure_in(observation, "tympanogram-admittance"),
        canal_volume=measure_in(observation, "tympanogram-volume"),
        probe=measure_in(observation, "tympanogram-probe"),
    )
    return part_of_visit(Tympanometry, fields) if fields else None
