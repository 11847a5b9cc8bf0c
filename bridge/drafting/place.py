"""Where a column belongs, by its heading and by its cells, before ears and stages are settled."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from bridge.data import load_csv, table_path
from bridge.drafting.dates import clock, is_date
from bridge.drafting.fits import TESTS, Verdict, is_email, is_initials, is_nhs_number, is_number, is_percent, is_postcode
from bridge.drafting.headings import Said
from bridge.drafting.settings import term_kind
from bridge.drafting.shapes import IGNORE, Column, Sure, Terms
from bridge.drafting.words import meaning, read_words
from bridge.layout import find_field

CONSENTS = ("consent.status", "sharing.status")
_WAX = ("wax-amount", "wax-consistency", "wax-colour")
LONG = 8
"""Words from which a cell is running text."""


@dataclass(slots=True)
class Place:
    """What a column could be. More than one field: it is asked which."""

    fields: list[str]
    sure: Sure
    why: str
    rank: int
    """How good the reason is, for two columns that want the same field: 3 exact words ... 0 the cells alone."""


def place(said: Said, column: Column, few: bool, language: str, terms: Terms | None) -> Place:
    """`few`: the sheet has so few columns that its long text is the record itself."""
    if said.fields:
        return _by_heading(said, column, language, terms)
    return _by_cells(said, column, few, terms)


def _by_heading(said: Said, column: Column, language: str, terms: Terms | None) -> Place:
    fields, rank = list(said.fields), 3 if said.exact and said.language in (language, "en") else 2 if said.exact else 1
    why = "the heading says so" if said.exact else f"the heading looks like “{said.like}”"
    sure: Sure = "sure" if rank == 3 else "likely"
    if fields == [IGNORE]:
        return Place(fields, sure if said.exact else "unsure", "no part of a visit", rank)
    if said.needs == "ask":
        return Place([*dict.fromkeys([*fields, IGNORE])], "unsure", "the heading can mean more than one thing", rank)
    if rank == 1 and set(fields) & {*CONSENTS, "ear"}:
        return Place([*fields, IGNORE], "unsure", f"{why}; a consent or a side is not taken from that", rank)
    if fields == ["ear.@.wax"]:
        fields, more = _wax(said, column)
        if len(fields) > 1:
            return Place(fields, "unsure", more, rank)
        why += more
    if said.needs == "whole-ear":
        return _whole_ear(said, column, rank, terms)
    if not said.needs and column.filled and _not_words(column, fields[0]):
        found = _by_cells(said, column, False, terms)
        return Place(found.fields, "unsure" if len(found.fields) > 1 else "likely", f"{why}, and its cells say otherwise", 0)
    if said.needs == "which-number":
        fields = _which_number(column)
        return Place(fields, "likely", "cells that hardly repeat" if len(fields) == 1 else "it could be either", rank)
    if said.needs == "doctor" and column.share(lambda c: c.casefold().startswith(("dr ", "dr.", "doctor "))) > 0.5:
        return Place(["family_doctor", "family_doctor.doctor", IGNORE], "unsure", "the cells begin with Dr", rank)
    if not column.filled:
        return Place(fields, "likely" if sure == "sure" else sure, f"{why}; all its cells are empty", rank)
    if said.needs in TESTS:
        good, told = _tested(said.needs, column)
        if not good:
            return Place([*fields, "note", IGNORE], "unsure", f"{why}, but its cells do not bear it out", rank)
        why += f"; {told}"
    if said.needs == "choice" and (field := find_field(_sided(fields[0]), "visit")):
        met = read_words(column, field, language)
        if met.known < 0.5 and met.asked > 6:
            return Place([*fields, "note", IGNORE], "unsure", f"{why}, but its cells are no plain answers", rank)
    if hits := _hits(fields[0], column, terms):
        why += hits
    return Place(fields, sure, why, rank)


def _tested(need: str, column: Column) -> Verdict:
    good, told = TESTS[need](column)
    if need == "nhs" and not good and column.share(lambda c: sum(x.isdigit() for x in c) == 10) >= 0.8:
        return True, "ten digits each, some with a wrong check digit"
    return good, told


def _wax(said: Said, column: Column) -> tuple[list[str], str]:
    """Amount in words, or percent; a small whole number could be a grade."""
    numbers = column.share(is_percent)
    if said.unit == "%" or (numbers > 0.8 and column.share(lambda c: c.endswith("%")) > 0.5):
        return ["ear.@.wax.percent"], "; in percent"
    if numbers < 0.8 or not column.filled:
        return ["ear.@.wax"], ""
    values = [float(c.replace(",", ".").rstrip("% ")) for c in column.cells if is_percent(c)]
    if max(values) > 10 or (max(values) <= 1 and any(0 < v < 1 for v in values)):
        return ["ear.@.wax.percent"], "; its cells are numbers"
    return ["ear.@.wax.percent", "ear.@.wax", IGNORE], "small numbers: percent, or a grade of your own"


def _not_words(column: Column, field: str) -> bool:
    """Whether a field of words has nothing but dates or numbers in its cells."""
    found = find_field(_sided(field), "visit")
    if found is None or found.kind not in ("words", "term", "model") or "number" in field or field.startswith("client"):
        return False
    dates = column.share(lambda c: is_date(c) or bool(clock(c)))
    return dates > 0.8 or column.share(is_number) > 0.8


def _whole_ear(said: Said, column: Column, rank: int, terms: Terms | None) -> Place:
    """A heading of a side and a stage alone: running text, or wax where its words are mostly about that."""
    if not said.stage or column.share(lambda c: len(c.split()) >= LONG) > 0.5:
        return Place(list(said.fields), "likely", "the heading names the ear and nothing else", rank)
    parts = Counter(p.strip() for cell in column.cells for p in re.split(r"[,;/]", cell) if p.strip())
    wax = sum(n for p, n in parts.items() if terms and any(terms.find(k, p) for k in _WAX))
    rest = sum(n for p, n in parts.items() if terms and any(terms.find(k, p) for k in ("drum", "canal", "contents")))
    if wax > 2 * rest and wax * 2 >= sum(parts.values()):
        return Place(["ear.@.wax"], "likely", "its cells are words for wax", rank)
    options = ["ear.@.wax", "ear.@.note", "ear.@.drum", "ear.@.canal", IGNORE]
    return Place(options, "unsure", "the heading names the ear and the stage, and not what was seen", rank)


def _which_number(column: Column) -> list[str]:
    most = max(column.cells.values(), default=0)
    return ["number"] if most <= 1 and column.filled > 2 else ["number", "client.number", IGNORE]


def _hits(field: str, column: Column, terms: Terms | None) -> str:
    found = find_field(_sided(field), "visit")
    kind = term_kind(found, terms) if found else ""
    if not kind or terms is None:
        return ""
    known = sum(n for cell, n in column.cells.items() if terms.find(kind, cell))
    return f"; {known} of {column.filled} cells are words known there" if known else ""


def _sided(field: str) -> str:
    return field.replace("ear.", "right.", 1).replace("@", "before") if field.startswith("ear.") else field


def _by_cells(said: Said, column: Column, few: bool, terms: Terms | None) -> Place:
    why = "by its cells alone"
    if not column.filled:
        return Place([IGNORE], "unsure", "the heading is not known, and all cells are empty", 0)
    long = column.share(lambda c: len(c.split()) >= LONG)
    text = "ear.note" if said.side and not said.stage else "ear.@.note" if said.side else "note"
    if long > 0.5:
        if few:
            return Place([text], "likely", "running text, and the only one of the sheet", 0)
        return Place([text, IGNORE], "unsure", "running text under a heading that is not known", 0)
    if column.filled > 2:
        simple = {"client.nhs_number": is_nhs_number, "client.emails": is_email}
        for field, test in simple.items():
            if column.share(test) > 0.8:
                return Place([field], "likely", why, 0)
        if column.share(is_postcode) > 0.8 and not column.share(is_number):
            return Place(["client.address.postcode"], "likely", why, 0)
        dates = _dated(column)
        if dates:
            return Place(dates, "likely" if len(dates) == 1 else "unsure", why, 0)
        if not said.side and column.share(is_initials) > 0.9 and len(column.cells) <= 8 and not _answers(column):
            return Place(["practitioners"], "likely", "a few initials that repeat", 0)
    fields = list(_fields_by_terms(column, terms, bool(said.side)))
    if said.hints:
        hinted = {"consent": "consent.status", "sharing": "sharing.status"}
        consents = [hinted[h] for h in sorted(said.hints, reverse=True)]
        options = dict.fromkeys([*consents, *(["requests"] if "sharing" in said.hints else []), "note", IGNORE])
        return Place([*options], "unsure", "it may be about a consent; that is never taken for granted", 0)
    if _answers(column):
        return Place([*dict.fromkeys([*fields, *CONSENTS, IGNORE])], "unsure", "yes and no under an unknown heading", 0)
    if fields:
        return Place([*fields, text, IGNORE], "unsure", "words of the trade under a heading that is not known", 0)
    if said.side or column.share(lambda c: any(x.isalpha() for x in c)) > 0.5:
        return Place([text, IGNORE], "unsure", "the heading is not known", 0)
    return Place([IGNORE], "unsure", "neither the heading nor the cells are known", 0)


def _answers(column: Column) -> bool:
    return column.share(lambda c: bool(meaning("yes-no", c, ""))) > 0.8


def _dated(column: Column) -> list[str]:
    if TESTS["visit-date"](column)[0]:
        return ["start.date", "recorded_at", IGNORE]
    if TESTS["birth-date"](column)[0]:
        return ["client.birth_date", IGNORE]
    return ["start.time", IGNORE] if column.share(lambda c: bool(clock(c))) > 0.8 else []


@cache
def _templates() -> tuple[str, ...]:
    return tuple(row["field"] for row in load_csv(table_path("words", "field-names.csv")))


def _fields_by_terms(column: Column, terms: Terms | None, sided: bool) -> Iterator[str]:
    """Fields for whose kind of terms half of the cells are known words, best first."""
    if terms is None:
        return
    scores: dict[str, float] = {}
    for template in _templates():
        if sided and not template.startswith("ear."):
            continue
        field = find_field(_sided(template), "visit")
        if field is None or not (kind := term_kind(field, terms)):
            continue
        share = sum(n for cell, n in column.cells.items() if terms.find(kind, cell)) / column.filled
        if share >= 0.5:
            scores[template] = share
    yield from sorted(scores, key=lambda t: -scores[t])[:4]
