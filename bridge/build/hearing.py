"""Hearing tests: each threshold an Observation, grouped by an audiogram; tympanometry, tuning fork, whispered voice."""

from __future__ import annotations

from decimal import Decimal

from bridge.build.context import Built, Context, Json, one, ref_to
from bridge.build.observation import component, fixed_component, observe
from bridge.ear_words import EARS, STAGES, Ear, Stage
from bridge.fhir.elements import quantity
from bridge.fhir.own import coding, fixed
from bridge.fhir.thresholds import threshold_code
from bridge.visit import Measure
from bridge.visit.ear import Hearing, Threshold, Tympanometry


def build_hearing(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        for stage in STAGES:
            hearing = getattr(record, f"hearing_{stage}") if record else None
            if hearing:
                _hearing(context, hearing, ear, stage)
    if context.visit.weber:
        observe(context, "weber", (), {"valueCodeableConcept": fixed("weber", context.visit.weber)}, [])


def _hearing(context: Context, hearing: Hearing, ear: Ear, stage: Stage) -> None:
    made = [_threshold(context, t, ear, stage, number) for number, t in enumerate(hearing.thresholds)]
    for conduction in ("air", "bone"):
        pairs = zip(hearing.thresholds, made, strict=True)
        members = [ref_to(built) for threshold, built in pairs if threshold.conduction == conduction]
        if members:
            observe(context, f"audiogram-{conduction}", (), {"hasMember": members}, [], ear=ear, stage=stage)
    if hearing.tympanometry:
        _tympanometry(context, hearing.tympanometry, ear, stage)
    if hearing.rinne:
        value = {"valueCodeableConcept": fixed("rinne", hearing.rinne)}
        observe(context, "rinne", (), value, [], ear=ear, stage=stage)
    if hearing.whisper:
        observe(context, "whispered-voice", (), {"valueString": hearing.whisper}, [], ear=ear, stage=stage)
    if hearing.note:
        observe(context, "hearing-note", (), {"valueString": hearing.note}, [], ear=ear, stage=stage)


def _threshold(context: Context, threshold: Threshold, ear: Ear, stage: Stage, number: int) -> Built:
    """No response is no threshold: the level is then only the highest one tried."""
    level = decibels(threshold.level)
    value: Json = {"valueQuantity": level}
    tried: list[Json] = []
    if threshold.no_response:
        value = {"dataAbsentReason": {**one("data-absent-reason:unknown"), "text": "no response"}}
        value["interpretation"] = [fixed("response", "none")]
        tried = [
            {**c, "valueQuantity": level} for c in component("level-tried", Measure(value=threshold.level, unit="dB"))
        ]
    details = [
        *component("frequency", Measure(value=Decimal(threshold.frequency), unit="Hz")),
        *fixed_component("conduction", "conduction", threshold.conduction),
        *fixed_component("masking", "masking", "masked" if threshold.masked else None),
        *tried,
    ]
    built = observe(context, "hearing-threshold", (number,), value, details, ear=ear, stage=stage)
    code = threshold_code(ear, threshold.frequency, threshold.conduction)
    if code:
        built.resource["code"]["coding"].insert(0, coding(code))
    return built


def decibels(level: Decimal) -> Json:
    """dB HL as a Quantity: UCUM has no unit of hearing level, so the reference stands in the unit's words."""
    return {**quantity(Measure(value=level, unit="dB")), "unit": "dB HL"}


def _tympanometry(context: Context, test: Tympanometry, ear: Ear, stage: Stage) -> None:
    value = {"valueCodeableConcept": fixed("tympanogram", test.type)} if test.type else {}
    details = [
        *component("tympanogram-pressure", test.peak_pressure),
        *component("tympanogram-admittance", test.admittance),
        *component("tympanogram-volume", test.canal_volume),
        *component("tympanogram-probe", test.probe),
    ]
    observe(context, "tympanometry", (), value, details, ear=ear, stage=stage)
