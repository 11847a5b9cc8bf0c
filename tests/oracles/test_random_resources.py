"""Random resources that independent judges accept: our checks must find nothing wrong with them.

A generator over the published StructureDefinitions (random_resources.py) makes them, for every kind of resource. Two
judges that know nothing of ours look first: the JSON schema and the XML schema published with R4 4.0.1. Where one of
them objects, the resource is left out and counted, so that a generator that only makes rubbish is noticed; objections
that are slips of the judge are named in SLIPS.

`VISIT_BRIDGE_MANY=300 python -m pytest tests/oracles/test_random_resources.py` makes that many of each kind.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from random import Random
from typing import Any

import pytest

from bridge.check import check_bundle
from bridge.issues import Severity, rules
from tests.oracles.random_resources import resource
from tests.oracles.random_xml import xsd_faults
from tests.oracles.seed_definitions import Json, definitions, primitives, resources, spots
from tests.oracles.test_outside import schema
from tests.standards import standards_file, standards_folder

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "3"))
FILLS = (0.15, 0.4, 0.7)
SLIPS = (
    r"^[ \r\n\t\S]+$",  # the pattern of strings, as a Rust engine reads it: a no-break space is no \S
    "'valueMeta' was unexpected",  # the definition of Extension allows Meta, the schema forgot it
    'null is not of type "string"',  # lists of canonical: json.html pads them with null like any other
    "Additional properties are not allowed ('_",  # and so their siblings
    '"4.0.1" is not one of',  # nor does the schema's list of FHIR versions know its own
    "of the set {'active', 'inactive', 'entered-in-error'}",  # MedicationStatement.status got the list of Medication
)
"""Objections of the judges that the text of the standard does not support."""
KINDS = resources() if (standards_folder() / "fhir-r4").exists() else ()


def plain(node: Any) -> Any:
    """Decimals as floats, which is all that the JSON schema needs to see."""
    if isinstance(node, dict):
        return {key: plain(value) for key, value in node.items()}
    if isinstance(node, list):
        return [plain(item) for item in node]
    return float(node) if isinstance(node, Decimal) else node


few_schemas = lru_cache(maxsize=6)(schema.__wrapped__)
"""Each takes 18 MB, so that not all are kept."""


def objections(data: Json) -> list[str]:
    """What the judges have against a resource; contained ones stand alone, since the schema says little of them."""
    alone = {key: value for key, value in data.items() if key != "contained"}
    parts = [alone, *data.get("contained", ())]
    found = [e.message for part in parts for e in few_schemas(part["resourceType"]).iter_errors(plain(part))]
    return [told for told in [*found, *xsd_faults(data)] if not any(slip in told for slip in SLIPS)]


def made(type: str) -> Iterator[Json]:
    for number in range(MANY):
        yield resource(Random(f"{type} {number}"), type, FILLS[number % len(FILLS)])


@pytest.mark.parametrize("type", KINDS)
def test_what_the_judges_accept_is_right(type: str, record_property: Any) -> None:
    refused: Counter[str] = Counter()
    pages = rules()
    for data in made(type):
        against = objections(data)
        refused[against[0][-150:] if against else ""] += 1
        if against:
            continue
        found = [i for i in check_bundle(data) if i.severity >= Severity.error and not pages[i.rule].trade]
        told = [f"{i.rule} {i.where.path}: {i.message}" for i in found]
        assert told == [], json.dumps(data, default=str)[:3000]
    record_property("accepted", refused[""])
    assert refused[""] >= 0.6 * MANY, refused.most_common(5)


def test_every_kind_is_made() -> None:
    standards_file("fhir-r4/profiles-resources.json.gz")
    assert len(KINDS) == 146


def test_the_generator_reaches_the_whole_standard() -> None:
    """Each simple type, and most elements; the rest stands too deep or is mended away."""
    standards_file("fhir-r4/profiles-resources.json.gz")
    met: Counter[str] = Counter()
    types: Counter[str] = Counter()
    for type in KINDS:
        for number in range(6):
            for spot in spots(resource(Random(f"reach {type} {number}"), type, 0.7), type):
                met[spot.fact.path] += 1
                types[spot.type] += 1
    every = {f.path for owner, facts in definitions().items() for f in facts.values() if owner.split(".")[0] in KINDS}
    reached = len(every & set(met)) / len(every)
    print(f"\n{sum(met.values())} values; {reached:.0%} of {len(every)} elements reached")
    assert primitives() <= set(types)
    assert reached > 0.65


def test_the_judges_tell_right_from_wrong() -> None:
    right = resource(Random("judges"), "Observation", 0.4)
    assert objections(right) == []
    assert objections({**right, "status": "unheard of"})
    assert objections({**right, "zzUnknown": "a"})
