"""The demo records: nobody real is in them, and they tell the thirty-two stories that they should.

Read here with csv, yaml, sqlite3 and openpyxl alone, not with the code that they are there to show.
"""

from __future__ import annotations

import csv
import re
import sqlite3
from itertools import accumulate
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import yaml

from tests.demo_sources import HERE, HOME, ROOM, home_visits, second_room

DEMO = Path(__file__).parents[1] / "mappings" / "demo"


def table(name: str) -> list[dict[str, str]]:
    lines = (DEMO / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def as_text(path: Path) -> Any:
    """A YAML file with every scalar as the text it is."""
    return yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)  # noqa: S506 - makes texts only


def workbook() -> list[dict[str, str]]:
    """The rows of the workbook under `group / heading`, dates as ISO."""
    sheet = openpyxl.load_workbook(DEMO / f"{HOME}.xlsx")["Home visits"]
    _, groups, headings, *rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    names = [f"{g} / {h}" for g, h in zip(accumulate(groups, lambda a, b: b or a), headings, strict=True)]
    told = [dict(zip(names, (("" if v is None else str(v)) for v in row), strict=True)) for row in rows]
    return [row for row in told if row["Visit / No"].startswith("M26")]


def database(table: str) -> list[dict[str, Any]]:
    connection = sqlite3.connect(f"file:{DEMO / ROOM}.sqlite?mode=ro", uri=True)
    connection.row_factory = sqlite3.Row
    try:
        return [dict(row) for row in connection.execute(f"select * from {table}")]  # noqa: S608 - our own names
    finally:
        connection.close()


ROWS = [*table("visits-2026.csv"), *table("ears-2026.csv")]
HOMES = workbook()
ROOMS, ROOM_CLIENTS = database("visits"), database("clients")
FILES = [as_text(path) for path in sorted(DEMO.glob("visits/*.yaml"))]
PRACTICE = as_text(DEMO / "practice.yaml")
DOCTORS = table("doctors.csv")
SOURCE_TEXTS = [path for path in HERE.iterdir() if path.suffix in (".csv", ".sql")]
TEXTS = {
    path: path.read_text(encoding="utf-8")
    for path in [*DEMO.rglob("*"), *SOURCE_TEXTS]
    if path.is_file() and path.suffix not in (".xlsx", ".sqlite")
}
Told = tuple[str, str, str, str]


def people() -> dict[str, set[Told]]:
    """Client number to everything that is told of the client's identity."""
    found: dict[str, set[Told]] = {}

    def add(number: str, family: str, given: str, born: str, nhs: str) -> None:
        found.setdefault(number, set()).add((family, given, born, (nhs or "").replace(" ", "")))

    for row in ROWS:
        day, month, year = row["Date of birth"].split("/")
        add(row["Client no"], row["Surname"], row["First name"], f"{year}-{month}-{day}", row["NHS number"])
    for row in HOMES:
        names = (row[f"Client / {h}"] for h in ("No", "Surname", "First name", "Born", "NHS number"))
        number, family, given, born, nhs = names
        add(number, family, given, born[:10], nhs)
    for client in ROOM_CLIENTS:
        add(client["client_no"], client["surname"], client["first_name"], client["born"], client["nhs_number"])
    for visit in FILES:
        client = visit["client"]
        name = client["legal_name"]
        add(client["number"], name["family"], " ".join(name["given"]), client["birth_date"], client["nhs_number"])
    return found


NHS_NUMBERS = sorted(told[3] for tellings in people().values() for told in tellings if told[3])


def is_valid_nhs_number(number: str) -> bool:
    """NHS Data Dictionary, NHS NUMBER: digits 1 to 9 weighted 10 down to 2; 11 less the remainder by 11; 11 is 0."""
    check = 11 - sum(int(digit) * weight for digit, weight in zip(number[:9], range(10, 1, -1), strict=True)) % 11
    return len(number) == 10 and check != 10 and number[9] == str(check % 11)


def test_the_check_itself() -> None:
    # Published sample of the standard's own guidance, and the same with its last digit changed.
    assert is_valid_nhs_number("9434765919")
    assert not is_valid_nhs_number("9434765918")


def numbers_and_versions() -> dict[tuple[str, str], str]:
    """Visit number and version to who saw the client."""
    return {
        **{(row["Visit no"], row.get("Version") or "1"): row["Seen by"] for row in ROWS},
        **{(row["Visit / No"], "1"): row["Visit / Seen by"] for row in HOMES},
        **{(row["visit_no"], "1"): row["seen_by"] for row in ROOMS},
        **{(visit["number"], visit.get("version", "1")): visit["practitioners"][0] for visit in FILES},
    }


def test_thirty_two_records_from_five_sources_by_two_practitioners() -> None:
    seen_by = numbers_and_versions()
    assert len(seen_by) == 32
    assert all((ROWS, HOMES, ROOMS, FILES))
    assert set(seen_by.values()) == {p["key"] for p in PRACTICE["practitioners"]}


def test_workbook_and_database_are_made_from_their_texts(tmp_path: Path) -> None:
    assert home_visits() == (DEMO / f"{HOME}.xlsx").read_bytes()
    second_room(tmp_path / "again.sqlite")
    dumps = []
    for path in (DEMO / f"{ROOM}.sqlite", tmp_path / "again.sqlite"):
        connection = sqlite3.connect(path)
        dumps.append(list(connection.iterdump()))
        connection.close()
    assert dumps[0] == dumps[1]


