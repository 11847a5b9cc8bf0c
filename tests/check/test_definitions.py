"""Constraints on names, structure and element definitions, and questionnaires.

Oracle: the definition files of FHIR R4 4.0.1, IPS 2.0.0 and UK Core (734 structure definitions). All are judged by
these constraints; a fault made in a real one must be told under its rule, at its place, and nothing else with it. No
questionnaire is published among them, so those are invented. The cases of each rule stand in tests/cases.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.check.conformance import careful, check_conformance
from bridge.check.invariants import constraints, own_constraints
from bridge.check.invariants.registry import places
from bridge.check.node import OUTERMOST, Node
from bridge.check.structure import Walk
from bridge.fhir import tables
from bridge.issues import Severity, rules
from tests.check.published import name_of, published
from tests.spots import spots
from tests.standards import standard_json
from tests.work import work

COUNTS = {
    "profiles-types": 63,
    "profiles-resources": 149,
    "profiles-others": 44,
    "extension-definitions": 393,
    "ips": 32,
    "uk-core": 53,
}
FLAWED: dict[str, dict[str, list[str]]] = {
    "uk-core": {
        # The published differential binds an extension itself instead of its value, which shows where the types do.
        # The rest is derived: a slice has the min of all slices together, and where a differential names the strength
        # of a binding alone, the snapshot lacks the value set of what it is based on.
        "StructureDefinition/Extension-UKCore-ObservationTriggeredBy": ["V281 13", "V287 8"],
        "StructureDefinition/UKCore-Observation": ["V261 46", "V261 47", "V281 21", "V287 16"],
        "StructureDefinition/UKCore-Condition": ["V261 17"],
        "StructureDefinition/UKCore-MedicationStatement": ["V261 45"],
        "StructureDefinition/UKCore-Procedure": ["V261 33"],
        "StructureDefinition/UKCore-ServiceRequest": ["V261 57"],
    },
}
"""File and structure to the rules that it breaks, each with the number of the element in the snapshot."""


def definitions(file: str) -> Iterator[Any]:
    """The structure definitions of a file. Do not change what you get."""
    if file == "uk-core":
        found = standard_json("uk-core/uk-core-snapshots.json.gz")
        resources = (entry["resource"] for entry in found["entry"]) if "entry" in found else found
    else:
        resources = published(file)
    return (resource for resource in resources if resource["resourceType"] == "StructureDefinition")


def mine(resource: Any) -> Iterator[tuple[str, str]]:
    """Rule and place of every error by the constraints of this page."""
    for node in Walk(resource).nodes:
        for code, _, holds in constraints(node.type):
            if "V250" <= code < "V350" and rules()[code].severity >= Severity.error and not holds(node.value, node):
                yield from ((code, node.path + place) for place in places(holds, node))


@pytest.mark.parametrize("file", COUNTS)
def test_only_what_is_flawed_is_called_wrong(file: str) -> None:
    wrong: dict[str, list[str]] = {}
    count = 0
    for resource in definitions(file):
        count += 1
        if found := sorted(f"{code} {path.partition('[')[2].partition(']')[0]}" for code, path in mine(resource)):
            wrong[name_of(resource)] = found
    assert count == COUNTS[file]
    assert wrong == FLAWED.get(file, {})


def test_every_name_has_its_key() -> None:
    """Oracle: the constraints that end in -0, as published."""
    found = [(path, key) for path, rows in tables.invariants().items() for key in rows if key.endswith("-0")]
    assert len(found) == 29
    assert [pair for pair in found if ("V250", pair[1]) not in {(c, k) for c, k, _ in own_constraints(pair[0])}] == []


ROOMS = ("ElementDefinition", "StructureDefinition", "Questionnaire", "QuestionnaireResponse")


def test_every_key_is_answered_for() -> None:
    found = {key for path, rows in tables.invariants().items() if path.partition(".")[0] in ROOMS for key in rows}
    types = [type for type in tables.types() if type.partition(".")[0] in ROOMS]
    assert found - {key for type in types for _, keys, _ in own_constraints(type) for key in keys.split(", ")} == set()


Breaks = Callable[[Any, list[Any]], str]
"""Changes a structure, given the elements of its snapshot; answers where, or nothing where it cannot."""


def put(place: str, key: str, value: Any, when: Callable[[Any], bool] = lambda element: True) -> Breaks:
    """Sets (or, with None, takes away) one thing in the last element for which it can be done."""

    def breaks(structure: Any, elements: list[Any]) -> str:
        for index in reversed(range(1, len(elements))):
            element = elements[index]
            if when(element) and element.get(key) != value:
                element.pop(key, None)
                if value is not None:
                    element[key] = value
                return f".snapshot.element[{index}]{place}"
        return ""

    return breaks


def on_root(place: str, key: str, value: Any) -> Breaks:
    def breaks(structure: Any, elements: list[Any]) -> str:
        elements[0][key] = value
        return f".snapshot.element[0]{place}"

    return breaks


def on_structure(key: str, value: Any, when: Callable[[Any], bool] = lambda structure: True) -> Breaks:
    def breaks(structure: Any, elements: list[Any]) -> str:
        if not when(structure):
            return ""
        structure.pop(key, None)
        if value is not None:
            structure[key] = value
        return "."

    return breaks


def typed(*codes: str) -> Callable[[Any], bool]:
    return lambda element: [type["code"] for type in element.get("type", ())] == list(codes)


def free(element: Any) -> bool:
    return "contentReference" not in element and not {key[:5] for key in element} & {"fixed", "patte", "defau"}


def last_path_elsewhere(structure: Any, elements: list[Any]) -> str:
    if len(elements) < 2:
        return ""
    elements[-1]["path"] = "Ear.drum"
    return f".snapshot.element[{len(elements) - 1}].path"


def last_id_again(structure: Any, elements: list[Any]) -> str:
    if len(elements) < 3:
        return ""
    elements[-1]["id"] = elements[-2]["id"]
    return f".snapshot.element[{len(elements) - 1}].id"


def a_key_again(structure: Any, elements: list[Any]) -> str:
    for index, element in enumerate(elements):
        if element.get("constraint"):
            element["constraint"].append(copy.deepcopy(element["constraint"][0]))
            return f".snapshot.element[{index}]"
    return ""


def a_type_again(structure: Any, elements: list[Any]) -> str:
    for index, element in enumerate(elements):
        if element.get("type") and free(element):
            element["type"].append(copy.deepcopy(element["type"][0]))
            return f".snapshot.element[{index}]"
    return ""


def is_constraint(structure: Any) -> bool:
    return bool(structure.get("derivation") == "constraint")


def is_plain(structure: Any) -> bool:
    return bool(structure["type"] != "Extension")


def is_url_of_fhir(structure: Any) -> bool:
    return bool(structure["url"].startswith("http://hl7.org/fhir/StructureDefinition/"))


def of_fhir(breaks: Breaks) -> Breaks:
    return lambda structure, elements: breaks(structure, elements) if is_url_of_fhir(structure) else ""


def on_extension(structure: Any) -> bool:
    return is_constraint(structure) and not is_plain(structure)


STRING = {"code": "string"}
FAULTS: list[tuple[str, str, Breaks]] = [
    ("V253", "no-min", put("", "min", None)),
    ("V253", "no-max", put("", "max", None, lambda e: "min" in e)),
    ("V253", "no-definition", put("", "definition", None)),
    ("V254", "no-base-definition", on_structure("baseDefinition", None, lambda s: not s["abstract"])),
    ("V255", "no-context", on_structure("context", None, on_extension)),
    ("V258", "elsewhere", last_path_elsewhere),
    ("V259", "no-base", put("", "base", None)),
    ("V260", "label-of-root", on_root("", "label", "Ear")),
    ("V261", "bound-to-nothing", put(".binding", "binding", {"strength": "example"}, typed("CodeableConcept"))),
    ("V262", "no-id", put("", "id", None)),
    ("V263", "type-of-root", on_root(".type", "type", [{"code": "Element"}])),
    ("V264", "id-again", last_id_again),
    ("V265", "context-of-none", on_structure("contextInvariant", ["id.exists()"], is_plain)),
    ("V266", "type-of-nobody", of_fhir(put(".type[0].code", "type", [{"code": "Ear"}], typed("boolean")))),
    (
        "V269",
        "default",
        of_fhir(put("", "defaultValueString", "a", lambda e: free(e) and "meaningWhenMissing" not in e)),
    ),
    ("V270", "slice-of-root", on_root(".sliceName", "sliceName", "own")),
    ("V280", "slices-of-nothing", put(".slicing", "slicing", {"rules": "open"})),
    ("V281", "more-than-allowed", put("", "min", 2, lambda e: e["max"] == "1")),
    ("V282", "no-number", put(".max", "max", "n")),
    (
        "V283",
        "aggregated",
        put(".type[0]", "type", [{"code": "Period", "aggregation": ["contained"]}], typed("Period")),
    ),
    ("V284", "defined-elsewhere", put("", "contentReference", "#a", lambda e: "type" in e)),
    ("V285", "fixed", put("", "fixedString", "a", lambda e: free(e) and len(e.get("type", ())) > 1)),
    ("V286", "both", put("", "patternUri", "a", lambda e: "fixedUri" in e)),
    ("V287", "bound", put("", "binding", {"strength": "example", "description": "Any"}, typed("boolean"))),
    ("V288", "value-set", put(".binding", "binding", {"strength": "example", "valueSet": "a/b"}, typed("Coding"))),
    ("V289", "type-again", a_type_again),
    ("V290", "key-again", a_key_again),
    ("V292", "slice-name", put(".sliceName", "sliceName", "left ear")),
    (
        "V293",
        "target",
        put(".type[0]", "type", [{**STRING, "targetProfile": ["http://example.org/a"]}], typed("string")),
    ),
    ("V294", "no-reason", put("", "isModifierReason", None, lambda e: e.get("isModifier") is True)),
    ("V298", "no-slice", put("", "sliceIsConstraining", False, lambda e: "sliceName" not in e)),
]
MOST = 12
"""About so many faults of each kind, at even steps over all structures where it can be made."""


@cache
def all_of_r4() -> list[Any]:
    files = ("profiles-types", "profiles-resources", "profiles-others", "extension-definitions")
    return [resource for file in files for resource in definitions(file) if "snapshot" in resource]


def told(structure: Any) -> list[tuple[str, str]]:
    return [(i.rule, i.where.path) for i in check_conformance(structure) if i.severity >= Severity.error]


def shallow(structure: Any) -> Any:
    """A copy in which elements can be set, but nothing inside them."""
    return {**structure, "snapshot": {"element": [copy.copy(e) for e in structure["snapshot"]["element"]]}}


@pytest.mark.parametrize(("code", "breaks"), [pytest.param(c, b, id=f"{c}-{n}") for c, n, b in FAULTS])
def test_a_fault_is_told(code: str, breaks: Breaks) -> None:
    can = []
    for structure in all_of_r4():
        tried = copy.deepcopy(structure) if code in {"V289", "V290"} else shallow(structure)
        if breaks(tried, tried["snapshot"]["element"]):
            can.append(structure)
    assert len(can) >= MOST
    for structure in can[:: len(can) // MOST]:
        broken = copy.deepcopy(structure)
        place = breaks(broken, broken["snapshot"]["element"])
        assert told(broken) == [(code, f"StructureDefinition{place.rstrip('.')}")]


def test_a_contained_structure_is_judged_by_its_own_kind() -> None:
    """The container is about Patient; what it contains is about Group, and a logical model about what it likes."""
    inner: dict[str, Any] = {
        "resourceType": "StructureDefinition",
        "id": "a",
        "url": "http://example.org/a",
        "name": "A",
    }
    inner |= {"status": "draft", "kind": "resource", "abstract": False, "type": "Group", "derivation": "constraint"}
    inner |= {"baseDefinition": "http://hl7.org/fhir/StructureDefinition/Group"}
    inner["differential"] = {"element": [{"id": "Group", "path": "Group"}]}
    outer = {**inner, "type": "Patient", "differential": {"element": [{"id": "Patient", "path": "Patient"}]}}
    outer["extension"] = [{"url": "http://example.org/x", "valueReference": {"reference": "#a"}}]
    del outer["id"]
    assert told({**outer, "contained": [inner]}) == []
    wrong = {**inner, "type": "Patient"}
    place = "StructureDefinition.contained[0].differential.element[0].path"
    assert told({**outer, "contained": [wrong]}) == [("V257", place)]
    assert told({**outer, "contained": [{**wrong, "kind": "logical"}]}) == []


def structure(count: int) -> Any:
    """A structure with so many elements in both views, all right."""
    paths = ["Ear", *(f"Ear.part{number}" for number in range(count))]
    base = {"path": "Ear", "min": 0, "max": "*"}
    snapshot = [{"id": p, "path": p, "definition": "A part", "min": 0, "max": "1", "base": base} for p in paths]
    return {
        "resourceType": "StructureDefinition",
        "url": "http://hl7.org/fhir/StructureDefinition/ear",
        "kind": "logical",
        "type": "Ear",
        "abstract": False,
        "baseDefinition": "http://hl7.org/fhir/StructureDefinition/Element",
        "derivation": "specialization",
        "snapshot": {"element": snapshot},
        "differential": {"element": [{"id": p, "path": p} for p in paths]},
    }


def questionnaire(count: int, deep: bool = False) -> Any:
    """Questions beside each other, or in chains of 50, each enabled by the one before."""
    yes = {"operator": "exists", "answerBoolean": True}
    items: list[Any] = [{"linkId": f"q{n}", "type": "string"} for n in range(count)]
    for before, item in pairwise(items):
        item["enableWhen"] = [{"question": before["linkId"], **yes}]
    tops = items
    if deep:
        tops = items[::50]
        for start in range(0, count, 50):
            for above, below in pairwise(items[start : start + 50]):
                above["item"] = [below]
    return {"resourceType": "Questionnaire", "status": "draft", "item": tops}


def cost(resource: Any) -> int:
    type = resource["resourceType"]
    at = Node(type, type, resource, OUTERMOST, resource)
    functions = [holds for code, _, holds in own_constraints(type) if "V250" < code < "V350"]
    assert functions
    assert all(holds(resource, at) for holds in functions)
    return work(lambda: [holds(resource, at) for holds in functions])


MAKERS = [structure, questionnaire, lambda count: questionnaire(count, deep=True)]


@pytest.mark.parametrize("make", MAKERS, ids=["structure", "questions beside", "questions below"])
def test_the_cost_grows_with_the_elements(make: Callable[[int], Any]) -> None:
    """Eight times the elements: eight times the work, and not sixty-four."""
    assert cost(make(8_000)) < 9 * cost(make(1_000))


JUNK: list[Any] = [None, [], {}, 0, True, "left ear", [None], [{}], ["a"], {"a": "b"}]
CASES = sorted(p for p in (Path(__file__).parents[1] / "cases").glob("V*.yaml") if "V250" <= p.stem < "V350")


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_anything_in_any_place_is_answered(path: Path) -> None:
    """In the first faulty case of each rule, and by its own functions even where the walk would not let it in."""
    resource = yaml.safe_load(path.read_text(encoding="utf-8"))["fails"][0]["given"]
    type = resource["resourceType"]
    for at in range(len(list(spots(resource)))):
        for value in JUNK:
            broken = copy.deepcopy(resource)
            holder, key = list(spots(broken))[at]
            holder[key] = value
            assert all(i.rule in rules() for i in careful(broken))
            node = Node(type, type, broken, OUTERMOST, broken)
            assert all(holds(broken, node) in (True, False) for _, _, holds in own_constraints(type))
