"""Puts the guesses of all columns together into one draft, in which no two columns want the same place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from bridge.drafting.clashes import field_of, share_lists, single
from bridge.drafting.dates import clock, first_year, read_date, ways, years
from bridge.drafting.ears import resolve, shape_of
from bridge.drafting.gaps import missing
from bridge.drafting.heading_key import codes_of
from bridge.drafting.headings import Said, read_headings
from bridge.drafting.offers import offered
from bridge.drafting.place import place
from bridge.drafting.settings import settle
from bridge.drafting.shapes import ASK, IGNORE, YOURS, Draft, Guess, Place, Sheet, Terms
from bridge.drafting.words import MARKS, closed, group_of, read_words
from bridge.layout import find_field
from bridge.layout.tables import fold

FEW_COLUMNS = 6
LONGEST = 200
"""Characters of a heading that a layout can name; YAML takes no very long ones."""
_FORMS = {
    "start.date": "dates near each other, and no other column gives the day of the visit",
    "client.birth_date": "dates that lie decades apart, and no other column gives birth dates",
    "start.time": "times of day, and no other column gives the time of the visit",
}
_RANKS = {"sure": 2, "likely": 1, "unsure": 0}


def draft_layout(sheet: Sheet, terms: Terms | None = None, *, latin: bool = False) -> Draft:
    """The proposed layout of a sheet whose rows were taken (`Sheet.take`).

    `latin`: the person said that AD, AS and the like mean ears in this sheet.
    """
    language, saids = read_headings(sheet.headings, latin=latin)
    sheet.remarks.clear()
    few = len([c for c in sheet.columns if c.filled]) <= FEW_COLUMNS
    dates = next((c for s, c in zip(saids, sheet.columns, strict=True) if "start" in s.fields), None)
    for column in sheet.columns:
        column.codes = codes_of(column.heading)[1]
    places = [place(s, c, few, language, terms, dates) for s, c in zip(saids, sheet.columns, strict=True)]
    _names_beside(places, saids)
    shape = shape_of(saids, places, sheet.columns, language)
    settled = [resolve(at, saids, p, sheet.columns[at], shape, places) for at, p in enumerate(places)]
    _one_column_each(settled, sheet)
    for at, found in enumerate(settled):
        found.fields = offered(found, saids[at], sheet.columns[at], language, terms, shape.rows)
    guesses = [_guess(sheet, at, found, saids[at]) for at, found in enumerate(settled)]
    draft = Draft(sheet, shape.rows, shape.why, language, [g for g in guesses if 0 < len(g.heading) <= LONGEST], terms)
    for guess in draft.guesses:
        fill_in(draft, guess)
    _alike(draft)
    _repeated_headings(draft)
    read_ways(draft)
    _marks(draft)
    share_lists(draft)
    draft.missing = missing(draft)
    return draft


def _guess(sheet: Sheet, at: int, found: Place, said: Said) -> Guess:
    column = sheet.columns[at]
    if not column.heading and column.filled:
        told = f"Column {at + 1} has no heading and {column.filled} filled cells; without a heading it is not read."
        sheet.remarks.append(told)
    found.fields = list(dict.fromkeys(found.fields))
    if len(column.heading) > LONGEST:
        sheet.remarks.append(f"Column {at + 1} has a heading of {len(column.heading)} characters; give it a short one.")
    asked = len(found.fields) > 1
    marks = ", ".join(m for m in (said.side_word and f"“{said.side_word}” is {said.side}", said.stage) if m)
    return Guess(
        column,
        ASK if asked else found.fields[0],
        found.sure,
        found.why,
        found.fields if asked else [],
        unit=said.unit,
        eye=said.side_word.upper() if said.side == "eye" else "",
        marks=marks,
    )


def _names_beside(places: list[Place], saids: Sequence[Said]) -> None:
    """“Name” beside “First name” is the family name; “Nombre” beside “Apellidos” the given one."""
    fields = [p.fields[0] for p in places]
    given, family, whole = "client.legal_name.given", "client.legal_name.family", "client.legal_name"
    for found, said in zip(places, saids, strict=True):
        if said.needs == "given-or-name" and family not in fields:
            found.fields, found.sure = ([whole], "likely")
        elif found.fields == [whole] and given in fields and family in fields:
            told = "first and last name have columns of their own"
            found.fields, found.sure, found.why = [IGNORE], "unsure", told
        elif found.fields == [whole] and given in fields:
            found.fields, found.sure, found.why = [family], "sure", "a name beside a column of given names"


def _one_column_each(places: list[Place], sheet: Sheet) -> None:
    """Of two columns that want a place for one, the better reason wins; where they are equal, both are asked."""
    wanted: dict[str, list[int]] = {}
    for at, found in enumerate(places):
        if len(found.fields) == 1 and sheet.columns[at].heading and (key := _single(found.fields[0])):
            wanted.setdefault(key, []).append(at)
    taken = set(wanted)
    for rivals in wanted.values():
        if len(rivals) < 2:
            continue
        score = {i: (places[i].rank, sheet.columns[i].filled > 0, _RANKS[places[i].sure]) for i in rivals}
        best = max(score.values())
        winners = [i for i in rivals if score[i] == best]
        for i in rivals:
            if len(winners) == 1 and i == winners[0]:
                continue
            if not sheet.columns[i].filled:
                places[i] = Place([IGNORE], "unsure", "empty, and another column gives the same", places[i].rank)
                continue
            others = [sheet.columns[o].heading for o in rivals if o != i]
            told = f"“{others[0]}” gives the same, and a visit has one place for it"
            places[i] = Place([places[i].fields[0], "note", IGNORE], "unsure", told, places[i].rank)
    for at, found in enumerate(places):
        if found.rank == 0 and len(found.fields) > 1 and found.fields[0] in _FORMS:
            first = found.fields[0]
            if first not in taken and (first != "start.date" or "start" not in taken):
                places[at] = Place([first], "likely", _FORMS[first], 0)
                taken.add(first)


def _single(path: str) -> str:
    """The place that only one column can fill; empty for lists, notes and what is left out."""
    field = field_of(path, "ear" if path.startswith("ear") else "visit")
    return path if field is not None and single(field) else ""


def _alike(draft: Draft) -> None:
    """What stands between several things in a column of one ear stands there in the other ear's too."""
    signs: dict[str, str] = {}
    for guess in draft.guesses:
        if sign := guess.settings.get("list"):
            signs.setdefault(_without_ear(guess.field), sign)
    for guess in draft.guesses:
        if guess.field.startswith(("right.", "left.")) and (sign := signs.get(_without_ear(guess.field))):
            guess.settings.setdefault("list", sign)


