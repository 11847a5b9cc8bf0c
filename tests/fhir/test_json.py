"""JSON in and out: what was written comes back as written."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.fhir.read_json import MAX_DEPTH, MAX_TOLD, read_json
from bridge.fhir.write_json import dumps


@pytest.mark.parametrize("number", ["1.50", "0.0000010", "3", "-0.0", "1E-7", "100", "12345678901234567890", "-0"])
def test_a_number_keeps_its_digits(number: str) -> None:
    data, issues = read_json(f'{{"value": {number}}}'.encode())
    assert issues == []
    assert dumps(data) == f'{{\n  "value": {number}\n}}\n'.encode()


def test_output_has_two_blanks_a_line_end_and_the_order_it_was_built_in() -> None:
    assert dumps({"resourceType": "Patient", "active": True, "id": "é"}) == (
        '{\n  "resourceType": "Patient",\n  "active": true,\n  "id": "é"\n}\n'.encode()
    )


@pytest.mark.parametrize("value", [Decimal("NaN"), Decimal("Infinity"), {1, 2}, "\ud800"])
def test_what_json_cannot_say_is_refused(value: Any) -> None:
    with pytest.raises(TypeError):
        dumps({"value": value})


def test_the_last_of_two_equal_keys_is_kept_and_told() -> None:
    data, issues = read_json(b'{"a": 1, "a": 2}', "in.json")
    assert data == {"a": 2}
    assert [(i.rule, i.where.file, i.where.path) for i in issues] == [("S123", "in.json", "$.a")]


def test_a_flood_of_doubled_keys_is_told_in_part() -> None:
    data, issues = read_json(b'{"a": [' + b'{"b": 1, "b": 2},' * 20_000 + b"1]}")
    assert data is not None
    assert {i.rule for i in issues} == {"S123"}
    assert len(issues) == MAX_TOLD


def test_depth_is_allowed_up_to_the_limit() -> None:
    levels = MAX_DEPTH - 1
    data, issues = read_json(b'{"a":' + b"[" * levels + b"]" * levels + b"}")
    assert issues == []
    assert data is not None


@pytest.mark.parametrize("depth", [200, 5_000, 200_000])
def test_deeper_is_refused_without_falling_over(depth: int) -> None:
    data, issues = read_json(b'{"a":' * depth + b"1" + b"}" * depth)
    assert data is None
    assert [i.rule for i in issues] == ["S125"]


def test_a_limit_of_size_can_be_given() -> None:
    assert [i.rule for i in read_json(b'{"a": 1}', max_bytes=4)[1]] == ["S124"]


@given(st.binary(max_size=200))
def test_any_bytes_are_answered(content: bytes) -> None:
    data, issues = read_json(content)
    assert (data is None) == any(i.severity.name == "fatal" for i in issues)


plain = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(st.text(max_size=8), plain, max_size=5))
def test_what_is_written_is_read_back(data: dict[str, Any]) -> None:
    """Oracle: Python's own json module reads the same."""
    assert read_json(dumps(data)) == (data, [])
    assert json.loads(dumps(data)) == data
