"""The demo records: nobody real is in them, and they tell the twelve stories that they should.

Read here with csv and yaml alone, not with the code that they are there to show.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import pytest
import yaml

DEMO = Path(__file__).parents[1] / "mappings" / "demo"


def table(name: str) -> list[dict[str, str]]:
    lines = (DEMO / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def as_text(path: Path) -> Any:
    """A YAML file with every scalar as the text it is."""
    return yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)  # noqa: S506 - makes texts only


ROWS = [*table("visits-2026.csv"), *table("ears-2026.csv")]
FILES = [as_text(path) for path in sorted(DEMO.glob("visits/*.yaml"))]
PRACTICE = as_text(DEMO / "practice.yaml")
DOCTORS = table("doctors.csv")
TEXTS = {path: path.read_text(encoding="utf-8") for path in DEMO.rglob("*") if path.is_file()}


def people() -> dict[str, set[tuple[Any, ...]]]:
    """Client number to everything that is told of the client's identity."""
    found: dict[str, set[tuple[Any, ...]]] = {}
    for row in ROWS:
        day, month, year = row["Date of birth"].split("/")
        told = (row["Surname"], row["First name"], f"{year}-{month}-{day}", row["NHS number"].replace(" ", ""))
        found.setdefault(row["Client no"], set()).add(told)
    for visit in FILES:
        client = visit["client"]
        name = client["legal_name"]
        told = (name["family"], " ".join(name["given"]), client["birth_date"], client["nhs_number"])
        found.setdefault(client["number"], set()).add(told)
    return found


def is_valid_nhs_number(number: str) -> bool:
    """NHS Data Dictionary, NHS NUMBER: digits 1 to 9 weighted 10 down to 2; 11 less the remainder by 11; 11 is 0."""
    check = 11 - sum(int(digit) * weight for digit, weight in zip(number[:9], range(10, 1, -1), strict=True)) % 11
    return len(number) == 10 and check != 10 and number[9] == str(check % 11)


def test_the_check_itself() -> None:
    # Published sample of the standard's own guidance, and the same with its last digit changed.
    assert is_valid_nhs_number("9434765919")
    assert not is_valid_nhs_number("9434765918")


def test_twelve_visits_by_two_practitioners() -> None:
    seen_by = {row["Visit no"]: row["Seen by"] for row in ROWS} | {v["number"]: v["practitioners"][0] for v in FILES}
    assert len(seen_by) == 12
    assert set(seen_by.values()) == {p["key"] for p in PRACTICE["practitioners"]}


def test_all_in_2026() -> None:
    assert all(row["Date"].endswith("/2026") for row in ROWS)
    assert all(visit["start"].startswith("2026-") for visit in FILES)


@pytest.mark.parametrize("number", sorted({told[3] for tellings in people().values() for told in tellings}))
def test_nhs_numbers_are_valid_and_from_the_test_range(number: str) -> None:
    # The range that begins with 999 is never issued (from memory).
    assert number.startswith("999")
    assert is_valid_nhs_number(number)


def test_each_client_is_one_person_with_one_number() -> None:
    assert all(len(tellings) == 1 for tellings in people().values())
    numbers = [told[3] for tellings in people().values() for told in tellings]
    assert len(numbers) == len(set(numbers)) == 11


def test_statuses_are_traced_or_not_traced() -> None:
    statuses = {row["NHS status"] for row in ROWS} | {visit["client"]["nhs_number_status"] for visit in FILES}
    assert statuses == {"traced", "present, not traced", "01"}


@pytest.mark.parametrize("path", sorted(TEXTS), ids=lambda path: path.name)
def test_phones_mails_and_postcodes_are_nobodys(path: Path) -> None:
    text = TEXTS[path]
    # Ofcom's numbers for use in drama: 01632 960000-960999 (no area), 07700 900000-900999 (mobile); from memory.
    for phone in re.findall(r"\b0\d{3,4}[ ]?\d{5,6}\b", text):
        assert re.fullmatch(r"01632 960\d{3}|07700 900\d{3}", phone)
    # RFC 2606 keeps example.org free.
    for mail in re.findall(r"[\w.]+@[\w.-]+", text):
        assert mail.endswith("example.org")
    # There is no postcode area ZX (Royal Mail's list of areas, from memory).
    for postcode in re.findall(r"\b[A-Z]{1,2}\d[A-Z\d]? \d[A-Z]{2}\b", text):
        assert re.fullmatch(r"ZX\d \d[ABD-HJLNP-UW-Z]{2}", postcode)


def test_every_doctor_is_in_the_address_book() -> None:
    known = {word for row in DOCTORS for word in (row["key"], row["practice"])}
    assert {row["GP practice"] for row in ROWS} | {visit["family_doctor"] for visit in FILES} <= known


def test_one_word_that_nobody_knows() -> None:
    everywhere = "\n".join(text for path, text in TEXTS.items() if path.suffix in (".csv", ".yaml"))
    assert everywhere.count("claggy") == 1


def test_the_stories() -> None:
    by_visit: dict[str, dict[str, str]] = {
        row["Visit no"]: row for row in ROWS if row.get("Ear") in (None, "R", "both")
    }
    right_left = ("R outcome", "L outcome")
    assert [by_visit["M26-0101"][h] for h in right_left] == ["complete", ""]
    assert [by_visit["M26-0102"][h] for h in right_left] == ["complete", "partial"]
    assert by_visit["M26-0104"]["Consent to share"] == "no"
    assert by_visit["M26-0104"]["Why not shared"]
    assert by_visit["M26-0106"]["Outcome"] == "stopped"
    assert by_visit["M26-0109"]["Ear"] == "both"
    assert sum(row.get("Before view") == "not done" for row in ROWS) == 1
    assert [visit["number"] for visit in FILES if "requests" in visit] == ["M26-0110"]
    assert [visit["left"].get("work", [{}])[0].get("outcome") for visit in FILES] == [None, "not attempted", "complete"]
