"""What was seen of each ear before and after, as Observations. Not recorded makes no resource."""

from __future__ import annotations

from bridge.build.context import Context, Json
from bridge.build.observation import (
    answer_value,
    assertion_value,
    coded,
    component,
    components,
    fixed_component,
    observe,
    percent_component,
    place_components,
)
from bridge.ear_words import EARS, STAGES, Ear, Stage
from bridge.fhir.own import coding, fixed
from bridge.visit import Examination, Finding, Part
from bridge.visit.ear import Drum, View, Wax

PARTS = (
    ("contents", "contents", "ear canal"),
    ("canal", "canal", "ear canal"),
    ("drum", "drum", "eardrum"),
    ("outer_ear", "outer-ear", "outer ear"),
    ("mastoid_cavity", "cavity", "mastoid cavity"),
)
"""Field of the examination, stem of its Observation kinds, words for the body site."""


def build_examinations(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        for stage in STAGES:
            examination = getattr(record, stage) if record else None
            if examination:
                _examination(context, examination, ear, stage)


def _examination(context: Context, examination: Examination, ear: Ear, stage: Stage) -> None:
    if examination.view:
        _view(context, examination.view, ear, stage)
    if examination.wax:
        _wax(context, examination.wax, ear, stage)
    for field, stem, site in PARTS:
        part = getattr(examination, field)
        if part:
            _part(context, part, stem, site, ear, stage)
    if examination.note:
        observe(context, "examination-note", (), {"valueString": examination.note}, [], ear=ear, stage=stage)


def _view(context: Context, view: View, ear: Ear, stage: Stage) -> None:
    value = answer_value(view.answer)
    if view.achieved:
        value = {"valueCodeableConcept": fixed("view", view.achieved)}
    details = [
        *component("absent-reason", view.reason),
        *component("viewing-device", view.device),
        *component("speculum-size", view.speculum),
    ]
    observe(context, "examination-view", (), value, details, ear=ear, stage=stage)


def _wax(context: Context, wax: Wax, ear: Ear, stage: Stage) -> None:
    details = [
        *component("absent-reason", wax.reason),
        *percent_component("occlusion", wax.percent),
        *components("wax-consistency", wax.consistency),
        *components("wax-colour", wax.colour),
        *component("wax-adherence", wax.adherence),
        *place_components(wax.place),
    ]
    value = coded(wax.amount) or answer_value(wax.answer)
    observe(context, "wax-state", (), value, details, ear=ear, stage=stage, site="ear canal", note=wax.note)


def _part(context: Context, part: Part, stem: str, site: str, ear: Ear, stage: Stage) -> None:
    if isinstance(part, Drum):
        _drum_view(context, part, ear, stage)
    if part.answer or part.note:
        value = answer_value(part.answer) or {"dataAbsentReason": {"coding": [coding("data-absent-reason:as-text")]}}
        details = component("absent-reason", part.reason)
        observe(context, f"{stem}-state", (), value, details, ear=ear, stage=stage, site=site, note=part.note)
    for index, finding in enumerate(part.findings):
        _finding(context, finding, f"{stem}-finding", index, site, ear, stage)


def _drum_view(context: Context, drum: Drum, ear: Ear, stage: Stage) -> None:
    seen = "not seen" if drum.answer == "not seen" else drum.seen
    if seen:
        reason = drum.reason if drum.answer == "not seen" else drum.seen_reason
        value = {"valueCodeableConcept": fixed("drum-view", seen)}
        details = component("absent-reason", reason)
        observe(context, "drum-view", (), value, details, ear=ear, stage=stage, site="eardrum")


def _finding(context: Context, finding: Finding, what: str, index: int, site: str, ear: Ear, stage: Stage) -> None:
    value, question = assertion_value(finding.term)
    details: list[Json] = [
        *question,
        *place_components(finding.place),
        *component("finding-amount", finding.amount),
        *percent_component("finding-percent", finding.percent),
        *component("finding-width", finding.width),
        *component("moisture", finding.moisture),
        *fixed_component("finding-how", "how", finding.how),
    ]
    observe(context, what, (index,), value, details, ear=ear, stage=stage, site=site)
