"""What the client told and what was noted freely: symptoms, access needs, hearing after, notes."""

from __future__ import annotations

from bridge.build.context import Context
from bridge.build.observation import (
    assertion_value,
    coded,
    component,
    fixed_component,
    observe,
    when_component,
)
from bridge.ear_words import EARS


def build_symptoms(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        for index, symptom in enumerate(record.symptoms if record else ()):
            value, question = assertion_value(symptom.term)
            details = [
                *question,
                *when_component("symptom-onset", symptom.onset),
                *component("symptom-developed", symptom.developed_over),
                *fixed_component("severity", "severity", symptom.severity),
                *component("symptom-score", symptom.score),
            ]
            observe(context, "symptom", (index,), value, details, ear=ear, note=symptom.note)


def build_access_needs(context: Context) -> None:
    for index, need in enumerate(context.visit.access_needs):
        observe(context, "access-need", (index,), {"valueString": need}, [])


def build_notes(context: Context) -> None:
    visit = context.visit
    for ear in EARS:
        record = visit.ear(ear)
        if record and record.hearing_change:
            observe(context, "hearing-change", (), coded(record.hearing_change), [], ear=ear)
        if record and record.note:
            observe(context, "ear-note", (), {"valueString": record.note}, [], ear=ear)
    if visit.note:
        observe(context, "visit-note", (), {"valueString": visit.note}, [])
