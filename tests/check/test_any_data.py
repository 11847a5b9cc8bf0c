"""check_bundle takes any data, never raises, and never quotes who the client is."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.check import check_bundle
from bridge.fhir import tables
from bridge.issues import Severity, rules
from tests.spots import spots

ROOT = Path(__file__).parents[2]
TYPES = ["Bundle", "Patient", "Observation", "Composition", "Condition", "Procedure", "Consent", "Provenance", "None"]
KEYS = sorted({key for type in TYPES for key in tables.elements(type)} | {"reference", "coding", "system", "value"})
TEXTS = ["document", "transaction", "http://snomed.info/sct", "25577004", "left ear", "#a", "Patient/1", "2026-02-30"]

texts = st.text(max_size=10) | st.sampled_from(TEXTS)
scalar = st.none() | st.booleans() | st.integers() | st.floats() | st.decimals() | texts
anything = st.recursive(
    scalar,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(KEYS) | st.text(max_size=5), inner, max_size=6)
    ),
    max_leaves=30,
)


def typed(inner: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.builds(
        lambda type, rest: {"resourceType": type, **rest},
        st.sampled_from(TYPES),
        st.dictionaries(st.sampled_from(KEYS), inner, max_size=6),
    )


bundles = st.builds(
    lambda type, rows, rest: {**rest, "resourceType": "Bundle", "type": type, "entry": rows},
    st.sampled_from(["document", "transaction", "collection", "history"]) | scalar,
    st.lists(st.fixed_dictionaries({"fullUrl": scalar, "resource": typed(anything)}) | anything, max_size=4),
    st.dictionaries(st.sampled_from(KEYS), anything, max_size=3),
)


@settings(max_examples=300, deadline=None)
@given(anything | typed(anything) | bundles)
def test_any_data_is_answered(data: Any) -> None:
    for found in check_bundle(data):
        assert found.rule in rules()


DEMO = json.loads((ROOT / "demo_bundles" / "M26-0110.bundle.json").read_text(encoding="utf-8"))


PLACES = len(list(spots(DEMO)))
instead = st.sampled_from([None, [], {}, "", 0, True, [None], [[]], [{}], {"": []}, ["Patient"], "left ear"]) | anything


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(0, PLACES - 1), instead), min_size=1, max_size=4))
def test_a_real_document_with_anything_in_any_place_is_answered(changes: list[tuple[int, Any]]) -> None:
    data = copy.deepcopy(DEMO)
    found = list(spots(data))
    for place, value in changes:
        holder, key = found[place]
        holder[key] = value
    for issue in check_bundle(data):
        assert issue.rule in rules()


@pytest.mark.parametrize("value", [None, [], {}, 0, ["Patient"], {"a": 1}], ids=str)
def test_a_word_that_says_what_a_thing_is_may_be_anything(value: Any) -> None:
    """Types, statuses, codes and references decide which check looks at what: each of them, one after the other."""
    for at, (_, key) in enumerate(spots(DEMO)):
        if (
            key in ("resourceType", "status", "type", "reference", "system", "code", "fullUrl", "method")
            and at % 31 == 0
        ):
            data = copy.deepcopy(DEMO)
            holder, name = list(spots(data))[at]
            holder[name] = value
            assert check_bundle(data)


@pytest.mark.parametrize("at", range(len(DEMO["entry"])))
def test_an_entry_of_an_impossible_type_is_one_fault(at: int) -> None:
    data = copy.deepcopy(DEMO)
    data["entry"][at]["resource"]["resourceType"] = ["Patient"]
    assert "S101" in {i.rule for i in check_bundle(data)}


def test_data_that_contains_itself_ends() -> None:
    data: dict[str, Any] = {"resourceType": "Questionnaire", "status": "draft"}
    data["item"] = [data]
    assert "S125" in {i.rule for i in check_bundle(data)}


@pytest.mark.parametrize("value", [None, [], {}, "", 0, True, float("nan")])
def test_what_is_no_resource_is_one_error(value: Any) -> None:
    assert [i.severity for i in check_bundle(value)] == [Severity.error]


def test_conformance_comes_first_and_errors_before_the_rest() -> None:
    wrong = {
        "resourceType": "Patient",
        "gender": "f",
        "identifier": [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "1"}],
    }
    assert [i.rule for i in check_bundle(wrong)] == ["S111", "V123", "C110"]


def test_nobody_is_named_in_a_message() -> None:
    secrets = ["Quillfeather", "1950-02-31", "9434765918", "Ditchling Row 4", "01632 960999"]
    wrong = {
        "resourceType": "Patient",
        "name": [{"family": [secrets[0]], "given": secrets[0]}],
        "birthDate": secrets[1],
        "identifier": [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": secrets[2]}],
        "address": [{"line": secrets[3]}],
        "telecom": [{"value": secrets[4]}],
    }
    told = " ".join(f"{i} {i.message} {i.where} {i.cause} {i.help}" for i in check_bundle(wrong))
    assert [s for s in secrets if s in told] == []
