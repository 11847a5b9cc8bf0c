"""The sheet of words, in a workbook and as CSV."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from bridge.issues import Where
from bridge.marking import unanswered_csv, words_book, words_csv
from bridge.words_asked import HEADINGS, OpenWord, WordsAsked
from tests.marking.books import opened

ASKED = WordsAsked(
    (
        OpenWord(
            "wax-amount", "amount of wax", "chocka", 12, Where("a.csv", row=2, heading="R wax"), ("choc", "chock")
        ),
        OpenWord("canal", "finding of the canal", "+cmd", 1, Where("a.csv", row=3, heading="R canal")),
    ),
    (("amount of wax", "heavy", "heavy, +++"),),
    3,
)


def test_a_workbook_has_the_words_and_their_meanings() -> None:
    book = opened(words_book(ASKED))
    assert book.sheetnames == ["Words", "Meanings"]
    rows = [[c.value for c in row] for row in book["Words"].iter_rows()]
    at = rows.index(list(HEADINGS))
    first = dict(zip(HEADINGS, rows[at + 1], strict=True))
    assert (first["Your word"], first["How often"], first["First place"]) == (
        "chocka", 12, "a.csv, row 2, column “R wax”",
    )  # fmt: skip
    assert first["Means"] is None
    assert book["Words"].cell(at + 3, 2).quotePrefix
    assert any("not listed" in str(row[0]) and "3" in str(row[0]) for row in rows[:at])
    assert [c.value for c in book["Meanings"][2]] == list(ASKED.meanings[0])


def test_as_csv_nothing_runs() -> None:
    content = words_csv(ASKED)
    assert content.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))
    assert rows[0] == list(HEADINGS)
    assert [row[1] for row in rows[1:]] == ["chocka", "'+cmd"]


@pytest.mark.parametrize(
    ("change", "free"),
    [
        (lambda text: text, True),
        (lambda text: text.replace(",,,,,wax-amount", ",heavy,,,,wax-amount"), False),
        (lambda text: text.replace("Means", "Meaning"), False),
        (lambda text: text + "more\r\n", False),
        (lambda text: "", False),
    ],
)
def test_an_answered_sheet_is_known(tmp_path: Path, change: object, free: bool) -> None:
    path = tmp_path / "words.csv"
    path.write_text(change(words_csv(ASKED).decode("utf-8-sig")), encoding="utf-8", newline="")  # type: ignore[operator]
    assert unanswered_csv(path) is free


def test_no_words_are_a_sheet_too() -> None:
    assert "Every word has its code." in [c.value for c in opened(words_book(WordsAsked()))["Words"]["A"]]
