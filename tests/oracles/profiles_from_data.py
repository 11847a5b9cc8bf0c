"""Profiles made from right data: what they ask for is read off it, so it is known whether it conforms, and where not.

For a place in a resource a differential is written that the resource fulfils, and its twin that it does not. The seeder
knows the elements from the published definitions alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from tests.oracles.seed_definitions import Json, Keys, inner, primitives, spell, spelt

CORE = "http://hl7.org/fhir/StructureDefinition/"
URL = "https://example.org/fhir/StructureDefinition/Made"
MOST_VALUE = 400
"""Longest value, written out, that a profile repeats."""


class Made(NamedTuple):
    kind: str
    of: str
    definition: Json
    at: str
    """Where the fault is; empty where the data conforms."""
    around: str = ""
    sets: tuple[Json, ...] = ()
    """Value sets that it is bound to."""


class Place(NamedTuple):
    id: str
    keys: Keys
    owner: Keys
    type: str
    values: list[Any]
    many: bool
    choice: bool
    types: tuple[str, ...]
    targets: frozenset[str]
    inside: str
    """Where the elements of its values are defined."""
    narrowed: tuple[Json, ...]
    """Rows that allow one type alone for each choice on the way: only then has a choice parts."""


def places(data: Json) -> list[Place]:
    """Every element that is in the data but those in what is repeated: what is asked of them is asked in each."""
    return list(_places(data, data["resourceType"], data["resourceType"], (), ()))


def _places(node: Json, owner: str, id: str, at: Keys, narrowed: tuple[Json, ...]) -> Iterator[Place]:
    for key, value in node.items():
        known = spelt(owner).get(key)
        if known is None or key in ("resourceType", "contained", "extension", "modifierExtension", "text", "div"):
            continue
        fact, type = known
        name = f"{id}.{fact.name}"
        values = value if isinstance(value, list) else [value]
        if any(item is None for item in values) or type in ("Resource", "xhtml") or fact.attribute or f"_{key}" in node:
            continue
        many, within = fact.max == "*", inner(fact, type, values[0])
        yield Place(name, (*at, key), at, type, values, many, fact.choice, fact.types, fact.targets, within, narrowed)
        below = (*narrowed, {"id": name, "path": name, "type": [{"code": type}]}) if len(fact.types) > 1 else narrowed
        for index, item in enumerate(values):
            where = inner(fact, type, item)
            if isinstance(item, dict) and len(values) == 1:
                yield from _places(
                    item, where, name, (*at, key, index) if isinstance(value, list) else (*at, key), below
                )


def definition(type: str, *elements: Json) -> Json:
    return {
        "resourceType": "StructureDefinition", "url": URL, "name": "Made", "status": "active", "fhirVersion": "4.0.1",
        "kind": "resource", "abstract": False, "type": type, "baseDefinition": CORE + type, "derivation": "constraint",
        "differential": {"element": merged([{"id": type, "path": type}, *elements])},
    }  # fmt: skip


def merged(elements: list[Json]) -> list[Json]:
    """One row for each id."""
    rows: dict[str, Json] = {}
    for element in elements:
        rows[element["id"]] = {**rows.get(element["id"], {}), **element}
    return list(rows.values())


def made(data: Json) -> Iterator[Made]:
    """Pairs of profiles for every place: the one conforms, the other not."""
    for place in places(data):
        for kind, element, at in [row for read in READERS for row in read(data, place)]:
            rows = element if isinstance(element, list) else [element]
            rows = [{"id": place.id, "path": place.id, **row} if "id" not in row else row for row in rows]
            made = definition(data["resourceType"], *place.narrowed, *rows)
            yield Made(kind, place.id, made, at, at.rpartition(".")[0], _sets(place))


Rows = Iterator[tuple[str, Any, str]]


def _counts(data: Json, place: Place) -> Rows:
    count, here = len(place.values), spell(data, place.keys)
    last = spell(data, (*place.keys, count - 1)) if place.many else here
    yield "as many as there are", {"min": count, **({"max": str(count)} if place.many else {})}, ""
    if place.many:
        yield "one more is asked for", {"min": count + 1}, spell(data, place.owner)
        if count > 1:
            yield "one less is allowed", {"max": str(count - 1)}, last
    yield "none is allowed", {"max": "0"}, spell(data, (*place.keys, 0)) if place.many else here


def _values(data: Json, place: Place) -> Rows:
    if place.choice and len(place.types) > 1 and "*" in place.types:
        return
    type = place.type if not place.type.startswith("#") else ""
    value = place.values[0]
    if not type or type in ("BackboneElement", "Element") or len(str(value)) > MOST_VALUE or "reference" in str(value):
        return
    name = type[0].upper() + type[1:]
    at = spell(data, (*place.keys, 0)) if place.many else spell(data, place.keys)
    limit = {"type": [{"code": type}]} if place.choice else {}
    if all(one == value for one in place.values):
        yield "fixed as it is", {**limit, f"fixed{name}": value}, ""
        yield "a pattern as it is", {**limit, f"pattern{name}": value}, ""
    other = _other(value)
    if other is not None:
        yield "fixed to another", {**limit, f"fixed{name}": other}, at
        yield "a pattern of another", {**limit, f"pattern{name}": other}, at
    if isinstance(value, dict) and len(place.values) == 1:
        for key in value:
            yield "a pattern of a part", {**limit, f"pattern{name}": {key: value[key]}}, ""
        if len(value) > 1:
            yield "fixed to a part", {**limit, f"fixed{name}": {next(iter(value)): next(iter(value.values()))}}, at


def _other(value: Any) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, str):
        return (
            value[:3] + "0" + value[4:] if len(value) > 3 and value[:4].isdigit() and value[3] != "0" else value + "x"
        )
    if isinstance(value, dict):
        for key, part in value.items():
            new = _other(part)
            if new is not None:
                return {**value, key: new}
    if isinstance(value, list) and value:
        new = _other(value[0])
        return None if new is None else [new, *value[1:]]
    return None


def _types(data: Json, place: Place) -> Rows:
    here = spell(data, place.keys)
    at = spell(data, (*place.keys, 0)) if place.many else here
    if place.choice and len(place.types) > 1:
        yield "its own type alone", {"type": [{"code": place.type}]}, ""
        other = next(t for t in place.types if t != place.type)
        yield "another type alone", {"type": [{"code": other}]}, here
        stem, id = place.id[:-3], place.id
        name = stem.rpartition(".")[2] + place.type[0].upper() + place.type[1:]
        by = {"discriminator": [{"type": "type", "path": "$this"}], "rules": "open"}
        sliced = {"id": f"{id}:{name}", "path": id, "sliceName": name, "type": [{"code": place.type}]}
        yield "a slice of its type", [{"slicing": by}, {**sliced, "min": 1}], ""
        yield "no slice of its type", [{"slicing": by}, {**sliced, "max": "0"}], here
        if len(place.values) == 1 and place.type in primitives():
            fixed = {"id": f"{stem.rpartition('.')[0]}.{name}", "path": f"{stem.rpartition('.')[0]}.{name}"}
            yield "a short path", [{**fixed, "min": 1}], ""
    if place.type == "Reference" and isinstance(place.values[0].get("reference"), str):
        kind = str(place.values[0]["reference"]).rpartition("/")[0].rpartition("/")[2]
        if len(place.values) == 1 and kind[:1].isupper() and "Resource" not in place.targets:
            another = next((t for t in sorted(place.targets) if t != kind), None)
            yield "to its own type", {"type": [{"code": "Reference", "targetProfile": [CORE + kind]}]}, ""
            if another:
                yield "to another type", {"type": [{"code": "Reference", "targetProfile": [CORE + another]}]}, at


def _rules(data: Json, place: Place) -> Rows:
    at = spell(data, (*place.keys, 0)) if place.many else spell(data, place.keys)
    value = place.values[0]
    if isinstance(value, str) and place.type in primitives() and not place.many:
        yield "long enough", {"maxLength": len(value)}, ""
        if len(value) > 1:
            yield "too long", {"maxLength": len(value) - 1}, at
    row = {"key": "made-1", "severity": "error", "human": "x"}
    name = place.id.rpartition(".")[2].removesuffix("[x]")
    above = place.id.rpartition(".")[0]
    outer = {"id": above, "path": above}
    if name not in ("contains", "is", "as", "in", "div", "mod", "and", "or", "xor", "implies"):
        is_there = {**outer, "constraint": [{**row, "expression": f"{name}.exists()"}]}
        is_not = {**outer, "constraint": [{**row, "expression": f"{name}.count() != {len(place.values)}"}]}
        yield "a constraint that holds", [is_there], ""
        yield "a constraint that does not", [is_not], spell(data, place.owner)
    if place.many and isinstance(value, dict):
        yield from _sliced(data, place)


def _sliced(data: Json, place: Place) -> Rows:
    """Slices by each simple value right inside."""
    for key, value in place.values[0].items():
        if not isinstance(value, str) or len(value) > MOST_VALUE or key == "id":
            continue
        fact = spelt(place.inside).get(key)
        if fact is None or fact[0].choice or fact[0].max == "*":
            continue
        type = fact[1]
        members = [n for n, one in enumerate(place.values) if one.get(key) == value]
        by = {"slicing": {"discriminator": [{"type": "value", "path": key}], "rules": "open"}}
        closed = {"slicing": {**by["slicing"], "rules": "closed"}}
        one = {"id": f"{place.id}:made", "path": place.id, "sliceName": "made"}
        fixed: Json = {"id": f"{place.id}:made.{key}", "path": f"{place.id}.{key}", "min": 1}
        fixed[f"fixed{type[0].upper()}{type[1:]}"] = value
        changed: Json = {f"fixed{type[0].upper()}{type[1:]}": _other(value)}
        other = {**fixed, **changed}
        count = len(members)
        yield "a slice of so many", [by, {**one, "min": count, "max": str(count)}, fixed], ""
        yield "a slice with one more", [by, {**one, "min": count + 1}, fixed], spell(data, place.owner)
        if count > 1:
            last = spell(data, (*place.keys, members[-1]))
            yield "a slice with one less", [by, {**one, "max": str(count - 1)}, fixed], last
        yield "a slice that is empty", [by, {**one, "max": "0"}, fixed], spell(data, (*place.keys, members[0]))
        if all(each.get(key) != other[f"fixed{type[0].upper()}{type[1:]}"] for each in place.values):
            yield "a slice of another", [by, {**one, "min": 1}, other], spell(data, place.owner)
            yield "closed to all", [closed, one, other], spell(data, (*place.keys, 0))
        if count == len(place.values):
            yield "closed, all within", [closed, one, fixed], ""


def _codes(place: Place) -> list[Json]:
    """The codes of the first value, where it has any."""
    value = place.values[0]
    if place.type == "code":
        return [{"system": "urn:x:made", "code": value}]
    if place.type == "Coding" and "code" in value and "system" in value:
        return [value]
    if place.type == "CodeableConcept":
        return [one for one in value.get("coding", ()) if "code" in one and "system" in one]
    return [value] if place.type == "Quantity" and "code" in value and "system" in value else []


def _sets(place: Place) -> tuple[Json, ...]:
    """A set with the codes of the first value, and one with none of them."""
    codes = _codes(place)
    made = []
    for name, suffix in ("own", ""), ("other", "x"):
        include = [{"system": one["system"], "concept": [{"code": one["code"] + suffix}]} for one in codes]
        about = {"resourceType": "ValueSet", "url": f"urn:x:{name}", "name": name.title(), "status": "active"}
        made.append({**about, "compose": {"include": include}})
    return tuple(made) if codes else ()


def _bound(data: Json, place: Place) -> Rows:
    if not _codes(place) or len(place.values) > 1:
        return
    at = spell(data, (*place.keys, 0)) if place.many else spell(data, place.keys)
    yield "bound to its own codes", {"binding": {"strength": "required", "valueSet": "urn:x:own"}}, ""
    yield "bound to other codes", {"binding": {"strength": "required", "valueSet": "urn:x:other"}}, at
    yield "bound softly to other codes", {"binding": {"strength": "extensible", "valueSet": "urn:x:other"}}, ""


def _existing(data: Json, place: Place) -> Rows:
    """Slices by whether something is right inside."""
    if not place.many or not isinstance(place.values[0], dict) or place.type in ("Extension", "Reference"):
        return
    key = next(
        (k for k in place.values[0] if (f := spelt(place.inside).get(k)) and not f[0].choice and k != "id"), None
    )
    if key is None:
        return
    by = {"discriminator": [{"type": "exists", "path": key}], "rules": "closed"}
    one = {"id": f"{place.id}:made", "path": place.id, "sliceName": "made"}
    inside = {"id": f"{place.id}:made.{key}", "path": f"{place.id}.{key}"}
    here = [n for n, value in enumerate(place.values) if key in value]
    gone = [n for n, value in enumerate(place.values) if key not in value]
    at = spell(data, (*place.keys, gone[0])) if gone else ""
    yield "closed to what lacks a part", [{"slicing": by}, one, {**inside, "min": 1}], at
    yield (
        "closed to what has a part",
        [{"slicing": by}, one, {**inside, "max": "0"}],
        spell(data, (*place.keys, here[0])),
    )


READERS = (_counts, _values, _types, _rules, _bound, _existing)
