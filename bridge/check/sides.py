"""C: the side told in several ways must be one side: by code, by body site, in words, and across resources."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from html import unescape
from typing import Any, NamedTuple

from bridge.check.look import codings, part, parts, text
from bridge.check.references import Index
from bridge.check.section_sides import Compared, check_sections
from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.own import own_code, word
from bridge.fhir.systems import OWN, SCT, system
from bridge.fhir.thresholds import threshold_ear
from bridge.issues import Issue, Where, issue
from bridge.phrases import side_words
from bridge.shapes import Json
from bridge.wording import in_any_language

Ears = frozenset[Ear]
_BOTH: Ears = frozenset(("right", "left"))
_NONE: Ears = frozenset()
_CODED = ("bodySite", "category", "code", "valueCodeableConcept", "reasonCode", "complication")
_LINKS = ("reasonReference", "partOf", "hasMember", "derivedFrom", "complicationDetail", "supportingInfo")
"""References by which one resource speaks of the same ear as another."""
_TAG = re.compile(r"<[^<>]*>")
_LONGEST = 20_000
_OPENING = re.compile(r"\s*(right|left) ear[,:]", re.IGNORECASE)
_CLOSING = re.compile(r", (right|left) ear(?:, (?:before|after) the work)?$")
_EAR: dict[str, Ears] = {"right": frozenset(("right",)), "left": frozenset(("left",))}


class Told(NamedTuple):
    """One place of a resource that names ears."""

    path: str
    ears: Ears
    coded: bool


@cache
def laterality() -> dict[str, Ears]:
    """Ears by SNOMED CT code, from `mappings/laterality.csv`."""
    return _sided("laterality.csv")


@cache
def _sided(table: str) -> dict[str, Ears]:
    named: dict[str, Ears] = {"right": frozenset(("right",)), "left": frozenset(("left",)), "bilateral": _BOTH}
    return {row["code"]: named[row["laterality"]] for row in load_csv(table_path(table))}


def check_sides(resources: list[tuple[str, Json]], bundle: Any) -> Iterator[Issue]:
    """`resources`: path and content of each resource that stands for itself; `bundle`: where references lead."""
    index, compared = Index(bundle if isinstance(bundle, dict) else {}), Compared()
    sides: dict[int, Ears] = {}
    for path, resource in resources:
        told = list(_told(resource, path))
        sides[id(resource)] = told[0].ears if told else _NONE
        for other in told[1:]:
            if told[0].ears.isdisjoint(other.ears):
                yield _wrong(told[0], other)
        yield from _unlike(resource, path, told)
    for path, resource in resources:
        if text(resource, "resourceType") == "Composition":
            yield from check_sections(path, resource, index, sides, compared)
        mine = sides[id(resource)]
        for place, reference in _references(resource, path) if mine else ():
            target = index.find(reference, resource).resource
            theirs = sides.get(id(target), _NONE)
            if theirs and mine.isdisjoint(theirs):
                message = f"This is about the {_name(mine)}, but leads to something about the {_name(theirs)}."
                yield issue("C103", message, Where(path=place))


def _told(resource: Json, path: str) -> Iterator[Told]:
    """Places that name ears: coded ones first (body site or category before code), then words."""
    for key in _CODED:
        ears: Ears = _NONE.union(*(_of_code(s, c) for s, c in codings(resource, key)))
        if ears:
            yield Told(f"{path}.{key}", ears, True)
    for key in ("component", "input"):
        for number, told in enumerate(parts(resource, key)):
            ears = _NONE.union(*(_of_code(*c) for c in codings(told, "valueCodeableConcept")))
            if ears:
                yield Told(f"{path}.{key}[{number}].valueCodeableConcept", ears, True)
    for place, words in _words(resource, path):
        ears = frozenset(side_words(words[:_LONGEST]))
        if ears:
            yield Told(place, ears, False)


def _unlike(resource: Json, path: str, told: list[Told]) -> Iterator[Issue]:
    """Words that name one ear where the code of the body site names both, or where nothing is coded at all."""
    both = [site for site in parts(resource, "bodySite") if any(_of_code(*c) == _BOTH for c in _codings(site))]
    if both:
        words = [(f"{path}.bodySite.text", text(site, "text")) for site in both]
        words += [(f"{path}.code.text", text(code, "text")) for code in parts(resource, "code")]
        for place, ears in [(p, frozenset(side_words(w[:_LONGEST]))) for p, w in words] + _opening(resource, path):
            if len(ears) == 1:
                yield issue(
                    "C102", f"This names the {_name(ears)}, while the body site is both ears.", Where(path=place)
                )
    elif own_code(resource.get("code")) and not any(t.coded for t in told):
        words = [(f"{path}.code.text", text(code, "text")) for code in parts(resource, "code")]
        named = [(p, e) for p, w in words if (e := _closing(w))] + _opening(resource, path)
        if named:
            message = f"The words name the {_name(named[0][1])}, and no body site is coded."
            yield issue("C105", message, Where(path=path))


def _opening(resource: Json, path: str) -> list[tuple[str, Ears]]:
    """The ear with which the narrative begins, as every narrative of ours does where there is one."""
    found = _OPENING.match(_narrative(part(resource, "text")))
    return [(f"{path}.text.div", _EAR[found[1].lower()])] if found else []


def _closing(words: str) -> Ears:
    """The ear at the end of an observation's name of ours: `Wax, right ear, before the work`."""
    found = _CLOSING.search(words)
    return _EAR[found[1]] if found else _NONE


def _codings(concept: Json) -> list[tuple[str, str]]:
    return [(text(c, "system"), text(c, "code")) for c in parts(concept, "coding")]


def _of_code(code_system: str, code: str) -> Ears:
    if code_system == SCT:
        return laterality().get(code, _NONE)
    if code_system == system("icd-10-cm"):
        return _sided("laterality-icd-10-cm.csv").get(code, _NONE)
    if code_system == OWN:
        ear = word("ear", {"coding": [{"system": OWN, "code": code}]})
        return _EAR[ear] if ear else _NONE
    ear = threshold_ear(code) if code_system == system("loinc") else None
    return frozenset((ear,)) if ear else _NONE


def _words(resource: Json, path: str) -> Iterator[tuple[str, str]]:
    for key in _CODED:
        for concept in parts(resource, key):
            yield f"{path}.{key}.text", text(concept, "text")
            for number, coding in enumerate(parts(concept, "coding")):
                yield f"{path}.{key}.coding[{number}].display", text(coding, "display")
    for key in ("valueString", "description"):
        yield f"{path}.{key}", text(resource, key)
    for component in parts(resource, "component"):
        for concept in parts(component, "valueCodeableConcept"):
            yield f"{path}.component", text(concept, "text")
        yield f"{path}.component", text(component, "valueString")
    for number, note in enumerate(parts(resource, "note")):
        yield f"{path}.note[{number}].text", text(note, "text")
    if resource.get("bodySite") or resource.get("code"):
        for narrative in parts(resource, "text"):
            yield f"{path}.text.div", _narrative(narrative)


def _narrative(narrative: Json) -> str:
    """The words of a narrative; the ear that one of ours begins with is named in English, whatever its language."""
    said = unescape(_TAG.sub(" ", text(narrative, "div")[:_LONGEST])).lstrip()
    for words, ear in _openings():
        if said[: len(words)].casefold() == words:
            return f"{ear} ear{said[len(words) :]}"
    return said


@cache
def _openings() -> tuple[tuple[str, Ear], ...]:
    return tuple((words.casefold(), ear) for ear in EARS for words in sorted(in_any_language(f"ear.{ear}")))


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
