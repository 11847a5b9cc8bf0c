"""Seeded faults: published examples broken in one place at a time; each kind that is claimed must be found, always.

The seeder imports nothing of the project for what it breaks: it reads the published definitions themselves
(StructureDefinitions and expansions of R4 4.0.1), so it knows the type and cardinality of each element
independently of our tables.
"""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

import pytest

from bridge.check import check_bundle
from bridge.issues import Severity
from tests.standards import standard_json, standards_file, standards_folder

NAMES = [
    "AllergyIntolerance-fishallergy", "Bundle-bundle-transaction", "CarePlan-gpvisit", "Composition-example-mixed",
    "Condition-f001", "Condition-f202", "Consent-consent-example-notThem", "Encounter-f203", "Media-example",
    "MedicationAdministration-medadmin0302", "MedicationStatement-example002", "Observation-blood-pressure-dar",
    "Observation-ekg", "Observation-f001", "Organization-f201", "Patient-example", "Practitioner-f001",
    "Procedure-f002", "Provenance-signature", "ServiceRequest-myringotomy", "Task-example2",
]  # fmt: skip
EXPECTED = {
    "unknown key": {"S102"},
    "wrong code": {"S111"},
    "impossible date": {"S108"},
    "text to number": {"S105"},
    "object to text": {"S105"},
    "one to list": {"S104"},
    "list to one": {"S104"},
    "required left out": {"S103", "S107"},  # S107 where nothing else was in the object
    "required simple value left out": {"S103", "S107"},
    "unknown resource": {"S101"},
    "empty text": {"S107"},
    "null": {"S107"},
    "number to text": {"S105"},
    "yes-no to text": {"S105"},
    "second choice": {"S106"},
    "broken markup": {"S113"},
    "broken id": {"S109"},
}
"""Kind of fault to the rules of which one must speak at that place or right around it."""
DATES = {"date", "dateTime", "instant"}
FHIR_TYPE = "http://hl7.org/fhir/StructureDefinition/structuredefinition-fhir-type"


class Fact(NamedTuple):
    types: tuple[str, ...]
    min: int
    max: str
    codes: str


class Fault(NamedTuple):
    kind: str
    path: str
    data: Any


@cache
def definitions() -> dict[str, dict[str, Fact]]:
    """Elements by parent path, straight from the published snapshots."""
    found: dict[str, dict[str, Fact]] = {}
    for file in ("profiles-types", "profiles-resources"):
        for entry in standard_json(f"fhir-r4/{file}.json.gz")["entry"]:
            structure = entry["resource"]
            if structure["resourceType"] != "StructureDefinition" or structure.get("derivation") == "constraint":
                continue
            for element in structure["snapshot"]["element"]:
                parent, _, name = element["path"].rpartition(".")
                binding = element.get("binding", {})
                required = binding.get("strength") == "required"
                found.setdefault(parent, {})[name] = Fact(
                    tuple(map(type_of, element.get("type", ()))) or ("#" + element.get("contentReference", "#")[1:],),
                    element["min"],
                    element["max"],
                    binding.get("valueSet", "").partition("|")[0] if required else "",
                )
    return found


def type_of(row: dict[str, Any]) -> str:
    for extension in row.get("extension", ()):
        if extension["url"] == FHIR_TYPE:
            return str(extension["valueUrl"])
    return str(row["code"])


@cache
def closed_lists() -> frozenset[str]:
    """Value sets with a published expansion that is whole."""
    return frozenset(
        r["url"]
        for e in standard_json("fhir-r4/valueset-expansions.json.gz")["entry"]
        if (r := e["resource"])["expansion"].get("contains") and not r["expansion"].get("extension")
    )


def places(node: dict[str, Any], parent: str, at: tuple[Any, ...]) -> Iterator[tuple[tuple[Any, ...], Fact, str, str]]:
    """Every property: its keys from the top, its facts, its own type, and its name in the definitions."""
    for key, value in node.items():
        known = definitions()[parent]
        name, fact, type = key, known.get(key), ""
        if fact is None:
            for base, option in known.items():
                if base.endswith("[x]") and key.startswith(base[:-3]):
                    type = next((t for t in option.types if key == base[:-3] + t[0].upper() + t[1:]), "")
                    name, fact = base, option
                    if type:
                        break
        if fact is None or key == "resourceType" or key.startswith("_"):
            continue
        type = type or fact.types[0]
        yield (*at, key), fact, type, name
        for index, item in enumerate(value if isinstance(value, list) else [value]):
            here = (*at, key, index) if isinstance(value, list) else (*at, key)
            if isinstance(item, dict):
                inner = f"{parent}.{name}"
                if type == "Resource":
                    inner = item["resourceType"]
                elif type.startswith("#"):
                    inner = type[1:]
                elif type not in ("BackboneElement", "Element"):
                    inner = type
                yield from places(item, inner, here)


