"""A row that stands there twice is left alone; what differs in anything is asked about, with the way out."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.issues import Severity
from bridge.layout import load_layout
from bridge.layout.near import near_fields
from bridge.read.ledger import Ledger
from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.sheets import LONDON, good, layout_data, write_layout, write_sheet

REPEATED = "repeated row"


def read(folder: Path, rows: list[dict[str, str]], kind: str = "visit", scan: bool = False) -> list[Reading]:
    layout = load_layout(write_layout(folder, layout_data(kind)))
    sheet = write_sheet(folder / "sheet.csv", layout, [{**good(kind), **row} for row in rows])
    first = Ledger()
    if scan:
        list(read_visits(sheet, layout, LONDON, first))
    found = list(read_visits(sheet, layout, LONDON, Ledger(first) if scan else first))
    return [reading for reading in found if reading.left_alone != "headings"]


@pytest.mark.parametrize("scan", [False, True])
def test_a_row_twice_is_read_once(scan: bool, tmp_path: Path) -> None:
    other = {"Visit no": "V2", "Time": "11:00"}
    found = read(tmp_path, [{}, other, {}, {}], scan=scan)
    assert [(r.left_alone, bool(r.visit)) for r in found] == [
        ("", True),
        ("", True),
        (REPEATED, False),
        (REPEATED, False),
    ]
    assert [i for r in found for i in r.issues] == []


@pytest.mark.parametrize("changed", [{"Notes": "x"}, {"R drum": "dull"}, {"Time": "11:00"}, {"Town": "Elsewhere"}])
def test_a_row_that_differs_in_anything_is_not_left_alone(changed: dict[str, str], tmp_path: Path) -> None:
    found = read(tmp_path, [{}, changed, {}], scan=True)
    assert [r.left_alone for r in found] == ["", "", REPEATED]
    assert [[i.rule for i in r.issues if i.severity >= Severity.error] for r in found] == [["R126"], ["R126"], []]
    (one,) = (i for i in found[1].issues if i.rule == "R126")
    assert one.where.heading == "Visit no"
    assert "two visits" in one.help
    assert "corrects" in one.help


def test_a_row_of_an_ear_twice(tmp_path: Path) -> None:
    found = read(tmp_path, [{"Ear": "R"}, {"Ear": "L"}, {"Ear": "R"}], "ear")
    assert [(r.left_alone, r.where.row) for r in found] == [("", 2), (REPEATED, 4)]
    assert found[0].visit
    assert found[0].visit.right
    assert len(found[0].visit.right.work) <= 1


@pytest.mark.parametrize(
    ("change", "says", "heading"),
    [
        ({"Surname": "Other"}, "name differs from row 2, which has the same client number", "Client no"),
        ({"Surname": "Other", "Client no": ""}, "name differs from row 3, which has the same NHS number", "NHS number"),
        (
            {"Surname": "Other", "Date of birth": "04/05/1950", "NHS number": "9990000026"},
            "name, birth date and NHS number differ from row 2, which has the same client number",
            "Client no",
        ),
    ],
)  # fmt: skip
def test_what_two_clients_share_is_named(change: dict[str, str], says: str, heading: str, tmp_path: Path) -> None:
    plain = {"Visit no": "V2", "Client no": "", "Notes": "x"}
    found = read(tmp_path, [{}, plain, {"Visit no": "V3", **change}])
    (one,) = (i for i in found[2].issues if i.rule == "R127")
    assert says in one.message
    assert one.where.heading == heading


NEAR = {
    "client.name": "client.legal_name", "client.surname": "client.legal_name.family", "client.dob": "client.birth_date",
    "client.phone": "client.phones", "client.tel": "client.phones", "sharin": "sharing", "gp": "family_doctor",
    "right.wax": "right.before.wax", "right.work[0].methd": "right.work.method", "consent.state": "consent.status",
    "left.outcome": "left.work.outcome", "notes": "note",
}  # fmt: skip


@pytest.mark.parametrize("path", NEAR)
def test_the_field_that_is_meant(path: str) -> None:
    assert near_fields(path)[0] == NEAR[path]


@pytest.mark.parametrize("path", [*NEAR, "client.nhs", "client.adress", "referral.reasn", "client.x"])
def test_no_field_of_another_part_is_proposed(path: str) -> None:
    part = path.rpartition(".")[0].replace("[0]", "")
    assert all(near.startswith(f"{part}.") for near in near_fields(path) if part)
