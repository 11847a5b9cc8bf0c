"""The items of a bundle, ours or of another maker: what its resources code, with the ear that their structure names."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, lru_cache
from typing import Any

from bridge.audit.shapes import Item, Side
from bridge.audit.tables import Code, ears, tags
from bridge.audit.visit_items import Words
from bridge.fhir.systems import OWN, SCT
from bridge.phrases.tables import role
from bridge.shapes import Json
from bridge.visit.base import Coding

Known = Callable[[str, str], Words]
"""By type of resource and words: what is known of them."""
MOST = 2_000
"""Resources of one bundle that are looked at."""
_CODES = {
    "Condition": ("code",),
    "Observation": ("code", "valueCodeableConcept"),
    "Procedure": ("code",),
    "AllergyIntolerance": ("code",),
    "MedicationStatement": ("medicationCodeableConcept",),
    "MedicationRequest": ("medicationCodeableConcept",),
    "Flag": ("code",),
    "ServiceRequest": ("code",),
    "FamilyMemberHistory": (),
}
_SIDED = frozenset({"Condition", "Procedure", "Observation"})
_LONGEST = 200
_LONGEST_NOTE = 2_000
_ALSO_OF_OTHERS = (
    "hearing hl side sided sides inner outer middle deaf deafness external posterior anterior tube blocked impacted "
    "pars"
)
"""Words of the ear that are words of other parts too, or of both ears together."""


def bundle_items(resources: list[tuple[str, Json]], known: Known) -> tuple[Item, ...]:
    """Items of the resources, each with its path in the bundle; whatever has a wrong shape is passed over."""
    events = any(_event(resource) for _, resource in resources)
    return tuple(item for path, resource in resources[:MOST] for item in _items(path, resource, known, events))


def _event(resource: Json) -> bool:
    return resource.get("resourceType") == "AdverseEvent" or bool(resource.get("complication"))


def _items(path: str, resource: Json, known: Known, events: bool) -> Iterator[Item]:
    kind = resource.get("resourceType")
    if isinstance(kind, str) and kind in _SIDED:
        yield from _sites(path, kind, resource)
    for element in _CODES.get(kind, ()) if isinstance(kind, str) else ():
        concept = resource.get(element)
        if not isinstance(concept, dict):
            continue
        codings, text = codings_of(concept), str_of(concept, "text")[:_LONGEST]
        if not (codings or text):
            continue
        words = known(str(kind), text) if text else Words()
        own = any(c.system == OWN for c in codings)
        question = element == "code" and kind == "Observation"
        if question and own:
            continue  # one of our own kinds of observation, which nobody chose
        side = _side(resource, codings, text) if kind in _SIDED and not question else ""
        notes = "" if events or kind != "Procedure" else " ".join(str_of(n, "text") for n in dicts(resource, "note"))
        yield Item(
            f"{path}.{element}",
            _kind(resource, str(kind), element),
            text,
            codings,
            str(kind),
            "" if side == "unknown" and own else side,
            _assertion(resource, str(kind)),
            due=not str(kind).startswith("Medication"),
            meant=words.meant,
            said=words.said,
            note=notes[:_LONGEST_NOTE],
        )


def _kind(resource: Json, kind: str, element: str) -> str:
    """`Condition.code`, `Observation[8867-4].value`: the same words answer different questions differently."""
    if element != "valueCodeableConcept":
        return f"{kind}.{element.removesuffix('CodeableConcept')}"
    question = resource.get("code")
    codes = sorted(pairs_of(question), key=lambda code: code[0] != OWN)
    name = codes[0][1] if codes else str_of(question, "text")
    return f"{kind}[{name[:40]}].value"


def _sites(path: str, kind: str, resource: Json) -> Iterator[Item]:
    """Body sites as items for which no code is due, so that their codes are looked at as well."""
    for nth, concept in enumerate(dicts(resource, "bodySite")[:20]):
        codings, text = codings_of(concept), str_of(concept, "text")[:_LONGEST]
        if codings:
            place = f"{path}.bodySite[{nth}]"
            yield Item(place, f"{kind}.bodySite", text, codings, due=False)


def codings_of(concept: Any) -> tuple[Coding, ...]:
    """Codings as they are given, without a check of their shape."""
    return tuple(
        _coding(*(str_of(c, key)[:_LONGEST] for key in ("system", "code", "display", "version")))
        for c in dicts(concept, "coding")[:20]
    )


@lru_cache(8_192)
def _coding(system: str, code: str, display: str, version: str) -> Coding:
    return Coding.model_construct(system=system, code=code, display=display or None, version=version or None)


def pairs_of(concept: Any) -> list[Code]:
    """System and code of each coding."""
    return [(str_of(c, "system"), str_of(c, "code")) for c in dicts(concept, "coding")[:20]]


def dicts(node: Any, key: str) -> list[Json]:
    value = node.get(key) if isinstance(node, dict) else None
    if isinstance(value, dict):
        return [value]
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def str_of(node: Any, key: str) -> str:
    value = node.get(key) if isinstance(node, dict) else None
    return value if isinstance(value, str) else ""


def sites_of(resource: Json) -> frozenset[str]:
    """Ears that body sites name by a code."""
    if "bodySite" not in resource:
        return frozenset()
    named = ears()
    return frozenset(
        ear for one in dicts(resource, "bodySite") for code in pairs_of(one) for ear in named.get(code, ())
    )


def named_ears(resource: Json, codings: tuple[Coding, ...]) -> frozenset[str]:
    """Ears that the body site names, or else the code itself."""
    return sites_of(resource) or frozenset().union(*(ears().get((c.system, c.code), frozenset()) for c in codings))


def _side(resource: Json, codings: tuple[Coding, ...], text: str) -> Side:
    named = named_ears(resource, codings)
    if named:
        return "both" if len(named) == 2 else "right" if "right" in named else "left"
    return "unknown" if _of_an_ear(resource, codings, text) else ""


def _of_an_ear(resource: Json, codings: tuple[Coding, ...], text: str) -> bool:
    """Whether something is surely about an ear: its body site or its code is of one, or its words name one."""
    sites = {code for one in dicts(resource, "bodySite") for code in pairs_of(one)}
    if sites & _ear_sites() or any((c.system, c.code) in _ear_codes() for c in codings):
        return True
    return resource.get("resourceType") != "Observation" and not _ear_words().isdisjoint(text.casefold().split())


@cache
def _ear_sites() -> frozenset[Code]:
    return frozenset((SCT, code) for code, tag in tags().items() if tag == "body structure")


@cache
def _ear_codes() -> frozenset[Code]:
    """Codes of findings and acts of the word lists that have a field under an ear."""
    from bridge.audit.tables import meanings

    kinds = ("contents", "canal", "drum", "outer-ear", "cavity", "method", "wax")
    return frozenset(
        code
        for code, concepts in meanings().items()
        if code[0] == SCT
        and tags().get(code[1]) in ("finding", "procedure")
        and any(concept.startswith(kinds) for concept in concepts)
    )


@cache
def _ear_words() -> frozenset[str]:
    return role("ear") - frozenset(_ALSO_OF_OTHERS.split())


def _assertion(resource: Json, kind: str) -> str:
    status = _status(resource, "verificationStatus")
    if status in ("refuted", "entered-in-error"):
        return "absent"
    if status in ("unconfirmed", "provisional", "differential"):
        return "suspected"
    if _status(resource, "clinicalStatus") in ("inactive", "remission", "resolved"):
        return "past"
    if kind == "Procedure" and resource.get("status") != "completed":
        return ""
    if kind == "Observation" or kind.startswith("Medication"):
        return ""
    return "present"


def _status(resource: Json, element: str) -> str:
    return next((str_of(c, "code") for one in dicts(resource, element) for c in dicts(one, "coding")), "")
