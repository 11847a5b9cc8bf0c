"""A source that is no workbook gets one: its rows as read, in their places, as text, marked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.errors import InputError
from bridge.issues import rules
from bridge.marking import book_of_rows
from bridge.marking.marks import COLOURS
from tests.marking.books import Line, Lines, colour, found, notes, opened, table

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30) | st.sampled_from(
    ["=1+1", "+44", "-2", "@SUM(A1)", "#N/A", "TRUE", "007", "1e5", "2026-05-03", " lead", "a\nb", "'x", "\t=1"]
)


def test_rows_stand_where_they_stood() -> None:
    rows = Lines([Line(1, ["Visit no", "R wax"]), Line(2, []), Line(5, ["V1", "chocka"])])
    book = opened(book_of_rows([rows], "a.csv", [], None)[0])
    assert book.sheetnames == ["To do", "Rows"]
    assert [c.value for c in book["Rows"][5]] == ["V1", "chocka"]
    assert [c.value for c in book["Rows"][4]] == [None, None]


def test_a_doubtful_cell_is_coloured_and_told() -> None:
    worse = found("R104", told="No such day.")
    told = [found(), found("R104", row=3, column=None), worse]
    sheet = opened(book_of_rows([table(["R wax"], ["chocka"], ["x", "y"])], "a.csv", told, None)[0])["Rows"]
    assert set(notes(sheet)) == {"A2", "A3"}
    note = notes(sheet)["A2"]
    assert note.index("ERROR (R104)\nNo such day.") < note.index("CHECK (M101)\n“chocka” is unknown.")
    assert rules()["M101"].do in note
    assert colour(sheet["A2"]) == COLOURS[worse.severity]
    assert colour(sheet["B3"]) == ""


def test_a_mark_beyond_the_cells_and_rows_that_there_are() -> None:
    told = [found(row=2, column=5), found(row=9)]
    sheet = opened(book_of_rows([table(["a"], ["b"])], "a.csv", told, None)[0])["Rows"]
    assert set(notes(sheet)) == {"E2", "A9"}


def test_headings_that_are_no_row_stand_above_the_rows() -> None:
    rows = Lines([Line(1, ["V1", "chocka"])], names=["Visit no", "R wax"])
    book = opened(book_of_rows([rows], "a.db", [found(row=1, column=2, file="a.db")], None)[0])
    assert [[c.value for c in row] for row in book["Rows"].iter_rows()] == [["Visit no", "R wax"], ["V1", "chocka"]]
    assert list(notes(book["Rows"])) == ["B2"]
    assert book["To do"]["G5"].value == 1
    assert book["To do"]["G5"].hyperlink.location == "'Rows'!B2"


def test_another_files_issues_mark_nothing_here() -> None:
    book = opened(book_of_rows([table(["a"], ["b"])], "a.csv", [found(file="b.csv")], None)[0])
    assert notes(book["Rows"]) == {}
    assert book["To do"]["A5"].value == "CHECK"


def test_tables_keep_their_names_as_far_as_a_workbook_takes_them() -> None:
    tables = [
        table(["a"], sheet=name) for name in ("select [x]/y from visits where a = 'b'", "To do", "words", "history", "")
    ]
    content, places = book_of_rows(tables, "a.db", [], None)
    names = [place.sheet for place in places.values()]
    assert opened(content).sheetnames == ["To do", *names]
    assert len({name.casefold() for name in names} | {"to do", "words", "meanings", "history"}) == 9


@given(st.lists(st.lists(TEXTS, max_size=4), min_size=1, max_size=4))
def test_cells_are_text_and_never_run(rows: list[list[str]]) -> None:
    sheet = opened(book_of_rows([table(*rows)], "a.csv", [], None)[0])["Rows"]
    for number, cells in enumerate(rows, 1):
        for column, text in enumerate(cells, 1):
            cell = sheet.cell(number, column)
            assert cell.data_type in ("s", "n" if cell.value is None else "s")
            kept = "".join(c for c in text if c.isprintable())
            assert "".join(c for c in str(cell.value or "") if c.isprintable() and c != "\ufffd") == kept.replace(
                "\ufffd", ""
            )
            if text.startswith(("=", "+", "-", "@")):
                assert cell.quotePrefix


def test_more_than_a_workbook_takes_is_refused() -> None:
    with pytest.raises(InputError, match="workbook takes"):
        book_of_rows([Lines([Line(1_048_577, ["x"])])], "a.csv", [], None)


def test_the_same_bytes_each_time() -> None:
    made = [book_of_rows([table(["a"], ["b"])], "a.csv", [found()], None)[0] for _ in range(2)]
    assert made[0] == made[1]
