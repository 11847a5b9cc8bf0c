"""One row per ear: rows brought together, ears told apart, clients never mixed."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from bridge.hash_table import HashTable, short_hash
from bridge.read.ledger import Ledger
from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.sheets import LONDON, codes, read_rows, records


def rows(folder: Path, *changes: dict[str, str]) -> list[Reading]:
    return records(read_rows(folder, list(changes), rows="ear"))


def test_two_rows_are_two_ears_of_one_visit(tmp_path: Path) -> None:
    (reading,) = rows(tmp_path, {"Ear": "R", "Wax": "heavy"}, {"Ear": "left", "Wax": "light", "Tube": "20G"})
    visit = reading.visit
    assert visit is not None and visit.right is not None and visit.left is not None  # noqa: PT018
    assert visit.right.before is not None and visit.left.before is not None  # noqa: PT018
    assert [e.wax.amount.text for e in (visit.right.before, visit.left.before) if e.wax and e.wax.amount] == [
        "heavy",
        "light",
    ]
    assert reading.where_of("left.before.wax.amount").row == 3
    assert reading.where_of("right.before.wax.amount").row == 2


def test_both_is_either_ear(tmp_path: Path) -> None:
    (reading,) = rows(tmp_path, {"Ear": "both"})
    assert reading.visit is not None and reading.visit.right is not None  # noqa: PT018
    assert reading.visit.right == reading.visit.left


def test_rows_that_are_not_neighbours_belong_together(tmp_path: Path) -> None:
    other = {"Visit no": "V2", "Client no": "C2", "NHS number": "", "Surname": "Other"}
    found = rows(tmp_path, {"Ear": "R"}, {"Ear": "R", **other}, {"Ear": "L"}, {"Ear": "L", **other})
    assert sorted(r.visit.number for r in found if r.visit and r.visit.right and r.visit.left) == ["V1", "V2"]


def test_a_second_method_is_further_work(tmp_path: Path) -> None:
    (reading,) = rows(tmp_path, {}, {"Method": "instruments", "Instrument": "hook", "Tube": "", "Outcome": "partial"})
    assert reading.visit is not None and reading.visit.right is not None  # noqa: PT018
    assert [w.method.text for w in reading.visit.right.work] == ["microsuction", "instruments"]
    assert reading.where_of("right.work[1].outcome").row == 3


def test_a_row_without_an_ear_or_with_a_doubtful_one_is_an_error(tmp_path: Path) -> None:
    for cell in ("", "AS", "R/L", "x"):
        (reading,) = rows(tmp_path, {"Ear": cell})
        assert reading.visit is None
        assert codes([reading]) == ["R114"]


def test_a_cell_that_contradicts_its_row_is_an_error(tmp_path: Path) -> None:
    (reading,) = rows(tmp_path, {"Ear": "R", "Canal": "L narrow"})
    assert reading.visit is None
    assert codes([reading]) == ["R113"]


def test_rows_without_numbers_go_together_by_date_time_and_client(tmp_path: Path) -> None:
    layout = {"columns": {"Visit no": None, "Client no": None}}
    bare = {"Visit no": None, "Client no": None}
    found = records(read_rows(tmp_path, [{**bare, "Ear": "R"}, {**bare, "Ear": "L"}], rows="ear", layout=layout))  # type: ignore[dict-item]
    assert len(found) == 1
    visit = found[0].visit
    assert visit is not None and visit.right is not None and visit.left is not None  # noqa: PT018
    again = records(read_rows(tmp_path, [{**bare, "Ear": "R"}, {**bare, "Ear": "L"}], rows="ear", layout=layout))[
        0
    ].visit  # type: ignore[dict-item]
    assert again is not None
    assert again.number == visit.number


def test_one_ledger_knows_the_visits_of_several_files(tmp_path: Path) -> None:
    record = "number: V1\nstart: 2026-03-12T10:15\nclient: {number: C1, legal_name: {family: Testington}}\n"
    for name, text in (
        ("a.yaml", record),
        ("b.yaml", record + "note: again\n"),
        ("c.yaml", record.replace("V1", "V2").replace("gton", "ham")),
    ):
        (tmp_path / name).write_text(text)
    ledger = Ledger()
    found = [next(read_visits(tmp_path / name, None, LONDON, ledger)) for name in ("a.yaml", "b.yaml", "c.yaml")]
    assert [codes([r]) for r in found] == [[], ["R126"], ["R127"]]
    assert "a.yaml" in found[1].issues[0].message
    assert "Testing" not in found[2].issues[0].message


def test_a_former_name_explains_another_name(tmp_path: Path) -> None:
    first = "number: V1\nstart: 2026-03-12\nclient: {number: C1, legal_name: {family: Before, given: [Ada]}}\n"
    second = (
        "number: V2\nstart: 2026-04-12\nclient: {number: C1, legal_name: {family: After, given: [Ada]},"
        " former_names: [{family: BEFORE, given: [ada]}]}\n"
    )
    (tmp_path / "a.yaml").write_text(f"{first}---\n{second}")
    assert codes(list(read_visits(tmp_path / "a.yaml", None, LONDON))) == []


@given(st.dictionaries(st.integers(1, 2**64 - 1), st.integers(0, 2**64 - 1), max_size=3000))
def test_the_hash_table_is_a_dictionary(wanted: dict[int, int]) -> None:
    table = HashTable()
    for key, value in wanted.items():
        assert table.setdefault(key, value) == value
        assert table.setdefault(key, 7) == value
    assert len(table) == len(wanted)
    assert {key: table.get(key) for key in wanted} == wanted


def test_hashes_tell_parts_apart() -> None:
    assert short_hash("a", "b") != short_hash("ab")


def test_a_field_of_the_visit_is_placed_in_no_column_of_an_ear(tmp_path: Path) -> None:
    for kind in ("ear", "visit"):
        (reading,) = records(read_rows(tmp_path, [{"Ear": "R"} if kind == "ear" else {}], rows=kind))
        assert reading.where_of("approved").heading in ("", "Approved by", "Approved")
