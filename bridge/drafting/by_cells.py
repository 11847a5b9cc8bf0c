"""Where a column under an unknown heading could belong, by its cells alone."""

from __future__ import annotations

import re
from collections.abc import Iterator

from bridge.drafting.dates import clock
from bridge.drafting.evidence import FIELDS, Kinds, field_of_unit, is_prose, kinds_of
from bridge.drafting.fits import (
    TESTS,
    is_email,
    is_fill,
    is_initials,
    is_nhs_number,
    is_number,
    is_percent,
    is_postcode,
    is_running,
)  # fmt: skip
from bridge.drafting.headings import Said
from bridge.drafting.pieces import pieces
from bridge.drafting.shapes import IGNORE, Column, Place, Terms
from bridge.drafting.tables import cell_key, given_names
from bridge.drafting.words import meaning

CONSENTS = ("consent.status", "sharing.status")
_INTERVAL = re.compile(r"(?:in )?\d{1,2}\s*/?\s*[^\W\d_]{1,9}\.?")
_HINTED = {"consent": "consent.status", "sharing": "sharing.status"}


def sided(field: str) -> str:
    """A field with its open ear and stage filled in, to look it up."""
    return field.replace("ear.", "right.", 1).replace("@", "before") if field.startswith("ear.") else field


def by_cells(said: Said, column: Column, few: bool, language: str, terms: Terms | None) -> Place:
    """What the cells alone say of a column; a consent is never more than a question.

    `few`: the sheet has so few columns that its long text is the record itself.
    """
    if not column.filled:
        return Place([IGNORE], "unsure", "the heading is not known, and all cells are empty", 0)
    text = text_of(said)
    consents = [_HINTED[h] for h in sorted(said.hints, reverse=True)]
    if is_prose(column):
        if consents:
            return Place([text, *consents, IGNORE], "unsure", "running text, and perhaps about a consent", 0)
        told = "running text, and the only one of the sheet" if few else "running text; kept word for word as a note"
        return Place([text], "likely", told, 0)
    if found := _by_form(said, column, terms):
        return found
    if consents:
        options = dict.fromkeys([*consents, *(["requests"] if "sharing" in said.hints else []), "note", IGNORE])
        return Place([*options], "unsure", "it may be about a consent; that is never taken for granted", 0)
    kinds = kinds_of(column, language, terms)
    if kinds.best:
        return _of_kind(said, kinds)
    fields = [f for kind in kinds.likely if kind in FIELDS for f in _stages(FIELDS[kind], said)]
    if _answers(column):
        others = [text] if said.side else [*CONSENTS, text]
        return Place([*dict.fromkeys([*fields, *others, IGNORE])], "unsure", "yes and no under an unknown heading", 0)
    if fields:
        return Place([*fields, text, IGNORE], "unsure", "words of the trade under a heading that is not known", 0)
    if others := list(_by_look(column, language, said)):
        return Place([*dict.fromkeys([*others, text, IGNORE])], "unsure", "the heading is not known", 0)
    if said.side or column.share(lambda c: any(x.isalpha() for x in c)) > 0.5:
        return Place([text, "reasons", "advice", IGNORE] if text == "note" else [text, IGNORE],
                     "unsure", "the heading is not known", 0)  # fmt: skip
    return Place([IGNORE], "unsure", "neither the heading nor the cells are known", 0)


def text_of(said: Said) -> str:
    """The note that running text goes to."""
    return "ear.note" if said.side and not said.stage else "ear.@.note" if said.side else "note"


def hard_evidence(column: Column) -> str:
    """The field that the form of the cells proves, whatever the heading says."""
    simple = {"client.nhs_number": is_nhs_number, "client.emails": is_email}
    if column.filled > 2:
        return next((field for field, test in simple.items() if column.share(test) > 0.8), "")
    return ""


def _by_form(said: Said, column: Column, terms: Terms | None) -> Place | None:
    """Numbers with a check digit, dates, units and the like."""
    why = "by its cells alone"
    if field := hard_evidence(column):
        return Place([field], "likely", why, 0)
    if column.filled > 2:
        if column.share(is_postcode) > 0.8 and not column.share(is_number):
            return Place(["client.address.postcode"], "likely", why, 0)
        if dates := _dated(column):
            return Place(dates, "likely" if len(dates) == 1 else "unsure", why, 0)
        if not said.side and column.share(is_initials) > 0.9 and len(column.cells) <= 8 and not _known(column, terms):
            return Place(["practitioners"], "likely", "a few initials that repeat", 0)
        if not said.side and is_running(column):
            return Place(["number"], "likely", "each stands once, and all run in one shape", 0)
    if said.side and is_fill(column):
        options = _stages("ear.@.wax.percent", said)
        told = "shares under an ear, from nothing to full"
        if len(options) == 1:
            return Place(options, "likely", told, 0)
        return Place([*options, IGNORE], "unsure", f"{told}, but not whether before or after the work", 0)
    if field := field_of_unit(column, said.unit):
        return Place([field], "likely", "its numbers have that unit", 0)
    if said.unit == "%" or column.share(lambda c: c.endswith("%") and is_percent(c)) > 0.5:
        options = _stages("ear.@.wax.percent", said)
        if len(options) == 1:
            return Place(options, "likely", "percent, and nothing else is told so", 0)
        return Place([*options, IGNORE], "unsure", "percent, but not whether before or after the work", 0)
    return None


def _of_kind(said: Said, kinds: Kinds) -> Place:
    """A field whose words the cells are; before or after has to be told by the heading."""
    fields = _stages(FIELDS[kinds.best], said)
    why = f"its cells are words for that ({kinds.cells} of them)"
    if len(fields) == 1:
        return Place(fields, "likely", why, 0)
    return Place([*fields, text_of(said), IGNORE], "unsure", f"{why}, but not whether before or after the work", 0)


def _stages(field: str, said: Said) -> list[str]:
    if "@" not in field or said.stage:
        return [field]
    return [field.replace("@", "before"), field.replace("@", "after")]


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
    return ["start.time", "end.time", IGNORE] if column.share(lambda c: bool(clock(c))) > 0.8 else []


def _by_look(column: Column, language: str, said: Said) -> Iterator[str]:
    """Fields that cells of this look often belong to, to be offered."""
    if column.share(lambda c: bool(_INTERVAL.fullmatch(c))) > 0.6:
        yield "follow_up"
    practices = {p for p in pieces(language).items() if p[1] & {"surgery", "practice"}}
    named = {" ".join(key) for key, _ in practices}
    if column.share(lambda c: bool(named & set(cell_key(c).split())) or c.startswith(("Dr ", "Dr."))) > 0.5:
        yield from ("family_doctor", "referral.to")
    if column.share(lambda c: len(c.split()) > 1 and bool(given_names() & set(cell_key(c).split()))) > 0.5:
        yield from ("client.legal_name", "practitioners")
    if column.share(lambda c: is_number(c) and c.isdecimal() and int(c) <= 10) > 0.9 and len(column.cells) > 1:
        yield from ("ear.work.pain_peak", *_stages("ear.@.wax.percent", said))
    elif said.side and column.share(is_percent) > 0.9:
        yield from _stages("ear.@.wax.percent", said)
