"""Problems where the person works: a copy of the workbook with its doubtful cells coloured, and sheets to answer in."""

from __future__ import annotations

from bridge.marking.copied import copied
from bridge.marking.package import lacking
from bridge.marking.rows_book import book_of_rows, summary_book
from bridge.marking.seal import may_replace
from bridge.marking.to_do import Place
from bridge.marking.words_sheet import unanswered_csv, words_book, words_csv

__all__ = [
    "Place",
    "book_of_rows",
    "copied",
    "lacking",
    "may_replace",
    "summary_book",
    "unanswered_csv",
    "words_book",
    "words_csv",
]
