"""Whether the cells of a column bear out what its heading says. Each test: yes or no, and the reason in a few words."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise

from bridge.drafting.dates import clock, is_date, is_partial, is_serial, years
from bridge.drafting.shapes import Column
from bridge.layout.tables import cell_words, fold, unit_of
from bridge.numbers import nhs_number_problem

Verdict = tuple[bool, str]
MOST = 0.8
"""Share of the filled cells that has to look right."""

_NUMBER = re.compile(r"[-+−]?\d{1,6}(?:[.,]\d{1,6})?")
_POSTCODE = re.compile(
    r"[A-Z]{1,2}\d[A-Z\d]?\s*\d[A-Z]{2}|[A-Z]\d[\dW]\s?[A-Z\d]{4}"
    r"|\d{2}-\d{3}|\d{4,5}(?:-\d{3,4})?|\d{4}\s?[A-Z]{2}|\d{3} \d{2}",
    re.I,
)
_EMAIL = re.compile(r"[^@\s]+@[^@\s]+\.[^@\s]+")
_INITIALS = re.compile(r"[A-ZÄÖÜÅØÆŁŚŻ]{2,4}|(?:[A-Z]\.){2,3}")


def is_number(text: str) -> bool:
    return _NUMBER.fullmatch(text) is not None


def is_nhs_number(text: str) -> bool:
    """Ten digits that are one: by their check digit."""
    bare = re.sub(r"[\s-]", "", text)
    return len(bare) == 10 and bare.isdigit() and not nhs_number_problem(bare)


def is_phone(text: str) -> bool:
    digits = re.sub(r"[\s()+./-]", "", text)
    return digits.isdigit() and 7 <= len(digits) <= 15 and not is_date(text)


def is_email(text: str) -> bool:
    return _EMAIL.fullmatch(text) is not None


def is_postcode(text: str) -> bool:
    return _POSTCODE.fullmatch(text) is not None


def is_initials(text: str) -> bool:
    return _INITIALS.fullmatch(text) is not None


def is_percent(text: str) -> bool:
    bare = text.replace("%", "").strip()
    return is_number(bare) and 0 <= float(bare.replace(",", ".").replace("−", "-")) <= 100


def is_fill(column: Column) -> bool:
    """Whether numbers tell how full a canal is: shares of 1, or round percents over more than half of the way."""
    if column.filled < 3 or column.share(is_percent) < 1:
        return False
    values = [float(cell.replace("%", "").strip().replace(",", ".").replace("−", "-")) for cell in column.cells]
    if max(values) <= 1:
        return any(0 < v < 1 for v in values)
    return max(values) >= 60 and len(values) > 2 and all(v % 5 == 0 for v in values)


def is_running(column: Column) -> bool:
    """Whether the cells are numbers that run on: one shape, none twice, each above the one before."""
    cells = [c for c in column.first if c]
    shapes = {re.sub(r"\d+", "9", c) for c in cells}
    if len(cells) < 4 or len(shapes) != 1 or max(column.cells.values()) > 1 or any(is_date(c) for c in cells):
        return False
    if not re.fullmatch(r"[^\W\d_]{0,4}[-/ ]?(?:9[-/]?)?9[a-z]?", next(iter(shapes))):
        return False
    counted = [tuple(int(n) for n in re.findall(r"\d+", c)) for c in cells]
    span = counted[-1][-1] - counted[0][-1]
    return all(a < b for a, b in pairwise(counted)) and span < 20 * len(cells)


def has_unit(text: str, kind: str) -> bool:
    found = re.fullmatch(r"([-+−]?\d[\d.,]*)\s*([^\d\s].*)", text)
    if found:
        return unit_of(found[2], kind) is not None
    return kind == "size" and re.fullmatch(r"(?:Fr|FG|Ch|G)\.?\s*\d.*", text, re.IGNORECASE) is not None


def _all(test: Callable[[str], bool], what: str) -> Callable[[Column], Verdict]:
    def verdict(column: Column) -> Verdict:
        share = column.share(test)
        return share >= MOST, f"{round(share * column.filled)} of {column.filled} cells are {what}"

    return verdict


def _date(text: str) -> bool:
    return is_date(text) or is_serial(text)


def _visit_date(column: Column) -> Verdict:
    share = column.share(_date)
    spans = [year + (2000 if short else 0) for year, short in years(column.cells)]
    near = bool(spans) and max(spans) - min(spans) <= 15
    return share >= MOST and near, "dates near each other" if near else "no dates near each other"


def _birth_date(column: Column) -> Verdict:
    share = column.share(lambda t: _date(t) or is_partial(t))
    spans = [year for year, _ in years(column.cells)]
    wide = len(set(column.cells)) < 4 or (bool(spans) and max(spans) - min(spans) >= 5)
    return share >= MOST and wide, "dates that lie decades apart" if wide else "no dates that lie decades apart"


def _distinct(column: Column) -> Verdict:
    most = max(column.cells.values(), default=0)
    return most <= 4, "numbers that hardly repeat" if most <= 4 else "cells that repeat often"


def _person(column: Column) -> Verdict:
    few = len(column.cells) <= max(12, column.filled // 4)
    return few, f"{len(column.cells)} different {'entry' if len(column.cells) == 1 else 'entries'}"


def _pain(text: str) -> bool:
    return re.fullmatch(r"(?:\d|10)\s*(?:/\s*10)?", text, re.ASCII) is not None


def _whole(text: str) -> bool:
    return text.isdigit()


def _measure(text: str) -> bool:
    return is_number(text) or has_unit(text, "measure")


def _size(text: str) -> bool:
    return is_number(text) or has_unit(text, "size")


def _title(text: str) -> bool:
    return fold(text).rstrip(".") in cell_words()["title"] or len(text) <= 6


TESTS: dict[str, Callable[[Column], Verdict]] = {
    "visit-date": _visit_date,
    "birth-date": _birth_date,
    "date": _all(lambda t: _date(t) or is_partial(t), "dates"),
    "time": _all(lambda t: bool(clock(t)), "times"),
    "percent": _all(is_percent, "numbers up to 100"),
    "pain": _all(_pain, "whole numbers from 0 to 10"),
    "whole": _all(_whole, "whole numbers"),
    "measure": _all(_measure, "numbers"),
    "size": _all(_size, "sizes"),
    "nhs": _all(is_nhs_number, "NHS numbers by their check digit"),
    "phone": _all(is_phone, "phone numbers"),
    "email": _all(is_email, "e-mail addresses"),
    "postcode": _all(is_postcode, "postcodes"),
    "title": _all(_title, "titles"),
    "distinct": _distinct,
    "person": _person,
}
"""By the word in the column `needs` of `headings.csv`; other needs are looked at where the field is settled."""
