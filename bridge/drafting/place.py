"""Where a column belongs, by its heading and by its cells, before ears and stages are settled."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from bridge.drafting.by_cells import CONSENTS, by_cells, hard_evidence, sided, text_of
from bridge.drafting.dates import clock, is_date
from bridge.drafting.evidence import ENOUGH, FIELDS, is_prose, kinds_of
from bridge.drafting.fits import MOST, TESTS, Verdict, is_initials, is_number, is_percent
from bridge.drafting.headings import Said
from bridge.drafting.settings import term_kind
from bridge.drafting.shapes import IGNORE, Column, Place, Sure, Terms
from bridge.drafting.words import MOST_ASKED, group_of, meaning, read_words
from bridge.layout import find_field

_CLINICAL = frozenset(("method", "wax", "drum", "canal", "tool", "outcome", "event", "symptom"))
_OTHERWISE = "the heading names one thing, and the cells look like another"
_SURGERIES = 4
"""Different names of practices or people from which a column holds such names."""


def place(
    said: Said, column: Column, few: bool, language: str, terms: Terms | None, dates: Column | None = None
) -> Place:
    """What a column could be. `few`: the sheet has so few columns that its long text is the record itself; `dates`: the
    column of the dates of visits."""
    if said.fields:
        return _by_heading(said, column, language, terms, dates)
    return by_cells(said, column, few, language, terms)


def _by_heading(said: Said, column: Column, language: str, terms: Terms | None, dates: Column | None) -> Place:
    if said.side in ("right", "left") and not any(f.startswith("ear") or f == IGNORE for f in said.fields):
        return _beside_an_ear(said, column, language, terms)
    table = said.exact and not said.made and said.language in (language, "en")
    fields, rank = list(said.fields), 3 if table else 2 if said.exact else 1
    why = "the heading says so" if said.exact else f"the heading looks like “{said.like}”"
    why = "the words of the heading say so" if said.made and said.exact else why
    sure: Sure = "sure" if rank == 3 else "likely"
    if rank < 3 and (proven := hard_evidence(column)):
        return Place([proven], "likely", "by its cells alone", 0)
    if fields == [IGNORE]:
        return _ignored(said, column, rank, language, terms)
    if fields[0].startswith("ear.") and column.filled > 2 and column.share(_is_doctor) > MOST:
        return Place(["family_doctor.doctor"], "likely", "the cells are names that begin with Dr", rank)
    if fields[0].startswith("family_doctor") and _answers(column, language):
        options = [*dict.fromkeys(["sharing.status", "requests", *fields, IGNORE])]
        return Place(options, "unsure", "a doctor in the heading, and yes and no in the cells", rank)
    if "sharing.status" in fields and _doctors(column, language):
        options = ["family_doctor", "sharing.recipients", "referral.to", *fields, IGNORE]
        return Place([*dict.fromkeys(options)], "unsure", "its cells are names, no answers", rank)
    if "sharing.status" in fields and {"requests", IGNORE} & set(fields) and column.share(is_date) > MOST:
        return Place([IGNORE], "likely", "dates of sending, no consent", rank)
    if said.needs == "ask":
        kinds = kinds_of(column, language, terms)
        meant = FIELDS.get(kinds.best, "") or _among(kinds.shares, kinds.cells, fields)
        if "ear.work.pain_peak" in fields and column.filled > 2 and TESTS["pain"](column)[0]:
            meant = "ear.work.pain_peak"
        if set(fields) == {"cautions", "medicines"}:
            named = kinds.cells > 1 and max(kinds.shares.get(k, 0) for k in ("medicine", "caution")) >= ENOUGH
            meant = "medicines" if named and not column.share(lambda c: meaning("yes-no", c, language) == "yes") else ""
        elif meant not in fields and (other := _among(kinds.shares, kinds.cells, fields)):
            meant = other
        if meant in fields:
            return Place([meant], "likely", "the heading can mean it, and its cells are words for that", rank)
        options = [*fields, *([meant] if meant else []), IGNORE]
        return Place([*dict.fromkeys(options)], "unsure", "the heading can mean more than one thing", rank)
    if rank == 1 and set(fields) & {*CONSENTS, "ear"}:
        both = CONSENTS if set(fields) & set(CONSENTS) else ()
        options = list(dict.fromkeys([*fields, *both, IGNORE]))
        return Place(options, "unsure", f"{why}; a consent or a side is not taken from that", rank)
    if fields == ["ear.@.wax"]:
        fields, more = _wax(said, column)
        if len(fields) > 1:
            return Place(fields, "unsure", more, rank)
        why += more
    if fields == ["client.legal_name"] and column.share(is_initials) > MOST:
        return by_cells(said, column, False, language, terms)
    if said.needs == "whole-ear":
        return _whole_ear(said, column, rank, language, terms)
    if said.needs == "form" and _answers(column, language):
        options = ["consent.status", "sharing.status", "consent.form", IGNORE]
        return Place(options, "unsure", "a form of consent in the heading, and answers in the cells", rank)
    if column.codes and (field := find_field(sided(fields[0]), "visit")) and field.kind in ("term", "model"):
        if not group_of(field) or group_of(field) == "wax":
            return Place([*fields, IGNORE], "unsure", "its cells are codes of your own, not words", rank)
    elif not said.needs and column.filled and _not_words(column, fields[0]):
        found = by_cells(said, column, False, language, terms)
        if len(found.fields) == 1:
            return Place(found.fields, "likely", _OTHERWISE, 0)
        if found.fields[0] == "start.time":
            return Place(found.fields, "unsure", _OTHERWISE, 0)
        rest = [f for f in found.fields if f != IGNORE]
        return Place([*dict.fromkeys([*rest, *fields, IGNORE])], "unsure", _OTHERWISE, 0)
    if said.needs == "which-number":
        fields, told = _which_number(column, dates)
        return Place(fields, "likely" if len(fields) == 1 else "unsure", told, rank)
    if said.needs == "doctor" and column.share(_is_doctor) > MOST:
        return Place(["family_doctor.doctor"], "likely", "the cells are names that begin with Dr", rank)
    if set(fields) & set(CONSENTS) and rank < 3 and not _plainly(said, column, fields[0], language):
        options = [*dict.fromkeys([*fields, *CONSENTS, "note", IGNORE])]
        return Place(options, "unsure", "a consent is only taken from plain words above and plain answers below", rank)
    if set(fields) & set(CONSENTS):
        sure = "sure"
    if not column.filled:
        known = sure if set(fields) & set(CONSENTS) else "likely"
        return Place(fields, known, f"{why}; all its cells are empty", rank)
    if said.needs in TESTS:
        good, told = _tested(said.needs, column)
        if not good:
            if column.share(lambda c: re.fullmatch(r"1\d{9}", c) is not None) > MOST:
                told = "numbers that count seconds since 1970, perhaps; let the query turn them into dates"
                return Place([*fields, IGNORE], "unsure", told, rank)
            if said.needs == "visit-date" and column.share(lambda c: bool(clock(c))) > MOST:
                return Place(["start.time"], "likely", "a word for when, and times of day in the cells", rank)
            return Place([*fields, "note", IGNORE], "unsure", f"{why}, but its cells do not look like that", rank)
        why += f"; {told}"
    if said.needs == "choice" and (field := find_field(sided(fields[0]), "visit")):
        met = read_words(column, field, language)
        if not met.known or met.asked > MOST_ASKED or (met.known < 0.5 and met.asked > MOST_ASKED // 2):
            both = CONSENTS if set(fields) & set(CONSENTS) else ()
            options = [*dict.fromkeys([*fields, *both, "note", IGNORE])]
            return Place(options, "unsure", f"{why}, but its cells are no plain answers", rank)
    if hits := _hits(fields[0], column, terms):
        why += hits
    return Place(fields, sure, why, rank)


def _beside_an_ear(said: Said, column: Column, language: str, terms: Terms | None) -> Place:
    """A heading of one ear whose words are otherwise about the whole visit."""
    if said.fields == ("note",):
        return Place([text_of(said)], "likely", "a note, and the heading names its ear", 2)
    found = by_cells(said, column, False, language, terms)
    if "reasons" in said.fields and (len(found.fields) > 1 or found.fields == [IGNORE]):
        reasons = ["ear.work.outcome_reason", "ear.symptoms", "ear.@.view.reason", "ear.work.why", IGNORE]
        return Place(reasons, "unsure", "a reason for something of that ear, and not for what", 2)
    return found


def _plainly(said: Said, column: Column, path: str, language: str) -> bool:
    """Whether every word of the heading is known to be about this consent, and nearly every cell is an answer."""
    field = find_field(path, "visit")
    if field is None or not (said.made and said.exact and column.filled):
        return False
    return read_words(column, field, language).known >= MOST


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
    found = find_field(sided(field), "visit")
    if (
        found is None
        or found.kind not in ("words", "term", "model")
        or "number" in field
        or field.startswith(("client", "follow_up"))
    ):
        return False
    dates = column.share(lambda c: is_date(c) or bool(clock(c)))
    return dates > 0.8 or column.share(is_number) > 0.8


def _ignored(said: Said, column: Column, rank: int, language: str, terms: Terms | None) -> Place:
    """What is no part of a visit, unless its cells look as if they were."""
    if said.needs == "national":
        told = "a number that a state or an insurer gave; the sheet does not say which, so it is not sent"
        return Place([IGNORE], "unsure", told, rank)
    kinds = kinds_of(column, language, terms)
    if kinds.best in _CLINICAL:
        return Place([FIELDS[kinds.best], text_of(said), IGNORE], "unsure", "its cells are words of the trade", rank)
    if rank < 3 and is_prose(column):
        return Place([text_of(said), IGNORE], "unsure", "running text under a heading of the office, perhaps", rank)
    return Place([IGNORE], "sure" if rank == 3 else "likely", "no part of a visit", rank)


def _answers(column: Column, language: str) -> bool:
    """Whether the cells are answers to a question: yes, no, given, refused."""
    groups = ("yes-no", "sharing.status", "consent.status")
    return column.filled > 0 and column.share(lambda c: any(meaning(g, c, language) for g in groups)) >= MOST


def _doctors(column: Column, language: str) -> bool:
    """Whether the cells are names, and none of them is an answer."""
    named = column.share(lambda c: len(c) > 3 and c[:1].isupper() and not any(x.isdigit() for x in c))
    answers = column.share(lambda c: any(meaning(g, c, language) for g in ("yes-no", "sharing.status")))
    return column.filled >= _SURGERIES and named > MOST and not answers and column.share(lambda c: " " in c) > 0.5


def _is_doctor(cell: str) -> bool:
    return cell.casefold().startswith(("dr ", "dr.", "doctor ", "dra ", "dra.", "dott", "lek.")) and "," not in cell


def _whole_ear(said: Said, column: Column, rank: int, language: str, terms: Terms | None) -> Place:
    """A heading of a side and a stage alone: running text, or what its words are for."""
    kinds = kinds_of(column, language, terms)
    if is_prose(column):
        return Place(list(said.fields), "likely", "the heading names the ear, and its cells are running text", rank)
    if kinds.cells > 1 and kinds.wax > 0.6 and kinds.wax >= 2 * max(_others(kinds.shares), default=0):
        return Place(["ear.@.wax"], "likely", "its cells are words for wax", rank)
    if not said.stage:
        field = FIELDS.get(kinds.best, "")
        if field and "@" not in field:
            return Place([field], "likely", "the heading names the ear, its cells are words for that", rank)
        return Place(list(said.fields), "likely", "the heading names the ear and nothing else", rank)
    likely = [FIELDS[k] for k in kinds.likely if k in FIELDS]
    options = [*likely, "ear.@.wax", "ear.@.note", "ear.@.drum", "ear.@.canal", IGNORE]
    return Place([*dict.fromkeys(options)], "unsure", "the heading names the ear and the stage, and not what", rank)


def _among(shares: Mapping[str, float], cells: int, fields: Sequence[str]) -> str:
    """The one of these fields whose words nearly all cells are; empty where none is, or several are."""
    fit = [FIELDS[k] for k, share in shares.items() if k in FIELDS and share >= ENOUGH and FIELDS[k] in fields]
    return fit[0] if len(fit) == 1 and cells > 1 else ""


def _others(shares: Mapping[str, float]) -> list[float]:
    return [share for kind, share in shares.items() if kind in ("drum", "canal", "contents", "method", "event")]


def _which_number(column: Column, dates: Column | None) -> tuple[list[str], str]:
    """A number that never repeats, or repeats on one day only, is the visit's; on several days, the client's."""
    if column.filled > 2 and max(column.cells.values(), default=0) <= 1:
        return ["number"], "each stands once"
    days: dict[str, set[str]] = {}
    for cell, day in zip(column.first, dates.first if dates else (), strict=False):
        if cell:
            days.setdefault(cell, set()).add(day)
    if column.filled > 2 and days and len(days) * 4 >= column.filled:
        if all(len(d) == 1 for d in days.values()):
            return ["number"], "each belongs to one date"
        return ["client.number", "number", IGNORE], "some stand on several dates"
    return ["number", "client.number", IGNORE], "the number of the visit, or of the client"


def _hits(field: str, column: Column, terms: Terms | None) -> str:
    found = find_field(sided(field), "visit")
    kind = term_kind(found, terms) if found else ""
    if not kind or terms is None:
        return ""
    known = sum(n for cell, n in column.cells.items() if terms.find(kind, cell))
    return f"; {known} of {column.filled} cells are words known there" if known else ""
