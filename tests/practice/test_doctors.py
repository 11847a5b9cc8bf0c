"""The address book: exact or not at all, and every bad row told."""

from __future__ import annotations

import pytest

from bridge.practice.doctors_csv import read_doctors

BOOK = """\
key,practice,organisation_code,doctor,address_1,address_2,town,postcode,phone,email,route
# a note, with "quotes
AG,Aldersby Green Practice,Z99901,Dr Maud Ellerwick,14 Green End,,Aldersby,zx9  2hb,01632 960201,,Post

NN,Northern Practice,Z99905,,,,,,,,
N2,Northern  PRACTICE,Z99906,,,,,,,,
"""


def test_finds_by_key_name_or_code_in_any_case() -> None:
    book, issues = read_doctors(BOOK.encode())
    assert issues == []
    for written in ("ag", "Aldersby  green PRACTICE", "z99901"):
        assert [row.key for row in book.find(written)] == ["AG"]
    row = book.find("AG")[0]
    assert row.address is not None
    assert (row.address.lines, row.address.city, row.address.postcode) == (("14 Green End",), "Aldersby", "ZX9 2HB")
    assert row.route == "post"
    assert book.find("NN")[0].address is None


@pytest.mark.parametrize("written", ["Aldersby", "Aldersby Green", "Aldersby Green Practise", "A G", ""])
def test_never_finds_the_nearest(written: str) -> None:
    book, _ = read_doctors(BOOK.encode())
    assert book.find(written) == ()


def test_shows_the_nearest_to_a_person() -> None:
    book, _ = read_doctors(BOOK.encode())
    assert book.nearest("Aldersby Green Practise")[0] == "Aldersby Green Practice"
    assert book.nearest("Quarry View") == []


def test_finds_both_where_two_fit() -> None:
    book, _ = read_doctors(BOOK.encode())
    assert [row.key for row in book.find("northern practice")] == ["NN", "N2"]


def test_semicolons_and_free_headings() -> None:
    book, issues = read_doctors("\ufeffKey;Practice;Organisation code\r\nX;A, B and partners;Z99909\r\n".encode())
    assert issues == []
    assert book.rows[0].practice == "A, B and partners"


CASES = {
    "empty": ("", [("R320", None, "")]),
    "only notes": ("# nothing\n", [("R320", None, "")]),
    "unknown heading": ("key,practice,postkode\n", [("R320", 1, "")]),
    "heading twice": ("key,practice,key\n", [("R320", 1, "")]),
    "no practice column": ("key,doctor\n", [("R320", 1, "")]),
    "open quotation mark": ('key,practice\nA,"open\n', [("R320", None, "")]),
    "cells": ("key,practice\nA,B,C\nD\n", [("R321", 2, ""), ("R321", 3, "")]),
    "no key": ("key,practice\n,B\n", [("R321", 2, "key")]),
    "no practice": ("key,practice\n# note\nA,\n", [("R321", 3, "practice")]),
    "same key": ("key,practice\nA,B\na,C\n", [("R322", 3, "key")]),
    "route": ("key,practice,route\nA,B,pigeon\n", [("R304", 2, "route")]),
    "too long": (f"key,practice\nA,{'x' * 201}\n", [("R304", 2, "practice")]),
    "code": ("key,practice,organisation_code\nA,B,z99 901\n", [("R323", 2, "organisation_code")]),
    "after a cell of two lines": ('key,practice\nA,"two\nlines"\na,C\n', [("R322", 4, "key")]),
}


@pytest.mark.parametrize(("text", "expected"), CASES.values(), ids=CASES)
def test_what_is_wrong(text: str, expected: list[tuple[str, int | None, str]]) -> None:
    _, issues = read_doctors(text.encode())
    assert [(i.rule, i.where.row, i.where.heading) for i in issues] == expected


def test_another_encoding_is_told_and_not_guessed() -> None:
    book, issues = read_doctors("key,practice\nA,B\nC,Zoë\n".encode("cp1252"))
    assert book.rows == ()
    assert [(i.rule, i.where.row) for i in issues] == [("R320", 3)]


def test_rows_are_counted_as_a_spreadsheet_counts_them() -> None:
    _, issues = read_doctors("key,practice\rA,One\u2028Two\r# note\rB\r".encode())
    assert [(i.rule, i.where.row) for i in issues] == [("R321", 4)]


def test_good_rows_stay_beside_bad_ones() -> None:
    book, issues = read_doctors(b"key,practice\nA,B\nC\nD,E\n")
    assert [row.key for row in book.rows] == ["A", "D"]
    assert len(issues) == 1
