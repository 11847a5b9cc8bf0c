"""Codes by which it is plain at first sight that a resource does not conform to a profile.

A profile mostly asks for one code or category; a resource without it need not be held against all the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple

from bridge.check.look import parts, text
from bridge.check.profiles.part import Part
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.shapes import Json

Codes = tuple[tuple[str, str], ...]
"""Systems and codes."""


class Mark(NamedTuple):
    """An element of type CodeableConcept right under a resource, and what it must have a code of."""

    key: str
    codes: frozenset[str]
    value_set: str
    """Where no single codes are named, the set of which it must have one."""


def marks(root: Part) -> tuple[Mark, ...]:
    """What a resource must have to conform to a profile; the plainest first."""
    found = []
    for part in root.parts:
        if "[" in part.name or "CodeableConcept" not in {place[1] for place in part.places(_type(root))}:
            continue
        needed = part.min > 0 or any(element.required for element in _elements(root, part))
        found += [Mark(part.name, codes, "") for one in part.slices if one.min and (codes := _codes(one))]
        if needed and (codes := _codes(part)):
            found.append(Mark(part.name, codes, ""))
        elif needed:
            found += [Mark(part.name, frozenset(), url) for strength, url in part.binding if strength == "required"]
    return tuple(sorted(found, key=lambda mark: bool(mark.value_set)))


def codes_in(resource: Any, key: str) -> Codes:
    """Every code of the concepts under a key, with its system."""
    concepts = parts(resource, key)
    return tuple((text(c, "system"), text(c, "code")) for concept in concepts for c in parts(concept, "coding"))


def marked_otherwise(
    wanted: Iterable[Mark], given: Mapping[str, Codes], in_set: Callable[[str, str, str], bool]
) -> bool:
    """Whether one of the marks is surely not there.

    `given`: the codes under each key; `in_set`: whether a value set may have a code.
    """
    for key, codes, value_set in wanted:
        if value_set:
            if not any(in_set(value_set, system, code) for system, code in given[key] if code):
                return True
        elif not any(code in codes for _, code in given[key]):
            return True
    return False


def _type(root: Part) -> str:
    return root.id.partition(".")[0]


def _elements(root: Part, part: Part) -> Iterable[Element]:
    element = tables.elements(_type(root)).get(part.name)
    return (element,) if element else ()


def _codes(part: Part) -> frozenset[str]:
    """The codes of which the concept must have one; empty where that is not plain."""
    for wanted in (part.fixed, part.pattern):
        if wanted is not None and isinstance(wanted[1], dict):
            return _first(wanted[1])
    coding = part.part("coding")
    if coding is None:
        return frozenset()
    for one in (coding, *(s for s in coding.slices if s.min)):
        if not one.min:
            continue
        for wanted in (one.fixed, one.pattern):
            if wanted is not None and isinstance(wanted[1], dict):
                return _first({"coding": [wanted[1]]})
        code = one.part("code")
        if code is not None and code.fixed is not None and isinstance(code.fixed[1], str):
            return frozenset({code.fixed[1]})
    return frozenset()


def _first(concept: Json) -> frozenset[str]:
    """One code that the concept has, for each coding of a pattern must be there."""
    codes = [text(coding, "code") for coding in parts(concept, "coding")]
    return frozenset(codes[:1]) if codes and codes[0] else frozenset()
