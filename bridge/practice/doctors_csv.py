"""Reads `doctors.csv`: all that is wrong with it at once, row by row."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import StringIO
from typing import Any

from pydantic import ValidationError

from bridge.issues import Issue, Where, issue
from bridge.practice.doctors import COLUMNS, AddressBook, DoctorsPractice
from bridge.practice.names import fold, listed, nearest, quoted

FILE = "doctors.csv"
MAX_BYTES = 20_000_000


def read_doctors(content: bytes) -> tuple[AddressBook, list[Issue]]:
    """The address book from the file's bytes, with every problem; rows with problems are not in it.

    Comma or semicolon between cells (as the heading row has it); rows that start with # are notes.
    """
    try:
        if len(content) > MAX_BYTES:
            raise ValueError(f"is larger than {MAX_BYTES // 1_000_000} MB")
        rows = list(_rows(content.decode("utf-8-sig")))
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        return AddressBook(), [issue("R320", "doctors.csv is not text in UTF-8.", Where(FILE, row=row))]
    except (csv.Error, ValueError) as error:
        return AddressBook(), [issue("R320", f"doctors.csv cannot be read as a table: {error}.", Where(FILE))]
    if not rows:
        return AddressBook(), [issue("R320", "doctors.csv is empty; its headings are missing.", Where(FILE))]
    (at, first), *body = rows
    headings = [fold(cell).replace(" ", "_") for cell in first]
    issues = _check_headings(headings, Where(FILE, row=at))
    if issues:
        return AddressBook(), issues
    found: list[DoctorsPractice] = []
    keys: dict[str, int] = {}
    for number, cells in body:
        entry, problems = _entry(number, headings, cells)
        issues += problems
        if entry is None:
            continue
        if (key := fold(entry.key)) in keys:
            where = Where(FILE, row=number, heading="key")
            issues.append(issue("R322", f"The key {quoted(entry.key)} is also the key of row {keys[key]}.", where))
        else:
            keys[key] = number
            found.append(entry)
    return AddressBook(found), issues


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Number (from 1) and cells of each row that is not a note or blank."""
    lines = ["\n" if line.lstrip().startswith("#") else line for line in StringIO(text, newline="")]
    heading = next((line for line in lines if line.strip()), "")
    reader = csv.reader(lines, delimiter=";" if ";" in heading and "," not in heading else ",", strict=True)
    number = 1
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield number, cells
        number = reader.line_num + 1


def _check_headings(headings: list[str], where: Where) -> list[Issue]:
    issues = []
    for column, heading in enumerate(headings, 1):
        at = Where(FILE, row=where.row, column=column)
        if heading not in COLUMNS:
            near = nearest(heading, COLUMNS, 1)
            hint = f" The nearest known one is {quoted(near[0])}." if near else ""
            issues.append(issue("R320", f"The heading {quoted(heading)} is not known.{hint}", at))
        elif headings.index(heading) != column - 1:
            issues.append(issue("R320", f"The heading {quoted(heading)} is there twice.", at))
    missing = [quoted(c) for c in ("key", "practice") if c not in headings]
    if missing:
        issues.append(issue("R320", f"The address book has no column {listed(missing, 'and')}.", where))
    return issues


def _entry(number: int, headings: list[str], cells: list[str]) -> tuple[DoctorsPractice | None, list[Issue]]:
    if len(cells) != len(headings):
        text = f"Row {number} has {len(cells)} cells, but there are {len(headings)} headings."
        return None, [issue("R321", text, Where(FILE, row=number))]
    values: dict[str, Any] = {h: c.strip() for h, c in zip(headings, cells, strict=True) if c.strip()}
    values |= {name: fold(values[name]) for name in ("route", "kind") if name in values}
    try:
        entry = DoctorsPractice(**values)
    except ValidationError as error:
        return None, [_problem(number, problem) for problem in error.errors(include_url=False, include_input=False)]
    if entry.unusual_code:
        where = Where(FILE, row=number, heading="organisation_code")
        return entry, [issue("R323", "The organisation code is not made of capital letters and digits.", where)]
    return entry, []


def _problem(number: int, problem: Any) -> Issue:
    heading = str(problem["loc"][0])
    where = Where(FILE, row=number, heading=heading)
    if problem["type"] == "missing":
        return issue("R321", f"The row has no {heading}.", where)
    if problem["type"] == "literal_error":
        return issue("R304", f"The cell must be one of: {problem['ctx']['expected'].replace(chr(39), '')}.", where)
    if problem["type"] == "string_too_long":
        return issue("R304", "The cell is longer than 200 characters.", where)
    return issue("R304", "The cell holds characters that no text holds.", where)