def changed(data: Any, at: tuple[Any, ...], change: Any) -> Any:
    copied = copy.deepcopy(data)
    node = copied
    for key in at[:-1]:
        node = node[key]
    change(node, at[-1])
    return copied


def path_of(data: Any, at: tuple[Any, ...]) -> str:
    return data["resourceType"] + "".join(f"[{k}]" if isinstance(k, int) else f".{k}" for k in at)


def put(value: Any) -> Any:
    return lambda node, key: node.__setitem__(key, value)


def faults(data: dict[str, Any]) -> Iterator[Fault]:
    """Every fault of every kind that the example has room for."""
    whole = ((), Fact((), 0, "1", ""), "Resource", "")
    for at, fact, type, name in [whole, *places(data, data["resourceType"], ())]:
        value: Any = data
        for key in at:
            value = value[key]
        many = isinstance(value, list)
        for index, item in enumerate(value) if many else [(None, value)]:
            here = at if index is None else (*at, index)
            path = path_of(data, here)

            def fault(kind: str, new: Any, here: tuple[Any, ...] = here, path: str = path) -> Fault:
                return Fault(kind, path, changed(data, here, put(new)))

            if isinstance(item, dict):
                yield Fault("unknown key", f"{path}.zzUnknown", changed(data, (*here, "zzUnknown"), put("a")))
                if "resourceType" in item:
                    renamed = changed(data, (*here, "resourceType"), put("Visit"))
                    yield Fault("unknown resource", path if here else "Resource", renamed)
                if here:
                    yield fault("object to text", "text")
            if not here:
                continue
            if isinstance(item, str):
                yield fault("text to number", 7)
                yield fault("empty text", "")
                if type in DATES:
                    yield fault("impossible date", "2023-02-29")
                    yield fault("impossible date", "2023-13-01T10:00:00Z")
                if type == "code" and fact.codes in closed_lists():
                    yield fault("wrong code", "zz-wrong")
                if type == "xhtml":
                    yield fault("broken markup", item.replace("</div>", "", 1))
                if name == "id" and "resourceType" in (data if len(here) == 1 else {}):
                    yield fault("broken id", "a b")
            elif isinstance(item, bool):
                yield fault("yes-no to text", "true")
            elif isinstance(item, int | float):
                yield fault("number to text", "7")
        if not at:
            continue
        path = path_of(data, at)
        if many:
            yield Fault("list to one", path, changed(data, at, put(value[0])))
        else:
            yield Fault("one to list", path, changed(data, at, put([value])))
            yield Fault("null", path, changed(data, at, put(None)))
        if fact.min:
            simple = not isinstance(value, dict | list)
            kind = "required simple value left out" if simple else "required left out"
            yield Fault(kind, path.rpartition(".")[0], changed(data, at, lambda node, key: node.pop(key)))
        if name.endswith("[x]"):
            other = next((t for t in fact.types if t != type), "")
            if other:
                key = name[:-3] + other[0].upper() + other[1:]
                doubled = changed(data, (*at[:-1], key), put({"text": "a"}))
                yield Fault("second choice", path.rpartition(".")[0], doubled)


# No example is named here that the folder lacks; without the folder the list is empty and the last test says why.
EXAMPLES = [name for name in NAMES if (standards_folder() / f"fhir-r4-examples/{name}.json").exists()]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_seeded_fault_is_found_in_its_place(name: str, record_property: Any) -> None:
    data = standard_json(f"fhir-r4-examples/{name}.json")
    tried: Counter[str] = Counter()
    missed = []
    for fault in faults(data):
        tried[fault.kind] += 1
        found = [i for i in check_bundle(fault.data) if i.severity >= Severity.error]
        if not any(i.rule in EXPECTED[fault.kind] and i.where.path == fault.path for i in found):
            missed.append((fault.kind, fault.path, [(i.rule, i.where.path) for i in found][:3]))
    record_property("tried", dict(tried))
    assert missed == []
    assert sum(tried.values()) > 20


def test_the_seeder_makes_every_kind_often_enough() -> None:
    """So that a kind that is never made is not taken for one that is always found."""
    standards_file("fhir-r4-examples")
    tried: Counter[str] = Counter()
    for name in EXAMPLES:
        tried.update(fault.kind for fault in faults(standard_json(f"fhir-r4-examples/{name}.json")))
    print(f"\n{sum(tried.values())} faults:", *(f"{kind} {count}," for kind, count in sorted(tried.items())))
    assert len(EXAMPLES) == len(NAMES)
    assert {kind for kind in EXPECTED if tried[kind] < 5} == set()
