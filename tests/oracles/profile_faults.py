"""Faults seeded into right data by what a published profile asks for beyond its base: one broken thing at a time."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, NamedTuple

from tests.oracles.profile_constraints import BREAK
from tests.oracles.profile_trees import Met, Node, fits, met, profiles, urls_of
from tests.oracles.seed_definitions import Json, Keys, edited, spell, without
from tests.standards import standard_json, standards_file

KINDS = (
    "a required element is missing",
    "an element is there too often",
    "a forbidden element is there",
    "a fixed value or pattern is another",
    "a value of another type",
    "a required slice is missing",
    "a slice is there too often",
    "a code outside of a required set",
    "a reference to another type",
    "an extension of another type",
    "an extension where it may not stand",
    "an extension that is not for modifying",
    "a required section is missing",
    "another code of a required section",
    "a nested section",
    "a constraint of the profile",
    "a resource of another type",
)
SAMPLES: dict[str, Any] = {
    "string": "x", "code": "x", "uri": "urn:x:y", "boolean": True, "integer": 1, "decimal": 1.5, "date": "2020-01-01",
    "dateTime": "2020-01-01", "instant": "2020-01-01T00:00:00Z", "positiveInt": 1, "CodeableConcept": {"text": "x"},
    "Coding": {"system": "urn:x:y", "code": "x"}, "Quantity": {"value": 1}, "Identifier": {"value": "x"},
    "Reference": {"display": "x"}, "Period": {"start": "2020"}, "Annotation": {"text": "x"}, "HumanName": {"text": "x"},
    "Address": {"text": "x"}, "ContactPoint": {"system": "other", "value": "x"}, "Range": {"low": {"value": 1}},
    "Ratio": {"numerator": {"value": 1}, "denominator": {"value": 1}}, "markdown": "x", "Attachment": {"title": "x"},
}  # fmt: skip
DIV = '<div xmlns="http://www.w3.org/1999/xhtml">x</div>'
NESTED = {"title": "Inner", "code": {"text": "x"}, "text": {"status": "generated", "div": DIV}}


class Fault(NamedTuple):
    kind: str
    of: str
    """Profile and element."""
    places: frozenset[str]
    names: tuple[str, ...]
    """One of them has to stand in the message."""
    make: Callable[[], Json]


def faults(url: str, data: Json) -> Iterator[Fault]:
    """All of them of one profile in data that conforms to it."""
    for one in met(url, data):
        for seed in (_missing, _too_many, _values, _types, _codes, _references, _extensions, _sections):
            yield from seed(url, data, one)
    yield from _constraints(url, data)
    other = {"resourceType": "Basic", "code": {"text": "x"}, "meta": {"profile": [url]}}
    if data["resourceType"] != "Basic":
        places = frozenset({"Basic", "Basic.meta.profile[0]"})
        yield Fault(KINDS[16], url, places, (data["resourceType"],), lambda: other)


def _fault(kind: int, url: str, data: Json, one: Met, keys: Keys, new: Any, *at: Keys) -> Fault:
    places = [spell(data, place) for place in (at or (keys,))]
    around = {place.rpartition(".")[0] for place in places} - {""}
    name = one.node.slice or one.node.name.removesuffix("[x]")
    return Fault(
        KINDS[kind], f"{url} {one.node.id}", frozenset({*places, *around}), (name,), lambda: edited(data, keys, new)
    )


def _base_wants(node: Node) -> int:
    return 0 if node.slice else node.base_min


def _missing(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    if node.min <= _base_wants(node) or not one.values or _idle(node) or node.name in one.deciding:
        return
    if node.slice:
        key = one.values[0][0][-2] if isinstance(one.values[0][0][-1], int) else one.values[0][0][-1]
        gone = {keys[-1] for keys, _ in one.values}
        kept = [v for n, v in enumerate(one.holder[key]) if n not in gone] if isinstance(one.holder[key], list) else []
        kind = 12 if node.name == "section" else 5
        new = (lambda held: {**held, key: kept}) if kept else without(str(key))
        yield _fault(kind, url, data, one, one.owner, new, (*one.owner, str(key)), one.owner)
    else:
        key = next(k for k in reversed(one.values[0][0]) if isinstance(k, str))
        yield _fault(0, url, data, one, one.owner, without(key), (*one.owner, key), one.owner)


def _idle(node: Node) -> bool:
    """What cannot be taken out without being another fault."""
    return node.name in ("id", "resourceType", "url") or node.id.count(".") == 0


def _too_many(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    most = node.max
    if most is None or (most == node.base_max and not node.slice):
        return
    if most == 0:
        yield from _forbidden(url, data, one)
        return
    if not one.values or not isinstance(one.values[0][0][-1], int) or _idle(node):
        return
    key = one.values[0][0][-2]
    _, value = one.values[0]
    more = [value] * (most + 1 - len(one.values))
    held = one.holder[key]
    at = [(*one.owner, key, n) for n in range(len(held), len(held) + len(more))]
    yield _fault(6 if node.slice else 1, url, data, one, (*one.owner, key), [*held, *more], *at, (*one.owner, key))


def _forbidden(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    if node.slice or node.name == "section":
        return
    type = next((row["code"] for row in node.types if row["code"] in SAMPLES), None)
    if type is None:
        return
    key = node.name.replace("[x]", type[:1].upper() + type[1:])
    sample = SAMPLES[type]
    many = node.base_max is None or node.base_max > 1
    yield _fault(
        2, url, data, one, (*one.owner, key), [sample] if many else sample, (*one.owner, key, 0), (*one.owner, key)
    )


def _values(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    wanted = node.wanted
    if wanted is None or node.slice or node.name in (*one.deciding, "url"):
        return
    for keys, value in one.values[:1]:
        if fits(wanted[1], value):
            new = _another(wanted[1], value)
            if new is not None:
                yield _fault(3, url, data, one, keys, new, keys)


def _another(wanted: Any, value: Any) -> Any:
    if isinstance(wanted, dict):
        for key, inner in wanted.items():
            new = _another(inner, value[key])
            if new is not None:
                return {**value, key: new}
        return None
    if isinstance(wanted, list):
        return [_another(wanted[0], v) if fits(wanted[0], v) else v for v in value]
    if isinstance(wanted, bool):
        return not wanted
    return f"{value}x" if isinstance(value, str) and ":" not in value else "urn:x:y" if isinstance(value, str) else None


@cache
def _base_types(path: str) -> frozenset[str]:
    """Types of an element of a resource or data type as R4 itself has it."""
    found: set[str] = set()
    for name in ("resources", "types"):
        for entry in standard_json(f"fhir-r4/profiles-{name}.json.gz")["entry"]:
            for element in entry["resource"].get("snapshot", {}).get("element", ()):
                if element["path"] == path:
                    found |= {row["code"] for row in element.get("type", ())}
    return frozenset(found)


def _types(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    if not node.name.endswith("[x]") or node.slice or not one.values:
        return
    fewer = {row["code"] for row in node.types}
    others = sorted(_base_types(node.element["base"]["path"]) - fewer)
    type = next((code for code in others if code in SAMPLES), None)
    if type is None:
        return
    key = f"{node.name[:-3]}{type[:1].upper()}{type[1:]}"
    old = [keys[-1] for keys, _ in one.values]

    def new(held: Json) -> Json:
        return {**{k: v for k, v in held.items() if k.removeprefix("_") not in old}, key: SAMPLES[type]}

    yield _fault(4, url, data, one, one.owner, new, (*one.owner, key))


def _codes(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    binding = node.element.get("binding", {})
    if binding.get("strength") != "required" or not one.values or node.slice or node.name in one.deciding:
        return
    if binding.get("valueSet", "").partition("|")[0] not in _enumerated() or _base_binding(node) == "required":
        return
    keys, value = one.values[0]
    if isinstance(value, str):
        yield _fault(7, url, data, one, keys, "no-such-code", keys)
    elif isinstance(value, dict) and isinstance(value.get("code"), str):
        yield _fault(7, url, data, one, (*keys, "code"), "no-such-code", keys, (*keys, "code"))
    elif isinstance(value, dict) and "coding" in value:
        codings = [{**coding, "code": "no-such-code"} for coding in value["coding"]]
        yield _fault(
            7, url, data, one, (*keys, "coding"), codings, keys, (*keys, "coding", 0), (*keys, "coding", 0, "code")
        )


@cache
def _base_binding(node: Node) -> str:
    path = node.element["base"]["path"]
    for name in ("resources", "types"):
        for entry in standard_json(f"fhir-r4/profiles-{name}.json.gz")["entry"]:
            for element in entry["resource"].get("snapshot", {}).get("element", ()):
                if element["path"] == path:
                    return str(element.get("binding", {}).get("strength", ""))
    return ""


@cache
def _enumerated() -> frozenset[str]:
    """Published value sets of which every part lists its codes."""
    sets = [json.loads(p.read_bytes()) for p in standards_file("ips").glob("ValueSet-*.json")]
    sets += [json.loads(p.read_bytes()) for p in standards_file("uk-core/valuesets").glob("*.json")]
    sets += [e["resource"] for e in standard_json("fhir-r4/valuesets.json.gz")["entry"]]
    return frozenset(
        one["url"]
        for one in sets
        if one["resourceType"] == "ValueSet"
        and one.get("compose", {}).get("include")
        and all(part.get("concept") and "valueSet" not in part for part in one["compose"]["include"])
    )


def _references(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    targets = [target for row in node.types if row["code"] == "Reference" for target in row.get("targetProfile", ())]
    if not targets or not one.values or any(t.partition("|")[0].endswith("/Resource") for t in targets):
        return
    base = _base_targets(node.element["base"]["path"])
    allowed = {_type_of(target) for target in targets}
    if "" in allowed:
        return
    other = next((t for t in sorted(base or {"Basic", "Library"}) if t not in allowed), None)
    if other is None or (one.within and not node.slice and node.name == "entry"):
        return
    keys, _ = one.values[0]
    yield _fault(8, url, data, one, keys, {"reference": f"{other}/seeded"}, keys)


def _type_of(target: str) -> str:
    plain = target.partition("|")[0]
    if plain in profiles():
        return str(profiles()[plain]["type"])
    name = plain.rpartition("/")[2]
    return name if plain.startswith("http://hl7.org/fhir/StructureDefinition/") else ""


@cache
def _base_targets(path: str) -> frozenset[str]:
    """Types that R4 itself lets an element refer to; empty for any."""
    for entry in standard_json("fhir-r4/profiles-resources.json.gz")["entry"]:
        for element in entry["resource"].get("snapshot", {}).get("element", ()):
            if element["path"] == path:
                urls = [u for row in element.get("type", ()) for u in row.get("targetProfile", ())]
                return frozenset(u.rpartition("/")[2] for u in urls) - {"Resource"}
    return frozenset()


def _extensions(url: str, data: Json, one: Met) -> Iterator[Fault]:
    """An extension that has a definition: with another type of value, in another place, in the other list."""
    node = one.node
    address = next((u for u in urls_of(node) if u in profiles()), None) if node.slice else None
    if address is None or node.name != "extension":
        return
    about = profiles()[address]
    names = ("value", about["name"], address.rpartition("/")[2])
    at = (*one.owner, "extension")
    before = one.holder.get("extension", [])
    simple = [
        row for e in about["snapshot"]["element"] if e["path"] == "Extension.value[x]" for row in e.get("type", ())
    ]
    wrong = {"url": address, "valueRatio": SAMPLES["Ratio"]}
    if "Ratio" not in [row["code"] for row in simple]:
        places = ((*at, len(before)), (*at, len(before), "valueRatio"))
        yield _named(_fault(9, url, data, one, at, [*before, wrong], *places), *names)
    right = one.values[0][1] if one.values else wrong
    contexts = [row["expression"] for row in about.get("context", ()) if row["type"] == "element"]
    if "meta" in data and not {"Meta", "Element"} & set(contexts) and len(contexts) == len(about.get("context", ())):
        moved = _fault(10, url, data, one, ("meta", "extension"), [right], ("meta", "extension", 0))
        yield _named(moved, *names)
    if not about["snapshot"]["element"][0].get("isModifier") and not one.owner:
        other = _fault(11, url, data, one, ("modifierExtension",), [right], ("modifierExtension", 0))
        yield _named(other, *names)


def _named(fault: Fault, *names: str) -> Fault:
    return fault._replace(names=(*fault.names, *names))


def _sections(url: str, data: Json, one: Met) -> Iterator[Fault]:
    node = one.node
    if node.name != "section" or not one.values or len(one.owner) != 0:
        return
    keys, value = one.values[0]
    if node.slice and node.min and "code" in value:
        codings = [{**coding, "code": "seeded"} for coding in value["code"].get("coding", ())]
        yield _fault(13, url, data, one, (*keys, "code", "coding"), codings, keys, keys[:1], ())
    inner = next((part for part in node.parts if part.name == "section"), None)
    if inner is not None and inner.max == 0:
        found = _fault(14, url, data, one, (*keys, "section"), [NESTED], (*keys, "section", 0))
        yield _named(found, "section")


def _constraints(url: str, data: Json) -> Iterator[Fault]:
    keys = {c["key"] for e in profiles()[url]["snapshot"]["element"] for c in e.get("constraint", ())}
    for key in sorted(keys & set(BREAK)):
        at, make = BREAK[key]
        made = make(data)
        if made is not None:
            place = f"{data['resourceType']}.{at}" if at else data["resourceType"]
            places = frozenset({place, place.rpartition(".")[0] or place})
            yield Fault(KINDS[15], f"{url} {key}", places, (key,), lambda made=made: made)  # type: ignore[misc]
