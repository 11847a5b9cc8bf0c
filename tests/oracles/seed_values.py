"""Faults of simple values and of their codes (classes 3 and 5): seeds/values.yaml, and the published expansions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.oracles.seed_definitions import Json, codes, plus, table
from tests.oracles.seed_fault import Fault, Found, found

OPEN = {"http://hl7.org/fhir/ValueSet/mimetypes": ("no type of media", ("plain", "text/", "/plain", "text/plain/x"))}


def faults(data: Json) -> Iterator[Fault]:
    for each in found(data):
        if each.simple:
            for keys, _ in each.items:
                yield from forms(each, keys)
        if each.fact.codes:
            for keys, value in each.items:
                yield from bindings(each, keys, value)


def forms(each: Found, keys: tuple[Any, ...]) -> Iterator[Fault]:
    """5: values that do not have the form of their type."""
    for kind, bad in table("values").get(each.spot.type, {}).items():
        yield each.fault(5, f"{each.spot.type}: {kind}", keys, bad)


def bindings(each: Found, keys: tuple[Any, ...], value: Any) -> Iterator[Fault]:
    """3: codes that the required list does not have."""
    members = codes().get(each.fact.codes)
    if each.spot.type == "code" and members:
        listed = " in a list" if isinstance(each.spot.value, list) else ""
        known = {code for _, code in members}
        for kind, bad in (
            ("an unknown code", "zz-wrong"),
            ("a code in capitals", str(value).upper()),
            ("a code with a letter more", f"{value}x"),
            ("a display for a code", f"{value} "),
        ):
            if bad not in known:
                yield each.fault(3, f"{kind}{listed}", keys, bad)
    elif each.spot.type == "code" and each.fact.codes in OPEN:
        kind, bads = OPEN[each.fact.codes]
        for bad in bads:
            yield each.fault(3, kind, keys, bad)
    elif each.spot.type == "CodeableConcept" and members and isinstance(value, dict):
        system, code = members[0]
        inside = [
            f"{path}.coding[0]{end}" for path in each.fault(3, "", keys, {}).places for end in ("", ".code", ".system")
        ]
        for kind, bad in {
            "a concept of words alone": {"text": "word"},
            "a concept with an unknown code": {"coding": [{"system": system, "code": "zz-wrong"}]},
            "a concept with a code of another system": {
                "coding": [{"system": "https://example.org/own", "code": code}]
            },
            "a concept with a code without system": {"coding": [{"code": code}]},
            "a concept with a system without code": {"coding": [{"system": system}]},
            "a concept with extensions alone": {
                "extension": [{"url": "https://example.org/a", "valueCode": "unknown"}]
            },
        }.items():
            yield each.fault(3, kind, keys, bad, *inside)


def language_faults(data: Json) -> Iterator[Fault]:
    """3: languages are held to the whole list of BCP 47 by the binding's greatest value set."""
    type = data["resourceType"]
    for bad in ("e", "english language", "en_GB", "toolongword", "en--GB"):
        place = frozenset((f"{type}.language",))
        yield Fault(3, "no tag of a language", f"{type}.language", place, lambda bad=bad: plus(language=bad)(data))  # type: ignore[misc]
