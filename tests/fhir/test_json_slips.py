"""Slips of hand in JSON: refused, told at their place and in plain words."""

from __future__ import annotations

import pytest

from bridge.fhir.read_json import read_json


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ('{"a": 1 // x\n}', 1, 9, "no comments"),
        ('{"a": 1, /* x */ "b": 2}', 1, 10, "no comments"),
        ('# x\n{"a": 1}', 1, 1, "no comments"),
        ("{'a': 1}", 1, 2, "double"),
        ('{"a": “x”}', 1, 7, "double"),
        ("{a: 1}", 1, 2, "name in double quotation marks"),
        ('{"a": 1', 1, 8, "ends too early"),
        ('{"a": "x\ny"}', 1, 9, "end of the line"),
        ('{"a": 1}{', 1, 9, "after the closing bracket"),
        ('{"a" 1}', 1, 6, "colon"),
        ('{"a": 1\n "b": 2}', 2, 2, "comma is missing"),
        ('{"a": True}', 1, 7, "value is needed"),
        ('{"a": "x}', 1, 7, "no closing quotation mark"),
        ('{"a": "\\x"}', 1, 8, "backslash"),
        ('{"a": "\\u12"}', 1, 9, "base 16"),
    ],
)
def test_a_slip_is_told_where_it_is(text: str, line: int, column: int, words: str) -> None:
    data, (found,) = read_json(text.encode(), "x.json")
    assert data is None
    assert (found.rule, found.where.file, found.where.row, found.where.column) == ("S122", "x.json", line, column)
    assert words in found.message


@pytest.mark.parametrize("text", ['{"a": 1,\n}', '{"a": [1, 2, ]}'])
def test_a_comma_too_many(text: str) -> None:
    data, (found,) = read_json(text.encode())
    assert data is None
    assert "comma before the closing bracket" in found.message
