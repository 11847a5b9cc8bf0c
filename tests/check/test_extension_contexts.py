"""Where extensions may stand, by the published definitions and by small ones.

Expected places are read from defining-extensions.html#context and valueset-extension-context-type.html of R4.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.check.extension_contexts import ALSO, check_extension_contexts
from bridge.check.structure import Walk
from bridge.fhir.received import read_received
from bridge.shapes import Json
from tests.standards import standard_json, standards_file, standards_folder

URL = "http://example.org/ear"
CORE = "http://hl7.org/fhir/StructureDefinition/"
Context = tuple[str, str]


def extension(*contexts: Context, modifier: bool | None = None, invariant: str = "") -> Json:
    """A structure of an extension as they come from the shelves."""
    rows = [{"type": type, "expression": expression} for type, expression in contexts]
    first = {"path": "Extension"} | ({} if modifier is None else {"isModifier": modifier})
    asked = {"contextInvariant": [invariant]} if invariant else {}
    return {"type": "Extension", "context": rows, "elements": [first], **asked}


def told(resource: Any, structure: Json | None, url: str = URL) -> list[tuple[str, str]]:
    found = check_extension_contexts(Walk(resource).nodes, lambda asked: structure if asked == url else None)
    return [(issue.rule, issue.where.path) for issue in found]


def at(place: str, url: str = URL) -> Json:
    """A resource with the extension at one place."""
    one = {"extension": [{"url": url, "valueString": "x"}]}
    quantity = {"valueQuantity": {"value": 1, **one}}
    given: dict[str, Json] = {
        "Patient": {"resourceType": "Patient", **one},
        "Patient.birthDate": {"resourceType": "Patient", "birthDate": "2020", "_birthDate": one},
        "Patient.name": {"resourceType": "Patient", "name": [{"family": "x", **one}]},
        "Patient.name.given": {"resourceType": "Patient", "name": [{"given": ["a", "b"], "_given": [None, one]}]},
        "Patient.contact.name": {"resourceType": "Patient", "contact": [{"name": {"text": "x", **one}}]},
        "Observation.component": {"resourceType": "Observation", "component": [one]},
        "Observation.value": {"resourceType": "Observation", **quantity},
        "Observation.component.value": {"resourceType": "Observation", "component": [quantity]},
        "Questionnaire.item.item": {"resourceType": "Questionnaire", "item": [{"item": [{"linkId": "2", **one}]}]},
        "contained": {"resourceType": "Observation", "contained": [{"resourceType": "Patient", **one}]},
        "Bundle": {"resourceType": "Bundle", "entry": [{"resource": {"resourceType": "Patient", **one}}]},
        "Extension": {"resourceType": "Patient", "extension": [{"url": "http://example.org/outer", **one}]},
        "part": {
            "resourceType": "Patient",
            "extension": [{"url": "http://example.org/outer", "extension": [{"url": "inner", **one}]}],
        },
    }
    return given[place]


def misplaced(place: str, *contexts: Context) -> bool:
    rules = {rule for rule, _ in told(at(place), extension(*contexts))}
    assert rules <= {"P170", "P174"}
    return "P170" in rules


ALLOWED = {
    "Patient": ("Patient", "DomainResource", "Resource", "Element", "http://example.org/profile#Patient"),
    "Patient.birthDate": ("Patient.birthDate", "date", "Element"),
    "Patient.name": ("Patient.name", "HumanName", "Element", "Patient.name:official"),
    "Patient.name.given": ("HumanName.given", "Patient.name.given", "string"),
    "Patient.contact.name": ("Patient.contact.name", "HumanName"),
    "Observation.component": ("Observation.component", "BackboneElement", "Element"),
    "Observation.value": ("Observation.value[x]", "Quantity", "Observation.valueQuantity"),
    "Observation.component.value": ("Observation.component.value[x]", "Quantity"),
    "Questionnaire.item.item": ("Questionnaire.item", "Questionnaire.item.item", "BackboneElement"),
    "contained": ("Patient",),
    "Bundle": ("Patient",),
    "Extension": ("Extension", "Element"),
}
REFUSED = {
    "Patient": ("Patient.birthDate", "Observation", "date", "BackboneElement"),
    "Patient.birthDate": ("Patient", "string", "dateTime", "Patient.deceased[x]"),
    "Patient.name": ("Patient.contact.name", "Patient", "HumanName.given", "Address"),
    "Patient.name.given": ("HumanName", "HumanName.family", "code"),
    "Patient.contact.name": ("Patient.name",),
    "Observation.component": ("Observation", "Observation.value[x]"),
    "Observation.value": ("Observation.component.value[x]", "CodeableConcept"),
    "Observation.component.value": ("Observation.value[x]",),
    "Questionnaire.item.item": ("Questionnaire", "Questionnaire.item.answerOption"),
    "contained": ("Observation", "Observation.contained.name"),
    "Bundle": ("Bundle", "Bundle.entry"),
    "Extension": ("Patient", "Patient.name"),
}


@pytest.mark.parametrize(("place", "expression"), [(p, e) for p, rows in ALLOWED.items() for e in rows])
def test_an_element_that_is_named_holds_it(place: str, expression: str) -> None:
    assert not misplaced(place, ("element", expression))
    assert not misplaced(place, ("element", "Group"), ("element", expression))


@pytest.mark.parametrize(("place", "expression"), [(p, e) for p, rows in REFUSED.items() for e in rows])
def test_an_element_that_is_not_named_does_not(place: str, expression: str) -> None:
    assert misplaced(place, ("element", expression))


def test_extensions_of_extensions() -> None:
    outer = "http://example.org/outer"
    assert not misplaced("Extension", ("extension", outer))
    assert misplaced("Extension", ("extension", "http://example.org/other"))
    assert misplaced("Patient", ("extension", outer))
    assert not misplaced("part", ("extension", f"{outer}#inner"))
    assert not misplaced("part", ("extension", f"{outer}#Extension.extension:inner"))
    assert misplaced("part", ("extension", f"{outer}#another"))
    assert misplaced("part", ("extension", outer))


def test_expressions_name_elements() -> None:
    assert not misplaced("Patient.name", ("fhirpath", "Patient.name.where(family = 'x')"))
    assert misplaced("Patient.name", ("fhirpath", "Patient.name.where(family = 'y')"))
    assert not misplaced("Patient.birthDate", ("fhirpath", "Patient.birthDate"))
    assert not misplaced("Patient.name.given", ("fhirpath", "Patient.name.given[1]"))
    assert misplaced("Patient.name.given", ("fhirpath", "Patient.name.given[0]"))
    assert not misplaced("contained", ("fhirpath", "Patient"))


def test_an_expression_that_cannot_be_evaluated_decides_nothing() -> None:
    undecided = extension(("fhirpath", "Patient.name.where("), ("element", "Group"))
    assert told(at("Patient"), undecided) == [("P172", "Patient.extension[0]")]
    assert told(at("Patient"), extension(("fhirpath", "("), ("element", "Patient"))) == []
    assert told(at("Patient"), extension(("strange", "Patient"))) == [("P172", "Patient.extension[0]")]


def test_the_element_must_be_as_the_definition_asks() -> None:
    """As the published item-weights and the like: `type='choice'` on the item, %extension the extension."""
    place = "Patient.name.extension[0]".replace("name", "name[0]")
    here = ("element", "HumanName")
    assert told(at("Patient.name"), extension(here, invariant="family = 'x' and %extension.value = 'x'")) == []
    assert told(at("Patient.name"), extension(here, invariant="family = 'y'")) == [("P171", place)]
    assert told(at("Patient.name"), extension(here, invariant="%extension.value = 'y'")) == [("P171", place)]
    assert told(at("Patient.name"), extension(here, invariant="family.memberOf('v')")) == [("P172", place)]
    date = extension(("element", "date"), invariant="$this.toString() = '2020'")
    assert told(at("Patient.birthDate"), date) == []


@pytest.mark.parametrize(("modifier", "holder", "fits"), [
    (True, "modifierExtension", True), (True, "extension", False), (None, "modifierExtension", False),
    (False, "modifierExtension", False), (None, "extension", True), (False, "extension", True),
])  # fmt: skip
def test_a_modifier_stands_among_modifiers(modifier: bool | None, holder: str, fits: bool) -> None:
    patient = {"resourceType": "Patient", holder: [{"url": URL, "valueString": "x"}]}
    found = told(patient, extension(("element", "Patient"), modifier=modifier))
    assert found == ([] if fits else [("P173", f"Patient.{holder}[0]")])


@pytest.mark.parametrize(("url", "holder", "rule"), [
    ("http://example.org/unknown", "extension", "P174"),
    ("http://example.org/unknown", "modifierExtension", "P175"),
    (f"{CORE}nothing-such", "extension", "P176"),
    (f"{CORE}patient-birthtime", "extension", "P177"),
    ("relative", "extension", "P178"),
    ("urn:oid:1.2.3", "extension", "P174"),
    ("http://hl7.org/fhir/5.0/StructureDefinition/extension-Patient.name", "extension", ""),
    (f"{CORE}nothing-such", "modifierExtension", "P176"),
])  # fmt: skip
def test_addresses_that_nobody_defines_here(url: str, holder: str, rule: str) -> None:
    patient = {"resourceType": "Patient", holder: [{"url": url, "valueString": "x"}]}
    assert told(patient, None) == ([(rule, f"Patient.{holder}[0]")] if rule else [])


def test_an_unknown_one_is_told_once_and_its_parts_are_not() -> None:
    one = {"url": URL, "extension": [{"url": "part", "valueString": "x"}]}
    assert told({"resourceType": "Patient", "extension": [one, one]}, None) == [("P174", "Patient.extension[0]")]


def test_what_is_defined_there_is_no_extension() -> None:
    assert told(at("Patient"), {"type": "Patient"}) == [("P179", "Patient.extension[0]")]


@cache
def published() -> dict[str, Json]:
    """Structures of the definitions that the examples are made by: R4, IPS, UK Core."""
    files = [f"fhir-r4/{name}.json.gz" for name in ("extension-definitions", "profiles-others", "profiles-types")]
    for folder in ("ips", "uk-core"):
        standards_file(folder)
        files += [f"{folder}/{path.name}" for path in sorted((standards_folder() / folder).glob("*.json*"))]
    found = {}
    for file in files:
        data = standard_json(file)
        rows = data if isinstance(data, list) else [e["resource"] for e in data.get("entry", ())] or [data]
        for row in rows:
            if row.get("resourceType") == "StructureDefinition":
                elements = (row.get("snapshot") or row.get("differential") or {}).get("element", [])
                found[row["url"]] = {**row, "elements": elements}
    return found


def test_published_examples_stand_right() -> None:
    """IPS 2.0.0 uses two extensions of a later package; that is what P176 says, and nothing else is told as a fault."""
    standards_file("fhir-r4-examples")
    faults, extensions = [], 0
    for path in sorted((standards_folder() / "fhir-r4-examples").rglob("*")):
        if path.suffix == ".json":
            data = json.loads(path.read_bytes())
        elif path.suffix == ".xml":
            data = read_received(path.read_bytes())[0]
        else:
            continue
        nodes = list(Walk(data).nodes)
        extensions += sum(node.type == "Extension" for node in nodes)
        urls = {node.path: node.value.get("url") for node in nodes if node.type == "Extension"}
        found = check_extension_contexts(nodes, published().get)
        faults += [(i.rule, urls[i.where.path]) for i in found if i.rule != "P174"]
    assert extensions > 150
    assert set(faults) == {("P176", f"{CORE}textLink"), ("P176", f"{CORE}allergyintolerance-abatement")}


def test_published_definitions_stand_right() -> None:
    """Three extensions stand elsewhere than they say in nearly all definitions, which is let through by name."""
    faults = set()
    for name in ("profiles-resources", "profiles-types", "profiles-others", "extension-definitions"):
        for entry in standard_json(f"fhir-r4/{name}.json.gz")["entry"]:
            nodes = list(Walk(entry["resource"]).nodes)
            found = check_extension_contexts(nodes, published().get)
            faults |= {(issue.rule, issue.message) for issue in found if issue.rule != "P174"}
    assert {rule for rule, _ in faults} <= {"P176"}
    assert {f"{CORE}{name}" for name in ALSO} <= set(published())


def test_a_published_definition_asks_something_of_its_element() -> None:
    """questionnaire-unit may stand on integers and decimals alone, questionnaire-fhirType not on a display."""
    asked = {url: row["contextInvariant"] for url, row in published().items() if row.get("contextInvariant")}
    assert asked[f"{CORE}questionnaire-unit"] == ["type='integer' or type='decimal'"]
    for kind, rules in (("integer", []), ("string", ["P171"])):
        one = {"url": f"{CORE}questionnaire-unit", "valueCoding": {"code": "x"}}
        item = {"linkId": "1", "type": kind, "extension": [one]}
        nodes = Walk({"resourceType": "Questionnaire", "status": "draft", "item": [item]}).nodes
        assert [issue.rule for issue in check_extension_contexts(nodes, published().get)] == rules


HOSTILE = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5) | st.just(URL),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["extension", "modifierExtension", "url", "_birthDate", "birthDate", "name", "_given", "given"]
            ),
            inner,
        )
    ),
    max_leaves=12,
)


@settings(max_examples=200, deadline=None)
@given(HOSTILE, HOSTILE)
def test_nothing_raises(data: Any, structure: Any) -> None:
    patient = {**(data if isinstance(data, dict) else {}), "resourceType": "Patient", "extension": [{"url": URL}, data]}
    rows = {"context": structure, "contextInvariant": structure, "elements": structure, "type": "Extension"}
    list(check_extension_contexts(Walk(patient).nodes, lambda url: rows))
