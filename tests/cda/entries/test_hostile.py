"""Odd resources and odd acts: nothing raises but for texts that XML cannot hold, and what comes back is bounded."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from typing import Any

import pytest
from lxml import etree

from bridge.cda.context import Context
from bridge.cda.entries import resource_of
from bridge.cda.entries.seen import MAX_PARTS
from bridge.cda.rest import with_rest
from bridge.cda.statements import besides, statement_of
from tests.cda.entries.some import act, clinical, context_of, visit_of
from tests.no_hang import no_hang

ODD: list[Any] = [
    None, True, 7, 1.5, "", " a b ", "2010-13", "urn:uuid:zz", [], {}, [None], [[]], [{}], {"a": 1}, {"coding": 5},
    {"coding": ["x"]}, {"coding": [{"code": 5, "system": 3}]}, {"reference": 5}, {"reference": "#x"}, {"text": 5},
    {"value": "x", "unit": 3}, {"start": 5}, ["x", {}], {"extension": [{"url": "u", "valueString": "x"}]}, 10**30,
]  # fmt: skip
V3 = "{urn:hl7-org:v3}"
XSI_TYPE = "{http://www.w3.org/2001/XMLSchema-instance}type"
TAGS = ("value", "code", "act", "observation", "id", "text", "entryRelationship", "participant", "effectiveTime", "low")
ATTRIBUTES = (
    "code",
    "codeSystem",
    "root",
    "extension",
    "value",
    "nullFlavor",
    "moodCode",
    "unit",
    "inclusive",
    XSI_TYPE,
)
VALUES = ("", "x", "CD", "PQ", "TS", "ST", "IVL_TS", "II", "BL", "UNK", "2.25.1", "9" * 40, "2010", "1e400", "true")


def spots(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in pairs:
        if (*path, key) not in (("resourceType",), ("id",)):
            yield (*path, key)
            yield from spots(inner, (*path, key))


def odd(resource: Any, rng: random.Random) -> Any:
    made = copy.deepcopy(resource)
    for _ in range(rng.choice((1, 1, 3))):
        *way, last = rng.choice(list(spots(made)))
        place = made
        for step in way:
            place = place[step]
        place[last] = copy.deepcopy(rng.choice(ODD))
    return made


@pytest.mark.parametrize("seed", range(12))
def test_resources_of_odd_shapes_are_written_and_read(seed: int) -> None:
    rng = random.Random(seed)
    bundle = visit_of(seed)[1]
    context = context_of(bundle)
    for resource in clinical(bundle):
        written = etree.fromstring(etree.tostring(statement_of(odd(resource, rng), context)))
        read = resource_of(written, context)
        assert read is not None
        assert with_rest(read, besides(written))["resourceType"] == resource["resourceType"]


def broken(found: Any, rng: random.Random) -> Any:
    made = copy.deepcopy(found)
    for _ in range(rng.choice((1, 4, 20))):
        places = [place for place in made.iter(etree.Element) if place is not made]
        if not places:
            break
        place = rng.choice(places)
        match rng.randrange(5):
            case 0:
                place.getparent().remove(place)
            case 1:
                place.set(rng.choice(ATTRIBUTES), rng.choice(VALUES))
            case 2:
                place.tag = V3 + rng.choice(TAGS)
            case 3:
                place.append(copy.deepcopy(place))
            case _:
                place.addprevious(etree.Comment("words"))
    return made


@pytest.mark.parametrize("seed", range(12))
def test_broken_acts_are_read_as_far_as_they_go(seed: int) -> None:
    rng = random.Random(seed)
    bundle = visit_of(seed)[1]
    for resource in clinical(bundle):
        read = resource_of(broken(act(resource), rng), Context())
        assert read is None or read["resourceType"] == resource["resourceType"]


def test_acts_within_acts_are_followed_so_far_and_no_further() -> None:
    found = act({"resourceType": "Consent", "id": "x", "provision": {"provision": [{"type": "deny"}]}})
    plain = next(place for place in found.iter(f"{V3}act") if place is not found)
    inner = copy.deepcopy(plain)
    for _ in range(60):
        deeper = copy.deepcopy(plain)
        etree.SubElement(deeper, f"{V3}entryRelationship", typeCode="COMP").append(inner)
        inner = deeper
    etree.SubElement(found, f"{V3}entryRelationship", typeCode="COMP").append(inner)
    with no_hang():
        read = resource_of(found, Context())
    assert read is not None
    assert str(read).count("provision") < 20


def test_of_an_act_with_very_many_parts_the_first_are_read() -> None:
    found = act({"resourceType": "Procedure", "id": "x"})
    for _ in range(3 * MAX_PARTS):
        etree.SubElement(found, f"{V3}targetSiteCode", code="1")
    with no_hang():
        read = resource_of(found, Context())
    assert read is not None
    assert len(read["bodySite"]) < MAX_PARTS