def test_all_in_2026() -> None:
    assert all(row["Date"].endswith("/2026") for row in ROWS)
    assert all(row["Visit / Date"].startswith("2026-") for row in HOMES)
    assert all(row["day"].startswith("2026-") for row in ROOMS)
    assert all(visit["start"].startswith("2026-") for visit in FILES)


@pytest.mark.parametrize("number", NHS_NUMBERS)
def test_nhs_numbers_are_valid_and_from_the_test_range(number: str) -> None:
    # The range that begins with 999 is never issued (from memory).
    assert number.startswith("999")
    assert is_valid_nhs_number(number)


def test_each_client_is_one_person_with_one_number() -> None:
    assert all(len(tellings) == 1 for tellings in people().values())
    assert len(NHS_NUMBERS) == len(set(NHS_NUMBERS)) == len(people()) - 2


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
    known = {word for row in DOCTORS for word in (row["key"], row["practice"])} | {"none", "unknown", "abroad"}
    told = {row["GP practice"] for row in ROWS} | {row["Client / GP"] for row in HOMES}
    told |= {client["gp"] for client in ROOM_CLIENTS} | {visit["family_doctor"] for visit in FILES}
    assert told <= known
    assert {"none", "unknown", "abroad"} <= told


def test_one_word_that_nobody_knows() -> None:
    everywhere = "\n".join(text for path, text in TEXTS.items() if path.suffix in (".csv", ".yaml", ".sql"))
    assert everywhere.count("clarty") == 1


def test_the_stories_of_the_sheets() -> None:
    by_visit: dict[str, dict[str, str]] = {
        row["Visit no"]: row for row in ROWS if row.get("Ear") in (None, "R", "both") and row.get("Version") != "2"
    }
    right_left = ("R outcome", "L outcome")
    assert [by_visit["M26-0101"][h] for h in right_left] == ["complete", ""]
    assert [by_visit["M26-0102"][h] for h in right_left] == ["complete", "partial"]
    assert by_visit["M26-0104"]["Consent to share"] == "no"
    assert by_visit["M26-0104"]["Why not shared"]
    assert by_visit["M26-0106"]["Outcome"] == "stopped"
    assert by_visit["M26-0109"]["Ear"] == "both"
    assert sum(row.get("Before view") == "not done" for row in ROWS) == 1
    assert "exostoses" in by_visit["M26-0113"]["R canal"]
    assert by_visit["M26-0114"]["R drum"].startswith("grommet")
    assert by_visit["M26-0115"]["GP practice"] == "none"
    assert "cavity" in by_visit["M26-0116"]["Mastoid cavity"]
    assert next(r for r in ROWS if r["Visit no"] == "M26-0117" and r["Ear"] == "L")["Impression"] == (
        "acute otitis externa"
    )
    corrected = [row for row in ROWS if row.get("Version") == "2"]
    assert [(row["Visit no"], row["Replaces version"]) for row in corrected] == [("M26-0101", "1")]


def test_the_stories_of_the_home_visits() -> None:
    by_visit = {row["Visit / No"]: row for row in HOMES}
    late = by_visit["M26-0118"]
    assert late["Afterwards / Written up"][:10] > late["Visit / Date"][:10]
    assert by_visit["M26-0119"]["Visit / Place"] == "care home"
    assert by_visit["M26-0119"]["Right ear / Contents"] == "hair; dead skin"
    assert by_visit["M26-0120"]["Visit / Came to the door"] == "no"
    assert by_visit["M26-0121"]["Client / GP"] == "unknown"
    assert by_visit["M26-0122"]["Left ear / Method"] == "softener only"


def test_the_stories_of_the_second_room() -> None:
    ears = {(row["visit_no"], row["ear"]): row for row in database("ears")}
    assert ears["M26-0123", "L"]["impression"] == "foreign body"
    assert [client["country"] for client in ROOM_CLIENTS] == [None, "France", None]
    assert {ears["M26-0125", ear]["method"] for ear in "RL"} == {"irrigation"}


def test_the_stories_of_the_visit_files() -> None:
    by_visit = {visit["number"]: visit for visit in FILES}
    assert by_visit["M26-0111"]["left"]["work"][0]["outcome"] == "not attempted"
    assert by_visit["M26-0112"]["left"]["work"][0]["outcome"] == "complete"
    assert len(by_visit["M26-0126"]["left"]["hearing_after"]["thresholds"]) >= 6
    assert by_visit["M26-0127"]["referral"]["urgency"] == "immediate"
    assert by_visit["M26-0127"]["left"]["symptoms"][0]["onset"]
    assert by_visit["M26-0128"]["referral"]["urgency"] == "urgent"
    assert "referral" not in by_visit["M26-0130"]
    assert "not_referred" not in by_visit["M26-0130"]
    assert by_visit["M26-0130"]["approved"]
    assert by_visit["M26-0130"]["right"]["symptoms"][0]["onset"]
    assert by_visit["M26-0131"]["not_referred"]["rules"] == ["RF01"]
    assert by_visit["M26-0129"]["consent"]["status"] == "given by guardian"
    assert by_visit["M26-0129"]["client"]["guardians"][0]["parental_responsibility"] == "true"


def test_no_term_map_knows_that_word() -> None:
    assert "clarty" not in "".join(p.read_text(encoding="utf-8") for p in (DEMO.parent / "terms").glob("*.csv"))
