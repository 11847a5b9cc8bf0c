"""A letter goes only where the record says that it may."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.due import letter_due, letters_due, referral_due
from bridge.visit import Visit
from tests.referrals import visit

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
        {**GIVEN, "recipients": ["family practice"]},
        {**GIVEN, "recipients": ["Family doctor."]},
        {**GIVEN, "valid_until": "2026-05-03"},
    ],
)
def test_a_letter_is_due(sharing: dict[str, Any]) -> None:
    assert rule(sharing=sharing) == ""


@pytest.mark.parametrize(
    ("until", "expected"),
    [
        ("2026-05-03T10:00+02:00", "D101"),  # 08:00 UTC, and the visit began at 09:15
        ("2026-05-03T14:00+05:00", "D101"),
        ("2026-05-03T09:30Z", ""),
        ("2026-05-03", ""),
        ("2026-05-02", "D101"),
    ],
)
def test_a_consent_ends_at_its_moment_whatever_the_zone(until: str, expected: str) -> None:
    assert rule(start="2026-05-03T10:15+01:00", sharing={**GIVEN, "valid_until": until}) == expected


@pytest.mark.parametrize("recipient", ["AG", "Aldersby Green Practice", "Z99901"])
def test_the_family_doctor_is_known_by_name_key_and_code(recipient: str) -> None:
    doctor = {"key": "AG", "practice": "Aldersby Green Practice", "organisation_code": "Z99901"}
    assert rule(family_doctor=doctor, sharing={**GIVEN, "recipients": [recipient]}) == ""
    assert rule(family_doctor={"practice": "Another"}, sharing={**GIVEN, "recipients": [recipient]}) == "D101"


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


REFERRED: list[tuple[Any, tuple[str, ...], str]] = [
    ({**GIVEN, "scope": ["visit summary", "referral"]}, ("summary", "referral"), ""),
    ({**GIVEN, "scope": ["whole record"]}, ("summary", "referral"), ""),
    ({**GIVEN, "scope": ["referral"]}, ("referral",), ""),
    ({**GIVEN, "recipients": ["GP", "ENT"]}, ("summary", "referral"), ""),
    ({**GIVEN, "recipients": ["ear nose and throat"]}, ("referral",), ""),
    ({**GIVEN, "recipients": ["Overby ear clinic"]}, ("referral",), ""),
    ({**GIVEN, "recipients": ["ov"], "scope": ["referral"]}, ("referral",), ""),
    (GIVEN, ("summary",), "D127"),
    ({**GIVEN, "scope": ["visit summary"]}, ("summary",), "D127"),
    ({**GIVEN, "recipients": ["GP"]}, ("summary",), "D127"),
    ({**GIVEN, "recipients": ["GP"], "scope": ["whole record"]}, ("summary",), "D127"),
    ({**GIVEN, "recipients": ["ENT"], "scope": ["images"]}, (), "D127"),
    ({**GIVEN, "recipients": ["audiology"], "scope": ["referral"]}, (), "D127"),
    ({**GIVEN, "scope": ["referral"], "valid_until": "2026-05-01"}, (), "D127"),
    ({**GIVEN, "scope": ["referral"], "except_for": ["the medicines"]}, (), "D113"),
    ({"status": "not asked"}, (), "D127"),
    ({"status": "refused"}, (), "D138"),
    ({"status": "withdrawn"}, (), "D138"),
    (None, (), "D110"),
]


@pytest.mark.parametrize(("sharing", "letters", "expected"), REFERRED)
def test_the_family_doctors_consent_is_none_for_others(sharing: Any, letters: tuple[str, ...], expected: str) -> None:
    made = visit(sharing=sharing)
    found = referral_due(made)
    assert (letters_due(made), found.rule if found else "") == (letters, expected)


@pytest.mark.parametrize("sharing", [GIVEN, {**GIVEN, "recipients": ["doctor"]}, {**GIVEN, "scope": ["visit summary"]}])
@pytest.mark.parametrize("to", ["GP", "family doctor", "surgery"])
def test_a_referral_to_the_family_doctor_goes_by_the_family_doctors_consent(to: str, sharing: dict[str, Any]) -> None:
    assert letters_due(visit(referral__to=to, referral__recipient=None, sharing=sharing)) == ("summary", "referral")
    same = {"referral__recipient": {"key": "HS", "name": "Hill Surgery"}}
    assert letters_due(visit(referral__to=to, sharing=sharing, **same)) == ("summary", "referral")


@pytest.mark.parametrize("sharing", [GIVEN, {**GIVEN, "recipients": ["GP"]}, {**GIVEN, "recipients": ["own GP"]}])
def test_the_family_doctors_consent_is_none_for_a_service_named_beside(sharing: dict[str, Any]) -> None:
    made = visit(referral__to="GP", sharing=sharing)
    found = referral_due(made)
    assert found is not None
    assert found.rule == "D127"
    assert "referral" not in letters_due(made)


def test_who_did_not_come_is_not_referred() -> None:
    made = visit(attendance="did not attend")
    found = referral_due(made)
    assert (letters_due(made), found and found.rule) == ((), "D138")
