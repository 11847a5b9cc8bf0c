"""Where a column under an unknown heading could belong, by its cells alone."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from bridge.data import load_csv, table_path
from bridge.drafting.dates import clock
from bridge.drafting.fits import TESTS, is_email, is_initials, is_nhs_number, is_number, is_percent, is_postcode
from bridge.drafting.headings import Said
from bridge.drafting.settings import term_kind
from bridge.drafting.shapes import IGNORE, Column, Place, Terms
from bridge.drafting.words import meaning
from bridge.layout import find_field

CONSENTS = ("consent.status", "sharing.status")
LONG = 8
"""Words from which a cell is running text."""


def sided(field: str) -> str:
    """A field with its open ear and stage filled in, to look it up."""
    return field.replace("ear.", "right.", 1).replace("@", "before") if field.startswith("ear.") else field


def by_cells(said: Said, column: Column, few: bool, terms: Terms | None) -> Place:
    """What the cells alone say of a column; a consent is never more than a question."""
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
        if not said.side and column.share(is_initials) > 0.9 and len(column.cells) <= 8 and not _known(column, terms):
            return Place(["practitioners"], "likely", "a few initials that repeat", 0)
    fields = list(_fields_by_terms(column, terms, bool(said.side)))
    if said.hints:
        hinted = {"consent": "consent.status", "sharing": "sharing.status"}
        consents = [hinted[h] for h in sorted(said.hints, reverse=True)]
        options = dict.fromkeys([*consents, *(["requests"] if "sharing" in said.hints else []), "note", IGNORE])
        return Place([*options], "unsure", "it may be about a consent; that is never taken for granted", 0)
    if _answers(column):
        return Place([*dict.fromkeys([*fields, *CONSENTS, IGNORE])], "unsure", "yes and no under an unknown heading", 0)
    if column.share(lambda c: c.endswith("%") and is_percent(c)) > 0.5:
        return Place(["ear.@.wax.percent", IGNORE], "unsure", "percent under a heading that is not known", 0)
    if fields:
        return Place([*fields, text, IGNORE], "unsure", "words of the trade under a heading that is not known", 0)
    if said.side or column.share(lambda c: any(x.isalpha() for x in c)) > 0.5:
        return Place([text, IGNORE], "unsure", "the heading is not known", 0)
    return Place([IGNORE], "unsure", "neither the heading nor the cells are known", 0)


def _answers(column: Column) -> bool:
    return column.share(lambda c: bool(meaning("yes-no", c, ""))) > 0.8


def _known(column: Column, terms: Terms | None) -> bool:
    """Whether one of the cells is a word of the trade or an answer: NAD and UTV are nobody's initials."""
    groups = ("part", "wax", "view", "yes-no", "attendance", "client.sex", "side")
    answers = any(meaning(g, c, "") for c in column.cells for g in groups)
    return answers or terms is None or any(terms.find(kind, c) for kind in terms.kinds for c in column.cells)


def _dated(column: Column) -> list[str]:
    if TESTS["visit-date"](column)[0]:
        return ["start.date", "recorded_at", "follow_up", IGNORE]
    if TESTS["birth-date"](column)[0]:
        return ["client.birth_date", IGNORE]
    return ["start.time", IGNORE] if column.share(lambda c: bool(clock(c))) > 0.8 else []


@cache
def _templates() -> tuple[str, ...]:
    return tuple(row["field"] for row in load_csv(table_path("words", "field-names.csv")))


def _fields_by_terms(column: Column, terms: Terms | None, of_ear: bool) -> Iterator[str]:
    """Fields for whose kind of terms half of the cells are known words, best first."""
    if terms is None:
        return
    scores: dict[str, float] = {}
    for template in _templates():
        if of_ear and not template.startswith("ear."):
            continue
        field = find_field(sided(template), "visit")
        if field is None or not (kind := term_kind(field, terms)):
            continue
        share = sum(n for cell, n in column.cells.items() if terms.find(kind, cell)) / column.filled
        if share >= 0.5:
            scores[template] = share
    yield from sorted(scores, key=lambda t: -scores[t])[:4]
