"""Seeded faults in 14 classes: right resources broken in one place at a time; each has to be told, and in its place.

The seeders (seed_*.py) import nothing of the project for what they break: they read the published StructureDefinitions
and expansions of R4 4.0.1, so they know each element independently of our tables. What is broken: the published
examples (R4, IPS), the demo bundles, each of their entries alone, and a random resource of every kind.

Few faults of one kind on one element are enough for every run. `VISIT_BRIDGE_MANY=20 python -m pytest -s
tests/oracles/test_seeded_faults.py` breaks each element that often, and prints the table of kinds: tried, caught, and
caught in place. `python -m tests.oracles.test_seeded_faults` prints the table and what was missed.
"""

from __future__ import annotations

import json
import os
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cache
from random import Random
from typing import Any, NamedTuple
from zlib import crc32

import pytest

from bridge.check import check_bundle, gate
from bridge.fhir.ndjson import read_received
from bridge.issues import Issue, rules
from tests.oracles import (
    seed_bundles,
    seed_bytes,
    seed_constraints,
    seed_data_types,
    seed_narrative,
    seed_quantities,
    seed_references,
    seed_shapes,
    seed_types,
    seed_values,
)
from tests.oracles.random_resources import resource
from tests.oracles.seed_definitions import Json, resources, structures
from tests.oracles.seed_fault import CLASSES, Fault
from tests.standards import ROOT, standards_file, standards_folder

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "1"))
STEP = {} if "VISIT_BRIDGE_MANY" in os.environ else {2: 3, 4: 2, 13: 8, 14: 8}
"""Of classes with very many faults every run tries this part, after the first few of each kind."""
FEW = 5
SEEDERS = (
    seed_shapes,
    seed_values,
    seed_references,
    seed_quantities,
    seed_data_types,
    seed_constraints,
    seed_narrative,
    seed_types,
    seed_bundles,
    seed_bytes,
)
KINDS = resources() if (standards_folder() / "fhir-r4").exists() else ()


Before = frozenset[tuple[str, str, int]]
"""Rule, place and severity of what is told of the right data."""


class Tally(NamedTuple):
    tried: Counter[tuple[int, str]]
    caught: Counter[tuple[int, str]]
    placed: Counter[tuple[int, str]]
    missed: dict[tuple[int, str], list[str]]


def bases() -> Iterator[tuple[str, Json]]:
    """Right data by name: whole files, the entries of bundles alone, and random resources."""
    folder = standards_file("fhir-r4-examples")
    for path in [*sorted(folder.rglob("*.json")), *sorted((ROOT / "demo_bundles").rglob("*.bundle.json"))]:
        data = json.loads(path.read_bytes())
        yield path.name, data
        for number, entry in enumerate(data.get("entry", ()) if data["resourceType"] == "Bundle" else ()):
            if entry.get("resource", {}).get("resourceType", "Bundle") != "Bundle":
                yield f"{path.name}[{number}]", entry["resource"]
    for type in KINDS:
        for number, fill in enumerate((0.05, 0.5, 0.8)):
            yield f"random {type} {number}", resource(Random(f"seed {type} {number}"), type, fill)


def faults(data: Json) -> Iterator[Fault]:
    whole = data["resourceType"] == "Bundle" and len(data.get("entry", ())) > 2
    for seeder in (seed_bundles, seed_bytes) if whole else SEEDERS:
        yield from seeder.faults(data)
    if not whole:
        yield from seed_values.language_faults(data)


def told(data: Any) -> list[Issue]:
    """Issues of conformance; of bytes also what is wrong with the writing."""
    pages = rules()
    found: list[Issue] = []
    if isinstance(data, bytes):
        data, found = read_received(data)
        if data is None:
            return found
    return [*found, *(i for i in check_bundle(data) if not pages[i.rule].trade)]


