"""C: the side told in several ways must be one side: by code, by body site, in words, and across resources."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from html import unescape
from typing import Any, NamedTuple

from bridge.check.links import Index
from bridge.check.look import codings, parts, text
from bridge.data import load_csv, table_path
from bridge.fhir.systems import SCT, system
from bridge.fhir.thresholds import threshold_ear
from bridge.issues import Issue, Where, issue
from bridge.phrases import side_words
from bridge.shapes import Json
from bridge.visit.base import Ear

Ears = frozenset[Ear]
_BOTH: Ears = frozenset(("right", "left"))
_NONE: Ears = frozenset()
_CODED = ("bodySite", "code", "valueCodeableConcept", "reasonCode")
_LINKS = ("reasonReference", "partOf", "hasMember", "derivedFrom", "complicationDetail", "supportingInfo")
"""References by which one resource speaks of the same ear as another."""
_TAG = re.compile(r"<[^<>]*>")
_LONGEST = 20_000


class Told(NamedTuple):
    """One place of a resource that names ears."""

    path: str
    ears: Ears
    coded: bool


@cache
def laterality() -> dict[str, Ears]:
    """Ears by SNOMED CT code, from `mappings/laterality.csv`."""
    named: dict[str, Ears] = {"right": frozenset(("right",)), "left": frozenset(("left",)), "bilateral": _BOTH}
    return {row["code"]: named[row["laterality"]] for row in load_csv(table_path("laterality.csv"))}


def check_sides(resources: list[tuple[str, Json]], bundle: Any) -> Iterator[Issue]:
    """`resources`: path and content of each resource that stands for itself; `bundle`: where references lead."""
    index = Index(bundle if isinstance(bundle, dict) else {})
    sides: dict[int, Ears] = {}
    for path, resource in resources:
        told = list(_told(resource, path))
        sides[id(resource)] = told[0].ears if told else _NONE
        for other in told[1:]:
            if told[0].ears.isdisjoint(other.ears):
                yield _wrong(told[0], other)
    for path, resource in resources:
        mine = sides[id(resource)]
        for place, reference in _references(resource, path) if mine else ():
            target = index.find(reference, resource).resource
            theirs = sides.get(id(target), _NONE)
            if theirs and mine.isdisjoint(theirs):
                message = f"This is about the {_name(mine)}, but leads to something about the {_name(theirs)}."
                yield issue("C103", message, Where(path=place))


def _told(resource: Json, path: str) -> Iterator[Told]:
    """Places that name ears: coded ones first (body site before code), then words."""
    for key in _CODED:
        ears: Ears = _NONE.union(*(_of_code(s, c) for s, c in codings(resource, key)))
        if ears:
            yield Told(f"{path}.{key}", ears, True)
    for place, words in _words(resource, path):
        ears = frozenset(side_words(words[:_LONGEST]))
        if ears:
            yield Told(place, ears, False)


def _of_code(code_system: str, code: str) -> Ears:
    if code_system == SCT:
        return laterality().get(code, _NONE)
    ear = threshold_ear(code) if code_system == system("loinc") else None
    return frozenset((ear,)) if ear else _NONE


def _words(resource: Json, path: str) -> Iterator[tuple[str, str]]:
    for key in _CODED:
        for concept in parts(resource, key):
            yield f"{path}.{key}.text", text(concept, "text")
    yield f"{path}.valueString", text(resource, "valueString")
    for component in parts(resource, "component"):
        for concept in parts(component, "valueCodeableConcept"):
            yield f"{path}.component", text(concept, "text")
        yield f"{path}.component", text(component, "valueString")
    for number, note in enumerate(parts(resource, "note")):
        yield f"{path}.note[{number}].text", text(note, "text")
    if resource.get("bodySite") or resource.get("code"):
        for narrative in parts(resource, "text"):
            yield f"{path}.text.div", unescape(_TAG.sub(" ", text(narrative, "div")[:_LONGEST]))


def _references(resource: Json, path: str) -> Iterator[tuple[str, str]]:
    for key in _LINKS:
        for number, reference in enumerate(parts(resource, key)):
            yield f"{path}.{key}[{number}]", text(reference, "reference")
    for number, evidence in enumerate(parts(resource, "evidence")):
        for at, reference in enumerate(parts(evidence, "detail")):
            yield f"{path}.evidence[{number}].detail[{at}]", text(reference, "reference")


def _wrong(first: Told, other: Told) -> Issue:
    rule = "C101" if first.coded and other.coded else "C102"
    how = "is coded for" if other.coded else "speaks of"
    place = first.path.rpartition(".")[2] if first.coded else first.path.partition(".text")[0].rpartition(".")[2]
    message = f"This {how} the {_name(other.ears)}, while {place} of the same entry says the {_name(first.ears)}."
    return issue(rule, message, Where(path=other.path))


def _name(ears: Ears) -> str:
    return f"{next(iter(ears))} ear" if len(ears) == 1 else "two ears"
