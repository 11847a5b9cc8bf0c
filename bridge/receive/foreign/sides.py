"""Which ear a resource of another system is about: by its structure only, and by none where two places disagree."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bridge.ear_words import Ear
from bridge.phrases.sides import side_words
from bridge.receive.foreign.addresses import Addresses
from bridge.receive.foreign.leaves import leaves
from bridge.receive.foreign.nodes import MOST_CODINGS, Node, Taking, root
from bridge.receive.foreign.tables import (
    Code,
    kinds_of_codes,
    side_extensions,
    side_qualifiers,
    sided_codes,
    sites,
    thresholds,
)

BODY_STRUCTURE = "http://hl7.org/fhir/StructureDefinition/bodySite"
"""Extension by which a resource names a BodyStructure (FHIR R4, extension bodySite)."""


MOST_PLACES = 20


@dataclass(frozen=True, slots=True)
class Site:
    """The ears that a statement is about, and the field of an examination that its body site names."""

    ears: frozenset[Ear] = frozenset()
    field: str = ""
    at_odds: bool = False
    """Whether two places name different ears; then `ears` is empty."""


def site_of(node: Node, concepts: list[Node], addresses: Addresses, take: Taking) -> Site:
    """The side of a resource, from its body sites and from codes that name an ear by themselves.

    `concepts` say what was found or done. Words never give a side; those that name another one take it away. A side
    alone (7771000 Left) counts where the site or the concept is one of an ear.
    """
    places = [node.at("bodySite")] if isinstance(node.at("bodySite").data, dict) else node.each("bodySite")
    if len(places) > MOST_PLACES or any(len(c.each("coding")) > MOST_CODINGS for c in (*places, *concepts)):
        return Site()
    read = [_place(place, addresses, take) for place in places]
    own = [_own(concept) for concept in concepts]
    told = [ears for ears in own if ears]
    by_place: frozenset[Ear] = frozenset().union(*(r.ears for r in read))
    if by_place and any(not r.ears for r in read):
        return Site(at_odds=True)
    if any(r.at_odds for r in read) or len({*told, *([by_place] if by_place else [])}) > 1:
        return Site(at_odds=True)
    ears = by_place or (told[0] if told else frozenset())
    if ears and not _words((*concepts, *places)) <= ears:
        return Site(at_odds=True)
    elsewhere = any(not r.ear and _other(place) for place, r in zip(places, read, strict=True))
    of_an_ear = not elsewhere and (bool(told) or any(r.ear for r in read) or _ear_terms(concepts))
    fields = {r.field for r in read if r.field}
    return Site(ears if of_an_ear else frozenset(), fields.pop() if len(fields) == 1 else "")


@dataclass(frozen=True, slots=True)
class _Place:
    ears: frozenset[Ear]
    field: str
    ear: bool
    """Whether it is a place of an ear, whichever."""
    at_odds: bool = False


def _place(place: Node, addresses: Addresses, take: Taking) -> _Place:
    parts = [
        place,
        *(e.at("valueCodeableConcept") for e in place.each("extension") if e.text("url") in side_extensions()),
    ]
    for extension in [*place.each("extension"), *root(place.source).each("extension")]:
        if extension.text("url") == BODY_STRUCTURE:
            structure = addresses.find(extension.at("valueReference"))
            if structure:
                parts += [structure.at("location"), *structure.each("locationQualifier")]
    codes = [code for part in parts for code in part.codes()]
    named = {ears for code in codes if (ears := sided_codes().get(code) or side_qualifiers().get(code))}
    hidden = {ears for code in _anywhere(place) if (ears := sided_codes().get(code) or side_qualifiers().get(code))}
    if len(named) > 1 or (named and (hidden - named or not _words((place,)) <= next(iter(named)))):
        return _Place(frozenset(), "", True, True)
    for part in parts:
        for coding in part.each("coding"):
            if coding.text("system") and (coding.text("system"), coding.text("code")) in sided_codes():
                take.mean(coding, "system", "code", "display")
    fields = {sites()[code] for code in codes if sites().get(code)}
    ear = any(code in sites() for code in codes)
    return _Place(named.pop() if named else frozenset(), fields.pop() if len(fields) == 1 else "", ear)


def _anywhere(place: Node) -> list[Code]:
    """Every code of SNOMED CT anywhere inside, in extensions that nobody knows too."""
    if not isinstance(place.data, dict) or not place.has("extension"):
        return []
    return [
        ("http://snomed.info/sct", value) for path, value in leaves(place.data) if path.endswith("ode") and _is(value)
    ]


def _is(value: object) -> bool:
    return isinstance(value, str) and value.isdigit()


def _own(concept: Node) -> frozenset[Ear]:
    """The ears that the codes of a concept name; the empty set where they name none, or not the same."""
    named = {sided_codes()[code] for code in concept.codes() if code in sided_codes()}
    named |= {frozenset([thresholds()[code][0]]) for code in concept.codes() if code in thresholds()}
    return named.pop() if len(named) == 1 else frozenset()


def _words(concepts: Iterable[Node]) -> frozenset[Ear]:
    """The ears that words name."""
    return frozenset(ear for concept in concepts for text in _texts(concept) for ear in side_words(text))


def _texts(concept: Node) -> list[str]:
    return [t[:500] for t in (concept.text("text"), *(c.text("display") for c in concept.each("coding"))) if t]


def _other(place: Node) -> bool:
    """Whether a place is none of an ear, or is told in words only."""
    told = [code for code in place.codes() if code not in side_qualifiers()]
    wordy = bool(place.text("text")) and not list(place.codes())
    return wordy or any(code not in sites() and code not in sided_codes() for code in told)


def _ear_terms(concepts: list[Node]) -> bool:
    """Whether a concept is one of the trade's by its code."""
    return any(kinds_of_codes().get(code, frozenset()) & _OF_AN_EAR for concept in concepts for code in concept.codes())


_OF_AN_EAR = frozenset(
    ("canal", "drum", "contents", "outer-ear", "cavity", "wax-amount", "impression", "symptom", "method", "past-event")
)
