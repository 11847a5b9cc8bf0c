"""The receiver of a referral from the address book: exactly, or not at all."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.practice.complete_doctor import complete_doctor
from bridge.practice.complete_recipient import complete_recipient
from bridge.practice.doctors_csv import read_doctors
from bridge.visit import FamilyDoctor
from bridge.visit.care import Referral

BOOK = """\
key,practice,organisation_code,doctor,address_1,town,phone,kind
AG,Aldersby Green Practice,Z99901,,14 Green End,Aldersby,,
OV,Overby ear clinic,Z99990,Dr Isolde Penhallow,Ward Lane,Overby,01632 960400,service
ENT,Millen Hospital ENT,,,2 Moor Road,Millen,,Service
M1,Moor hearing,,,,Millen,,service
M2,Moor hearing,,,,Overby,,service
"""
PLAIN = {"to": "ear clinic", "urgency": "routine", "reason": "perforation"}


def complete(**fields: Any) -> tuple[dict[str, Any], list[str]]:
    book, problems = read_doctors(BOOK.encode())
    assert problems == []
    found, issues = complete_recipient(Referral.model_validate({**PLAIN, **fields}), book)
    assert found is not None
    return (found.recipient.model_dump(exclude_none=True) if found.recipient else {}), [i.rule for i in issues]


@pytest.mark.parametrize("written", ["OV", "ov", {"name": "overby  ear clinic"}, {"key": "Z99990"}])
def test_a_service_is_filled_in(written: Any) -> None:
    found, issues = complete(recipient=written)
    assert issues == []
    assert found["address"] == {"lines": ("Ward Lane",), "city": "Overby"}
    assert {k: found[k] for k in ("key", "name", "person", "phone", "organisation_code")} == {
        "key": "OV", "name": "Overby ear clinic", "person": "Dr Isolde Penhallow", "phone": "01632 960400",
        "organisation_code": "Z99990",
    }  # fmt: skip


def test_a_place_that_is_a_key_names_its_service() -> None:
    assert complete(to="ENT")[0]["name"] == "Millen Hospital ENT"
    assert complete(to="ear clinic") == ({}, [])


def test_what_the_record_says_itself_stays() -> None:
    assert complete(recipient={"key": "OV", "phone": "01632 960499"})[0]["phone"] == "01632 960499"


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("Overby", "D136"),
        ("AG", "D137"),  # a family doctor's practice is no service
        ({"name": "Moor hearing"}, "D137"),
        ({"key": "OV", "name": "Moor hearing"}, "D137"),
        ({"key": "OV", "organisation_code": "Z99991"}, "D137"),
    ],
)
def test_nothing_is_guessed(written: Any, code: str) -> None:
    found, issues = complete(recipient=written)
    assert issues == [code]
    assert "address" not in found


def test_a_service_with_its_own_address_needs_no_book() -> None:
    found, issues = complete(recipient={"name": "Far clinic", "phone": "01632 960401"})
    assert (found, issues) == ({"name": "Far clinic", "phone": "01632 960401"}, [])


def test_a_family_doctor_is_never_a_service() -> None:
    book, _ = read_doctors(BOOK.encode())
    assert [row.key for row in book.find("OV")] == []
    assert [row.key for row in book.find("OV", "service")] == ["OV"]
    assert [row.key for row in book.find("AG")] == ["AG"]


def test_an_entry_of_the_other_kind_is_told_as_such() -> None:
    book, _ = read_doctors(BOOK.encode())
    _, issues = complete_recipient(Referral.model_validate({**PLAIN, "recipient": "AG"}), book)
    assert "as a family doctor's practice, not as a service" in issues[0].message
    _, issues = complete_doctor(FamilyDoctor(key="OV"), book)
    assert "as a service that clients are sent to, not as a practice" in issues[0].message
    _, issues = complete_doctor(FamilyDoctor(key="XX"), book)
    assert "is not in the address book" in issues[0].message


def test_a_referral_to_the_family_doctor_may_name_their_practice() -> None:
    found, issues = complete(to="GP", recipient="AG")
    assert issues == []
    assert (found["key"], found["name"]) == ("AG", "Aldersby Green Practice")
