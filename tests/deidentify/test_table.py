"""mappings/deidentify/fields.csv against the model: every field is decided, and no free words stay by default."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import Literal, get_origin

import pytest

from bridge.data import load_csv, table_path
from bridge.deidentify.table import actions
from bridge.deidentify.wishes import Purpose
from bridge.visit import Measure, Size, Term
from tests.deidentify.kinds import TYPES
from tests.fields import patterns

PURPOSES: tuple[Purpose, ...] = ("teaching", "audit")


def test_every_field_is_decided_once() -> None:
    rows = Counter(row["field"] for row in load_csv(table_path("deidentify", "fields.csv")))
    assert set(rows) == set(patterns()) == set(TYPES)
    assert set(rows.values()) == {1}


@pytest.mark.parametrize("purpose", PURPOSES)
def test_an_action_fits_the_kind_of_value(purpose: Purpose) -> None:
    """What is kept as it is can hold nothing but a number or one of a few words; words and dates have actions."""
    for field, (of, is_date) in TYPES.items():
        action = actions(purpose)[field]
        closed = get_origin(of) is Literal or of in (int, bool, Decimal, Measure, Size)
        if action == "keep":
            assert closed, field
        elif is_date:
            assert action in ("date", "date-to-come", "birth-year", "out"), field
        elif of is Term:
            assert action in ("term", "out"), field
        elif not closed:
            assert action in ("out", "text", "text-needed", "rule") or action.startswith("pseudonym-"), field


def test_an_audit_keeps_no_free_text() -> None:
    assert "text" not in actions("audit").values()


def test_an_audit_keeps_nothing_that_teaching_does_not() -> None:
    for field, action in actions("audit").items():
        assert action in (actions("teaching")[field], "out")
