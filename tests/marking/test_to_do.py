"""The sheet "To do": worst first, every issue, a way to each cell."""

from __future__ import annotations

from bridge.issues import Issue, Where, issue
from bridge.marking import Place, book_of_rows, summary_book
from bridge.marking.to_do import HEADINGS
from tests.marking.books import found, opened, table

FIRST = 5


def test_every_issue_worst_and_most_frequent_first() -> None:
    told = [
        found("D101", told="Nothing due."),
        found(row=2),
        issue("R104", "No such day.", Where("a.csv", row=4, column=2, heading="Date")),
        found(row=3),
        issue("R135", "No numbers.", Where("a.csv")),
    ]
    sheet = opened(book_of_rows([table(["a"], ["b"])], "a.csv", told, None)[0])["To do"]
    assert [c.value for c in sheet[FIRST - 1]] == list(HEADINGS)
    rows = [[c.value for c in row] for row in sheet.iter_rows(min_row=FIRST)]
    assert [row[0] for row in rows] == ["ERROR", "CHECK", "CHECK", *(row[0] for row in rows[3:])]
    assert [row[6] for row in rows[:3]] == [4, 2, 3]
    assert rows[0] == ["ERROR", "No such day.", told[2].help, "R104", "a.csv", None, 4, "Date", None]
    assert len(rows) == len(told)


def test_links_lead_to_the_cells() -> None:
    told = [found(row=7, column=28), found("R135", row=None, column=None)]
    sheet = opened(book_of_rows([table(["a"], sheet="O'Neil’s visits")], "a.csv", [], None)[0])
    assert sheet.sheetnames[1] == "O'Neil’s visits"
    told[0] = found(row=7, column=28, sheet="O'Neil’s visits")
    sheet = opened(book_of_rows([table(["a"], sheet="O'Neil’s visits")], "a.csv", told, None)[0])["To do"]
    links = {cell.coordinate: cell.hyperlink for row in sheet.iter_rows() for cell in row if cell.hyperlink}
    places = {at: link.location for at, link in links.items()}
    by_row = next(row for row in (FIRST, FIRST + 1) if sheet.cell(row, 4).value == "M101")
    assert places == {f"G{by_row}": "'O''Neil’s visits'!AB7", f"H{by_row}": "'O''Neil’s visits'!AB7"}
    assert all(link.target is None for link in links.values())


def test_a_summary_leads_into_the_copies() -> None:
    def link(one: Issue) -> Place | None:
        return Place("Rows", 0, "a.marked.xlsx") if one.where.file == "a.csv" else None

    sheet = opened(summary_book([found(file="a.csv"), found(file="b.yaml")], link, None))["To do"]
    links = [cell.hyperlink for row in sheet.iter_rows() for cell in row if cell.hyperlink]
    assert {(link.target, link.location) for link in links} == {("a.marked.xlsx", "'Rows'!A2")}


def test_nothing_found_is_said() -> None:
    sheet = opened(summary_book([], lambda one: None, None))["To do"]
    assert [c.value for c in sheet[FIRST]][:2] == [None, "Nothing was found."]


def test_a_message_that_begins_like_a_formula_is_text() -> None:
    sheet = opened(summary_book([found(told="=HYPERLINK(1)")], lambda one: None, None))["To do"]
    assert (sheet.cell(FIRST, 2).value, sheet.cell(FIRST, 2).data_type) == ("=HYPERLINK(1)", "s")


def test_long_rows_are_high_enough_to_be_read() -> None:
    told = [found(told="one two three four five " * 20), found("D101", told="Short.")]
    for content in (
        book_of_rows([table(["a"])], "a.csv", told, None)[0],
        summary_book(told, lambda one: None, None),
    ):
        sheet = opened(content)["To do"]
        assert sheet.row_dimensions[FIRST].height >= 8 * 15
        assert sheet.row_dimensions[FIRST].customHeight
