"""A letter goes only where the record says that it may."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.due import letter_due
from bridge.visit import Visit

GIVEN = {"status": "given"}


def rule(**fields: Any) -> str:
    plain = {"number": "V1", "client": {"legal_name": {"family": "Quill"}}, "start": "2026-05-03", "sharing": GIVEN}
    found = letter_due(Visit.model_validate({**plain, **fields}))
    return found.rule if found else ""


@pytest.mark.parametrize(
    "sharing",
    [
        GIVEN,
        {**GIVEN, "scope": ["visit summary"]},
        {**GIVEN, "scope": ["whole record"]},
        {**GIVEN, "recipients": ["GP"]},
        {**GIVEN, "recipients": ["daughter", "Family Doctor"]},
        {**GIVEN, "valid_until": "2026-05-03"},
    ],
)
def test_a_letter_is_due(sharing: dict[str, Any]) -> None:
    assert rule(sharing=sharing) == ""


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"sharing": None}, "D110"),
        ({"sharing": {"status": "refused"}}, "D101"),
        ({"sharing": {"status": "not asked"}}, "D101"),
        ({"sharing": {"status": "withdrawn"}}, "D101"),
        ({"sharing": {**GIVEN, "scope": ["referral"]}}, "D101"),
        ({"sharing": {**GIVEN, "scope": ["images"]}}, "D101"),
        ({"sharing": {**GIVEN, "recipients": ["daughter"]}}, "D101"),
        ({"sharing": {**GIVEN, "recipients": ["the GPS maker"]}}, "D101"),
        ({"sharing": {**GIVEN, "valid_until": "2026-05-02"}}, "D101"),
        ({"sharing": {**GIVEN, "except_for": ["the medicines"]}}, "D113"),
        ({"attendance": "did not attend"}, "D101"),
        ({"family_doctor": "none"}, "D101"),
        ({"family_doctor": "unknown"}, "D101"),
    ],
)
def test_no_letter_without_consent_and_a_reader(fields: dict[str, Any], expected: str) -> None:
    assert rule(**fields) == expected
