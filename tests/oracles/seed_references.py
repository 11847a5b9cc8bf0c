"""References that lead to the wrong kind of resource, or nowhere (class 4). Source: the references page of R4."""

from __future__ import annotations

from collections.abc import Iterator

from tests.oracles.seed_definitions import Json, edited, resources, spell
from tests.oracles.seed_fault import Fault, Found, found


def faults(data: Json) -> Iterator[Fault]:
    for each in found(data):
        if each.spot.type == "Reference":
            for keys, _ in each.items:
                if each.fact.targets and "Resource" not in each.fact.targets:
                    yield from wrong_kind(each, keys)
                yield from nowhere(each, keys)


def wrong_kind(each: Found, keys: tuple[object, ...]) -> Iterator[Fault]:
    wrong = next(type for type in resources() if type not in each.fact.targets)
    right = sorted(each.fact.targets)[0]
    inside = (f"{spell(each.data, keys)}.reference", f"{spell(each.data, keys)}.type")
    for kind, new in {
        "a type and an id": {"reference": f"{wrong}/1"},
        "a type, an id and a version": {"reference": f"{wrong}/1/_history/2"},
        "a whole address": {"reference": f"https://example.org/fhir/{wrong}/1"},
        "a type beside an identifier": {"type": wrong, "identifier": {"value": "1"}},
        "a type beside a UUID": {"type": wrong, "reference": "urn:uuid:c757873d-ec9a-4326-a141-556f43239520"},
        "two types that differ": {"reference": f"{right}/1", "type": wrong},
    }.items():
        yield each.fault(4, kind, keys, new, *inside)
    if _contains(each):
        other = {"resourceType": wrong, "id": "seeded"}
        kept = [*each.data.get("contained", ()), other]

        def make() -> Json:
            return {**edited(each.data, keys, {"reference": "#seeded"}), "contained": kept}

        if wrong == "Account":  # with all that it must have
            other |= {"status": "active"}
        yield Fault(4, "a contained resource", each.fact.path, frozenset((spell(each.data, keys), inside[0])), make)


def _contains(each: Found) -> bool:
    return each.data["resourceType"] not in ("Bundle", "Parameters", "Binary") and "contained" not in map(
        str, each.keys
    )


def nowhere(each: Found, keys: tuple[object, ...]) -> Iterator[Fault]:
    inside = f"{spell(each.data, keys)}.reference"
    yield each.fault(4, "nothing contained under that id", keys, {"reference": "#zz-nowhere"}, inside)
    yield each.fault(4, "a blank in the reference", keys, {"reference": "Patient/a b"}, inside)
