"""Faults of shape: what is missing, too many, unknown, or answered twice (classes 1, 2, 6 and 7)."""

from __future__ import annotations

from collections.abc import Iterator

from tests.oracles.seed_definitions import DROP, Json, elements, plus, primitives, spell, spelt, without
from tests.oracles.seed_fault import Fault, Found, fault, found, objects

BESIDE = {"extension": [{"url": "https://example.org/a", "valueCode": "a"}]}


def faults(data: Json) -> Iterator[Fault]:
    for each in found(data):
        yield from missing(each)
        yield from too_many(each)
        yield from clashes(each)
    for keys, owner, value in objects(data):
        yield from lacking(data, keys, owner, value)
        yield from unknown(data, keys, owner, value)


def missing(each: Found) -> Iterator[Fault]:
    """1: a required element taken out, with its `_x`. An object that is left empty is told where it stands, too."""
    if not each.fact.min:
        return
    what = "choice" if each.fact.choice else "simple value" if each.simple else "object"
    name = str(each.keys[-1])
    yield each.fault(1, f"{what} in {each.around}", each.parent, without(name), at=each.parent)
    if each.spot.owner in ("Extension",):
        yield each.fault(1, "the url of an extension", each.parent, without("url"), at=each.parent)


def lacking(data: Json, keys: tuple[object, ...], owner: str, value: Json) -> Iterator[Fault]:
    """1: a part or data type added with nothing of what it must have."""
    for fact in elements(owner).values():
        for key, type in fact.keys.items():
            where = type[1:] if type.startswith("#") else fact.path if type in ("BackboneElement", "Element") else type
            if fact.choice or key in value or type in primitives() or type == "Resource" or fact.max == "0":
                continue
            if any(inner.min for inner in elements(where).values()):
                new = [BESIDE] if fact.max != "1" else BESIDE
                at = (*keys, key, 0) if fact.max != "1" else (*keys, key)
                kind = (
                    "an added part without what it needs"
                    if "." in where
                    else "an added data type without what it needs"
                )
                yield fault(1, kind, fact.path, data, keys, plus(**{key: new}), at=at)


def too_many(each: Found) -> Iterator[Fault]:
    """2: lists where one is allowed, one where a list is needed, and lists of nothing."""
    value, keys = each.spot.value, each.keys
    kind = "simple value" if each.simple else "object"
    if isinstance(value, list):
        if value[0] is not None:
            yield each.fault(2, f"one {kind} where a list is needed", keys, value[0])
        yield each.fault(2, f"an empty list of {kind}s", keys, [], each.parent_path)
        if each.simple:
            name = f"_{keys[-1]}"
            yield each.fault(2, "an object beside a list", each.parent, plus(**{name: BESIDE}), at=(*each.parent, name))
        return
    yield each.fault(2, f"a list of one {kind} where one is allowed", keys, [value])
    yield each.fault(2, f"two {kind}s where one is allowed", keys, [value, value])
    yield each.fault(2, f"a list of no {kind} where one is allowed", keys, [])
    if each.simple and not each.fact.attribute and each.spot.type != "xhtml":
        name = f"_{keys[-1]}"
        yield each.fault(2, "a list beside one value", each.parent, plus(**{name: [BESIDE]}), at=(*each.parent, name))


def unknown(data: Json, keys: tuple[object, ...], owner: str, value: Json) -> Iterator[Fault]:
    """6: a key that the standard does not have there."""
    around = "a resource" if "resourceType" in value else "a part" if "." in owner else "a data type"
    around = "an extension" if owner == "Extension" else around

    def add(kind: str, key: str, new: object) -> Fault:
        return fault(6, kind, owner, data, keys, plus(**{key: new}), at=(*keys, key))

    yield add(f"an invented key in {around}", "zzUnknown", "a")
    yield add("an object under an invented key", "own", {"a": 1})
    yield add("a list under an invented key", "own", ["a"])
    yield add("an invented key with a line before it", "_zzUnknown", BESIDE)
    yield add("comments of the first drafts of JSON", "fhir_comments", ["a"])
    for key, (fact, type) in list(spelt(owner).items()):
        if fact.choice and fact.name[:-3] not in spelt(owner):
            yield add("a choice without its type", fact.name[:-3], "a")
            lower = f"{fact.name[:-3]}{type[0].lower()}{type[1:]}"
            if lower != key:
                yield add("a choice with a small letter", lower, "a")
            yield add("a choice by its name in the definitions", fact.name, "a")
        if key in value and key != key.lower() and key.lower() not in spelt(owner):
            yield add("a name in small letters", key.lower(), value[key])
        if key in value and type not in primitives():
            yield add("a line before the name of an object", f"_{key}", BESIDE)
    if "resourceType" not in value and "resourceType" not in spelt(owner):
        yield add("the kind of a resource where none is", "resourceType", "Patient")
    if "valueQuantity" in spelt(owner) and "valueDecimal" not in spelt(owner):
        yield add("a type that the choice does not have", "valueDecimal", 1)
    if "resourceType" in value:
        for told in ("Visit", "patient", "", "DomainResource", "Quantity", "Resource"):
            # the outermost one is then no resource that could be named
            more = ("Resource", f"{spell(data, keys)}.resourceType", told, data["resourceType"])
            yield fault(6, "no kind of resource", owner, data, (*keys, "resourceType"), told, *more, at=keys)
        yield fault(6, "no kind of resource is told", owner, data, (*keys, "resourceType"), DROP, "Resource", at=keys)


def clashes(each: Found) -> Iterator[Fault]:
    """7: two answers to one choice."""
    if not each.fact.choice:
        return
    others = [key for key in each.fact.keys if key != each.keys[-1]]
    for other in others:
        type = each.fact.keys[other]
        name = each.fact.name[:-3]
        places = (f"{each.parent_path}.{other}", f"{each.parent_path}.{each.keys[-1]}")
        new = SAMPLES.get(type, BESIDE)
        yield each.fault(7, f"two answers to {name}", each.parent, plus(**{other: new}), *places, at=each.parent)
        if type in primitives():
            extended = plus(**{f"_{other}": BESIDE})
            more = (*places, spell(each.data, (*each.parent, f"_{other}")))
            yield each.fault(7, "a second answer by its `_x` alone", each.parent, extended, *more, at=each.parent)
        if each.simple:
            both = {f"_{each.keys[-1]}": BESIDE, other: new}
            moved = lambda node, both=both: {k: v for k, v in node.items() if k != each.keys[-1]} | both  # noqa: E731
            yield each.fault(7, "the first answer by its `_x` alone", each.parent, moved, *places, at=each.parent)


SAMPLES = {
    "string": "a",
    "boolean": True,
    "integer": 1,
    "dateTime": "2026",
    "date": "2026",
    "code": "a",
    "decimal": 1,
    "time": "10:00:00",
    "uri": "https://example.org/a",
    "url": "https://example.org/a",
    "canonical": "https://example.org/a",
    "markdown": "a",
    "id": "a",
    "instant": "2026-01-01T10:00:00Z",
    "positiveInt": 1,
    "unsignedInt": 1,
    "base64Binary": "YQ==",
    "oid": "urn:oid:1.2",
    "uuid": "urn:uuid:c757873d-ec9a-4326-a141-556f43239520",
    "Reference": {"display": "a"},
    "CodeableConcept": {"text": "a"},
    "Quantity": {"value": 1},
    "Period": {"start": "2026"},
}