@cache
def tally() -> Tally:
    """Every resource is shown to the fast gate first, so a fault that the gate lets through counts as missed."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gate, "WORTH", 0)
        return tried()


def tried() -> Tally:
    result = Tally(Counter(), Counter(), Counter(), defaultdict(list))
    done: Counter[tuple[int, str, str]] = Counter()
    for name, data in bases():
        before: Before | None = None
        for fault in faults(data):
            key = (fault.number, fault.kind)
            if done[(*key, fault.of)] >= MANY or skipped(result, fault, key):
                continue
            done[(*key, fault.of)] += 1
            if before is None:
                before = frozenset((i.rule, i.where.path, int(i.severity)) for i in told(data))
            judge(result, fault, key, before, name)
    return result


def skipped(result: Tally, fault: Fault, key: tuple[int, str]) -> bool:
    """Always the same ones: told by what was broken, not by chance."""
    chosen = crc32(f"{fault.kind} {fault.of}".encode()) % STEP.get(fault.number, 1) == 0
    return not chosen and result.tried[key] >= FEW


def judge(result: Tally, fault: Fault, key: tuple[int, str], before: Before, name: str) -> None:
    made = fault.make()
    issues = [
        i for i in told(made) if i.severity >= fault.severity and (i.rule, i.where.path, int(i.severity)) not in before
    ]
    if fault.severity < 2 and any(path in fault.places and bad == fault.severity for _, path, bad in before):
        return  # a warning that is there already
    result.tried[key] += 1
    result.caught[key] += bool(issues)
    right = any(i.where.path in fault.places for i in issues) if fault.places else bool(issues)
    result.placed[key] += right
    if not right:
        shown = [(i.rule, i.where.path) for i in issues][:3]
        result.missed[key].append(f"{name}: {fault.of} at {' or '.join(sorted(fault.places))[:200]}: {shown}")


def table(result: Tally) -> str:
    lines = []
    for number, title in CLASSES.items():
        keys = sorted(key for key in result.tried if key[0] == number)
        sums = [sum(part[key] for key in keys) for part in (result.tried, result.caught, result.placed)]
        lines.append(f"{number:2} {title} ({len(keys)} kinds): tried {sums[0]}, caught {sums[1]}, in place {sums[2]}")
        lines += [
            f"     {kind}: {result.tried[n, kind]} {result.caught[n, kind]} {result.placed[n, kind]}"
            for n, kind in keys
        ]
    return "\n".join(lines)


@pytest.mark.parametrize("number", CLASSES)
def test_every_seeded_fault_is_told_in_its_place(number: int) -> None:
    standards_file("fhir-r4/profiles-resources.json.gz")
    result = tally()
    missed = {kind: places[:3] for (n, kind), places in result.missed.items() if n == number}
    assert missed == {}
    assert sum(result.tried[key] for key in result.tried if key[0] == number) > 50


def test_the_table_of_kinds() -> None:
    standards_file("fhir-r4/profiles-resources.json.gz")
    result = tally()
    print(f"\n{sum(result.tried.values())} faults\n{table(result)}")
    assert sum(result.tried.values()) > 10_000
    assert {number for number, _ in result.tried} == set(CLASSES)


def test_every_published_constraint_is_broken_once() -> None:
    """But for those that cannot be broken in R4, or that other classes break."""
    standards_file("fhir-r4/profiles-resources.json.gz")
    seeded = {row["key"] for row in seed_constraints.rows()} | {kind.split()[-1] for n, kind in tally().tried if n == 9}
    published = {c["key"] for s in structures() for e in s["snapshot"]["element"] for c in e.get("constraint", ())}
    elsewhere = {key for key in published if key.startswith(("bdl-", "txt-", "ele-", "sdf-", "eld-"))}
    assert published - seeded - elsewhere == UNBROKEN


UNBROKEN = {
    "tst-4",  # both of what it asks for are required anyway
    "inv-0",  # on MetadataResource, which is no resource of its own
    "ppc-4",  # speaks of a code "adr" that the published list spells otherwise; the same rule as its neighbours
}


def shown() -> None:
    result = tally()
    print(table(result))
    for (number, kind), places in sorted(result.missed.items()):
        print(f"\n{number} {kind}: {len(places)} of {result.tried[number, kind]}", *places[:4], sep="\n    ")


if __name__ == "__main__":
    shown()