def _without_ear(path: str) -> str:
    return path.removeprefix("right.").removeprefix("left.")


def fill_in(draft: Draft, guess: Guess) -> None:
    """What the cells of a column say about how its field is to be read: settings, and words with their meanings."""
    guess.words, guess.meanings = {}, []
    if guess.field in (ASK, IGNORE):
        return
    if guess.field == "start" and guess.column.share(lambda c: bool((d := read_date(c)) and d.time)) < 0.5:
        guess.field = "start.date"
    field = find_field(guess.field, "ear" if draft.rows == "ear" else "visit")
    assert field is not None, guess.field
    settle(guess, field, guess.unit, draft.terms)
    if group_of(field):
        met = read_words(guess.column, field, draft.language, chosen=guess.why == YOURS)
        guess.words, guess.meanings = met.words, met.answers


def _repeated_headings(draft: Draft) -> None:
    """A heading that stands twice cannot be told apart by a layout."""
    counts = Counter(fold(g.heading) for g in draft.guesses)
    kept: dict[str, Guess] = {}
    for guess in draft.guesses:
        if counts[fold(guess.heading)] > 1:
            first = kept.setdefault(fold(guess.heading), guess)
            if guess.field != IGNORE or first.field != IGNORE:
                first.field, first.options, first.sure = ASK, [IGNORE], "unsure"
                first.why = f"this heading stands {counts[fold(guess.heading)]} times; give each its own in the sheet"
                first.words, first.settings = {}, {}
        else:
            kept[fold(guess.heading)] = guess
    draft.guesses = list(kept.values())


def read_ways(draft: Draft) -> None:
    """How dates and times are written, from all columns that hold some."""
    dated = [g for g in draft.guesses if _holds_dates(g, draft)]
    found = ways(g.column.cells for g in dated)
    if draft.sheet.typed and "yyyy-mm-dd" not in found.formats:
        found.formats.append("yyyy-mm-dd")
    draft.dates, draft.date_choices, draft.dates_why = found.formats, found.open, found.why
    forms = dict.fromkeys(found.times)
    for guess in draft.guesses:
        if guess.field.endswith((".time", "_at")) or guess.field == "approved.at":
            forms.update(dict.fromkeys(sorted({f for c in guess.column.cells if (f := clock(c))})))
    draft.times = list(forms)
    visits = next((g.column.cells for g in draft.guesses if g.field in ("start", "start.date")), Counter[str]())
    seen = [year + (2000 if short else 0) for year, short in years(visits)]
    draft.latest_year = max(seen, default=0)
    draft.two_digit_years = draft.years_why = ""
    if found.short_years:
        born = [g.column.cells for g in draft.guesses if g.field == "client.birth_date"]
        draft.two_digit_years, draft.years_why = first_year(draft.latest_year, born)
        draft.two_digit_years = draft.two_digit_years or ASK


def _holds_dates(guess: Guess, draft: Draft) -> bool:
    if guess.field in (ASK, IGNORE):
        return False
    field = find_field(guess.field, "ear" if draft.rows == "ear" else "visit")
    return field is not None and field.kind == "when" and field.part != "time"


def _marks(draft: Draft) -> None:
    """Signs that may say nothing; where they stand in a column of answers it is asked."""
    found: Counter[str] = Counter()
    doubtful: set[str] = set()
    for guess in draft.guesses:
        field = (
            find_field(guess.field, "ear" if draft.rows == "ear" else "visit")
            if guess.field not in (ASK, IGNORE)
            else None
        )
        for mark in MARKS & set(guess.column.cells):
            found[mark] += guess.column.cells[mark]
            if guess.field == ASK or (field is not None and (closed(field) or group_of(field) in ("part", "wax"))):
                doubtful.add(mark)
    for mark in sorted(found):
        (draft.blank_asked if mark in doubtful or mark == "?" else draft.blank_cells).append(mark)
