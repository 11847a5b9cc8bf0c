"""Seeded faults of profiles: right data broken in one place by what IPS, UK Core or the vital signs ask for.

The seeder (profile_trees.py, profile_faults.py) reads the published profiles itself. Each fault has to be told as an
error at its place or the one around it, with the name of the element or slice. What is broken: the published examples
of IPS and UK Core, the vital signs of R4, and what the demo bundles claim.

`VISIT_BRIDGE_MANY=20 python -m pytest -s tests/oracles/test_profile_faults.py` breaks each element that often;
`python -m tests.oracles.test_profile_faults` prints the table and what was missed.
"""

from __future__ import annotations

import json
import os
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from bridge.check.profiles import Asked, check_profiles
from bridge.fhir.received import read_received
from bridge.issues import Severity
from tests.oracles.profile_faults import KINDS, Fault, faults
from tests.oracles.profile_trees import profiles
from tests.oracles.seed_definitions import Json
from tests.standards import ROOT, standards_file

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "1"))
CORE = "http://hl7.org/fhir/StructureDefinition/"
VITAL = {"Observation-body-height": "bodyheight", "Observation-body-temperature": "bodytemp",
         "Observation-head-circumference": "headcircum", "Observation-blood-pressure-dar": "bp"}  # fmt: skip


class Told(NamedTuple):
    """An error: its rule, place and words."""

    rule: str
    path: str
    message: str


class Base(NamedTuple):
    """Right data, the profile that it conforms to, and the bundle that it stands in."""

    name: str
    data: Json
    profile: str
    bundle: Json | None = None
    entry: int = 0


class Tally(NamedTuple):
    tried: Counter[str]
    caught: Counter[str]
    placed: Counter[str]
    missed: dict[str, list[str]]


def read(path: Path) -> Json:
    data, _ = read_received(path.read_bytes(), path.name)
    assert isinstance(data, dict)
    return data


def bases() -> Iterator[Base]:
    folder = standards_file("fhir-r4-examples")
    for path in [*sorted((folder / "ips").glob("*")), *sorted((folder / "uk-core").glob("UKCore*"))]:
        yield from of_data(path.name, read(path))
    for path in sorted((ROOT / "demo_bundles").rglob("*.bundle.json")):
        yield from of_data(path.name, json.loads(path.read_bytes()))
    for name, profile in VITAL.items():
        data = read(folder / f"{name}.json")
        yield Base(name, data, CORE + profile)


def of_data(name: str, data: Json) -> Iterator[Base]:
    yield from (Base(name, data, url) for url in claimed(data) or named(name, data))
    for number, entry in enumerate(data.get("entry", ()) if data["resourceType"] == "Bundle" else ()):
        inner = entry.get("resource", {})
        whole = data if inner.get("resourceType") == "Composition" else None
        yield from (Base(f"{name}[{number}]", inner, url, whole, number) for url in claimed(inner))


def claimed(data: Json) -> list[str]:
    urls = [url.partition("|")[0] for url in data.get("meta", {}).get("profile", ())]
    return [url for url in urls if url in profiles() and profiles()[url]["type"] == data["resourceType"]]


def named(name: str, data: Json) -> list[str]:
    """The profile of UK Core that an example is called after."""
    urls = [
        u
        for u, one in profiles().items()
        if one["type"] == data["resourceType"] and name.startswith(u.rpartition("/")[2])
    ]
    return [max(urls, key=len)] if urls else []


@cache
def asked(profile: str) -> Asked:
    return Asked(profiles=[profile] if profile else [])


def told(base: Base, data: Json) -> set[Told]:
    """Errors of profiles in the data, at places as in the data alone."""
    whole, at, ask = data, data["resourceType"], asked(base.profile)
    if base.bundle is not None:
        entries = [dict(entry) for entry in base.bundle["entry"]]
        entries[base.entry]["resource"] = data
        whole, at, ask = {**base.bundle, "entry": entries}, f"Bundle.entry[{base.entry}].resource", asked("")
    return {
        Told(i.rule, data["resourceType"] + i.where.path[len(at) :], i.message)
        for i in check_profiles(whole, whole["resourceType"], ask)
        if i.severity >= Severity.error and i.where.path.startswith(at)
    }


@cache
def tally() -> Tally:
    result = Tally(Counter(), Counter(), Counter(), defaultdict(list))
    done: Counter[str] = Counter()
    for base in bases():
        before: set[Told] | None = None
        for fault in faults(base.profile, base.data):
            if done[f"{fault.kind} {fault.of}"] >= MANY:
                continue
            if before is None:
                before = told(base, base.data)
            done[f"{fault.kind} {fault.of}"] += 1
            judge(result, base, fault, before)
    return result


def judge(result: Tally, base: Base, fault: Fault, before: set[Told]) -> None:
    issues = told(base, fault.make()) - before
    result.tried[fault.kind] += 1
    result.caught[fault.kind] += bool(issues)
    near = [i for i in issues if i.path.replace("._", ".") in fault.places]
    right = any(any(name in i.message for name in fault.names) for i in near)
    result.placed[fault.kind] += right
    if not right:
        shown = [(i.rule, i.path, i.message[:150]) for i in sorted(issues)][:3]
        result.missed[fault.kind].append(f"{base.name}: {fault.of} {fault.names} at {sorted(fault.places)}: {shown}")


def table(result: Tally) -> str:
    return "\n".join(
        f"{kind}: tried {result.tried[kind]}, caught {result.caught[kind]}, in place {result.placed[kind]}"
        for kind in KINDS
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_fault_of_a_profile_is_told_in_its_place(kind: str) -> None:
    standards_file("ips")
    result = tally()
    assert result.missed.get(kind, [])[:3] == []
    assert result.tried[kind] > 0


def test_the_table_of_kinds() -> None:
    standards_file("ips")
    result = tally()
    print(f"\n{sum(result.tried.values())} faults\n{table(result)}")
    assert sum(result.tried.values()) > 300


def shown() -> None:
    result = tally()
    print(sum(result.tried.values()), "faults", table(result), sep="\n")
    for kind, places in result.missed.items():
        print(f"\n{kind}: {len(places)} of {result.tried[kind]}", *places[:6], sep="\n    ")


if __name__ == "__main__":
    shown()
