"""The generator reaches everything that a visit can say: each listed value of each closed field, each kind of word."""

from __future__ import annotations

from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.visit import Visit
from tests import generate
from tests.fields import recorded

VISITS = 700


@cache
def counted() -> tuple[Any, Any]:
    return generate.counts(VISITS)


def test_every_listed_value_occurs() -> None:
    values, _ = counted()
    wanted = set(generate.listed())
    assert len(wanted) > 250
    assert sorted(f"{field}: {value}" for field, value in wanted if not values[field, value]) == []


def test_words_of_every_kind_occur() -> None:
    _, kinds = counted()
    rows = list(load_csv(table_path("terms", "kinds.csv")))
    assert [r["kind"] for r in rows if kinds[r["kind"]] < 10] == []


def test_a_value_that_never_occurs_would_be_noticed() -> None:
    assert ("weber", "middle") in set(generate.listed())
    visit = Visit.model_validate({"number": "V1", "client": {"legal_name": {"family": "Ash"}}, "start": "2026-11-03"})
    assert ("weber", "middle") not in set(generate.closed(visit))
    assert ("attendance", "attended") in set(generate.closed(visit))
    assert "weber" not in dict(recorded(visit))
