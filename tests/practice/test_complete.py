"""Completing a visit: gaps are filled from the settings, and nothing that the record says is changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.practice import Practice, complete
from bridge.practice.doctors_csv import read_doctors
from bridge.practice.practice_yaml import read_settings
from bridge.visit import Visit

GOOD = (Path(__file__).parent / "good.yaml").read_text(encoding="utf-8")
BOOK = """\
key,practice,organisation_code,doctor,address_1,address_2,town,postcode,phone,email,route
AG,Aldersby Green Practice,Z99901,Dr Maud Ellerwick,14 Green End,,Aldersby,ZX9 2HB,01632 960201,,post
NN,Northern Practice,Z99905,,,,,,,,
N2,Northern Practice,Z99906,,,,,,,,
"""


def practice(extra: str = "") -> Practice:
    settings, _ = read_settings((GOOD + extra).encode())
    assert settings is not None
    return settings.with_doctors(read_doctors(BOOK.encode())[0])


def visit(**fields: Any) -> Visit:
    basis: dict[str, Any] = {
        "number": "7", "start": "2026-03-02T10:00+00:00", "practitioners": ["AB"],
        "client": {"legal_name": {"family": "Tarnwick", "given": ["Una"]}},
    }  # fmt: skip
    return Visit.model_validate(basis | fields)


def done(extra: str = "", **fields: Any) -> tuple[Visit, list[tuple[str, str]]]:
    completed, issues = complete(visit(**fields), practice(extra))
    assert all(i.where.record == "7" for i in issues)
    assert not any("Tarnwick" in i.message for i in issues)
    return completed, [(i.rule, i.where.path) for i in issues]


def test_the_clinic_is_filled_in() -> None:
    completed, issues = done()
    assert issues == []
    assert completed.clinic == practice().clinic


def test_gaps_of_the_same_clinic_are_filled() -> None:
    completed, issues = done(clinic={"name": "FERNHOLLOW ear clinic", "phone": "01632 960778"})
    assert issues == []
    assert completed.clinic is not None
    assert (completed.clinic.name, completed.clinic.phone) == ("FERNHOLLOW ear clinic", "01632 960778")
    assert completed.clinic.hours == "Mon-Fri 9-5"


def test_another_clinic_is_left_as_it_is() -> None:
    completed, issues = done(clinic={"name": "Elsewhere"})
    assert issues == [("R351", "clinic.name")]
    assert completed.clinic is not None
    assert completed.clinic.phone is None


@pytest.mark.parametrize("written", ["AB", "ab", "Anna Bellhaven", "anna maria  bellhaven", "Dr Anna Bellhaven"])
def test_a_practitioner_by_key_or_full_name(written: str) -> None:
    completed, issues = done(practitioners=[written])
    assert issues == []
    person = completed.practitioners[0]
    assert (person.key, person.role) == ("AB", "Ear-care practitioner")
    assert person.name is not None
    assert person.name.family == "Bellhaven"
    assert [(r.register_key, r.number) for r in person.registrations] == [("gmc", "0000001")]


@pytest.mark.parametrize("written", ["A", "Anna", "Bellhaven", "XY", "Anne Bellhaven"])
def test_a_practitioner_is_never_guessed(written: str) -> None:
    completed, issues = done(practitioners=[written])
    assert issues == [("R330", "practitioners[0]")]
    assert completed.practitioners[0].key == written
    assert completed.practitioners[0].name is None


def test_nobody_named_stays_nobody() -> None:
    completed, issues = done(practitioners=[])
    assert issues == [("R334", "practitioners")]
    assert completed.practitioners == ()
    assert done(practitioners=[], attendance="did not attend")[1] == []


def test_what_the_record_says_of_a_practitioner_stays() -> None:
    completed, _ = done(practitioners=[{"key": "AB", "role": "Trainee", "no_register": True}])
    person = completed.practitioners[0]
    assert (person.role, person.no_register, person.registrations) == ("Trainee", True, ())


def test_a_locum_whom_the_record_explains() -> None:
    person = {"key": "LL", "name": {"family": "Locke"}, "role": "Locum", "no_register": True}
    completed, issues = done(practitioners=[person], right={"work": [{"method": "microsuction", "practitioner": "LL"}]})
    assert issues == [("R333", "practitioners[0]")]
    assert completed.practitioners[0].role == "Locum"


@pytest.mark.parametrize(
    ("day", "outside"),
    [("2026-01-31", True), ("2026-02-01", False), ("2026-06-30", False), ("2026-07-01", True), ("2026", False)],
)
def test_dates_of_a_practitioner(day: str, outside: bool) -> None:
    start = f"{day}T09:00+00:00" if len(day) > 4 else day
    _, issues = done(practitioners=["CD"], start=start)
    assert issues == ([("R332", "practitioners[0]")] if outside else [])


def test_keys_at_work_and_approval() -> None:
    completed, issues = done(
        right={"work": [{"method": "microsuction", "practitioner": "carl dunmore"}]},
        left={"work": [{"method": "microsuction"}, {"method": "instruments", "practitioner": "ZZ"}]},
        approved={"by": "anna bellhaven", "at": "2026-03-02T11:00+00:00"},
    )
    assert issues == [("R330", "left.work[1].practitioner")]
    assert completed.right is not None
    assert completed.right.work[0].practitioner == "CD"
    assert [p.key for p in completed.practitioners] == ["AB", "CD"]
    assert completed.approved is not None
    assert completed.approved.by == "AB"


@pytest.mark.parametrize("written", ["AG", "aldersby green practice", "Z99901"])
def test_a_doctors_practice_from_the_address_book(written: str) -> None:
    completed, issues = done(family_doctor=written)
    assert issues == []
    doctor = completed.family_doctor
    assert doctor is not None
    assert (doctor.key, doctor.practice, doctor.organisation_code) == ("AG", "Aldersby Green Practice", "Z99901")
    assert doctor.address is not None
    assert doctor.doctor == "Dr Maud Ellerwick"


def test_the_records_own_doctor_stays() -> None:
    completed, _ = done(family_doctor={"key": "AG", "doctor": "Dr Other", "phone": "01632 960299"})
    assert completed.family_doctor is not None
    assert (completed.family_doctor.doctor, completed.family_doctor.phone) == ("Dr Other", "01632 960299")


@pytest.mark.parametrize("answer", ["none", "unknown", "abroad"])
def test_answers_about_the_doctor_stay(answer: str) -> None:
    completed, issues = done(family_doctor=answer)
    assert issues == []
    assert completed.family_doctor == visit(family_doctor=answer).family_doctor


def test_no_doctor_recorded_stays_not_recorded() -> None:
    completed, issues = done()
    assert completed.family_doctor is None
    assert issues == []


def test_an_unknown_practice_stays_as_written_without_an_address() -> None:
    completed, issues = complete(visit(family_doctor="Aldersby Grean Practice"), practice())
    assert [i.rule for i in issues] == ["R340"]
    assert "“Aldersby Green Practice”" in issues[0].message
    doctor = completed.family_doctor
    assert doctor is not None
    assert doctor.practice == "Aldersby Grean Practice"
    assert (doctor.address, doctor.organisation_code) == (None, None)


def test_two_practices_that_fit_are_neither() -> None:
    completed, issues = done(family_doctor="Northern Practice")
    assert issues == [("R341", "family_doctor")]
    assert completed.family_doctor is not None
    assert completed.family_doctor.organisation_code is None


@pytest.mark.parametrize("record", [
    {"key": "AG", "practice": "Quite Another Practice"},
    {"key": "AG", "organisation_code": "Z99999"},
])  # fmt: skip
def test_record_and_address_book_disagree(record: dict[str, str]) -> None:
    completed, issues = done(family_doctor=record)
    assert issues == [("R342", "family_doctor")]
    assert completed.family_doctor is not None
    assert completed.family_doctor.address is None
    assert completed.family_doctor.organisation_code == record.get("organisation_code")


@pytest.mark.parametrize(
    ("policy", "status", "sent"),
    [
        ("as recorded", "01", True), ("as recorded", "02", True), ("as recorded", None, True),
        ("traced only", "01", True), ("traced only", "02", False), ("traced only", None, False),
    ],
)  # fmt: skip
def test_nhs_numbers(policy: str, status: str | None, sent: bool) -> None:
    client = {"legal_name": {"family": "Tarnwick"}, "nhs_number": "9990000018", "nhs_number_status": status}
    completed, issues = done(f"nhs_numbers: {policy}\n", client=client)
    assert (completed.client.nhs_number is not None) == sent
    assert issues == ([] if sent else [("R350", "client.nhs_number")])


def test_no_number_to_leave_out() -> None:
    assert done("nhs_numbers: traced only\n")[1] == []


def test_completing_twice_changes_nothing_more() -> None:
    once, _ = complete(visit(family_doctor="AG", right={"work": [{"method": "x", "practitioner": "CD"}]}), practice())
    assert complete(once, practice()) == (once, [])
