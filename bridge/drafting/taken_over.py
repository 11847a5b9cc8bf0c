"""What a layout that is there already says of the same sheet goes into a new draft of it as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bridge.drafting.clashes import field_of
from bridge.drafting.decide import fill_in, read_ways
from bridge.drafting.gaps import missing, needs_somebody
from bridge.drafting.named import usable
from bridge.drafting.shapes import ASK, BEFORE, IGNORE, Draft, Guess
from bridge.layout.tables import fold
from bridge.layout.targets import applies

_SETTINGS = ("list", "unit", "scale", "name", "optional", "blank")
_OPENED = ("sheet", "encoding", "delimiter", "heading_rows")
ENOUGH = 0.6
"""Share of the sheet's headings that a layout has to name, to be one of this sheet."""


def fits(layout: Any, headings: list[str]) -> float:
    """The share of a sheet's headings that a layout names."""
    known = {fold(h) for h in _table(_table(layout).get("columns"))}
    named = [h for h in headings if h]
    return sum(fold(h) in known for h in named) / len(named) if named else 0.0


def take_over(draft: Draft, layout: Mapping[str, Any]) -> Draft:
    """The draft with the layout's own lines in place of its guesses; what stands open there is guessed anew."""
    draft.own = dict(layout)
    if layout.get("rows") in ("visit", "ear"):
        draft.rows = layout["rows"]
    draft.sheet.settings |= {name: layout[name] for name in _OPENED if layout.get(name)}
    draft.constants = {str(k): str(v) for k, v in _table(layout.get("constants")).items() if usable(str(k), draft.rows)}
    words = _table(layout.get("words"))
    draft.kept_words = {p: {w: m for w, m in _table(t).items() if m != ASK} for p, t in words.items()}
    columns = {fold(h): said for h, said in _table(layout.get("columns")).items()}
    for guess in draft.guesses:
        if fold(guess.heading) in columns:
            _column(draft, guess, columns[fold(guess.heading)])
    read_ways(draft)
    _ways(draft, layout)
    for guess in draft.guesses:
        guess.words = {w: m for w, m in guess.words.items() if not _told(draft, guess, w)}
        guess.words |= {w: ASK for w in guess.column.cells if _told(draft, guess, w, open_ones=words)}
    draft.missing = missing(draft)
    return draft


def all_kept(draft: Draft) -> bool:
    """Whether the layout that is there already says everything that a draft would."""
    asked = any(ASK in (g.field, *g.settings.values(), *g.words.values()) for g in draft.guesses)
    open_ways = draft.date_choices or draft.blank_asked or ASK in (draft.rows, draft.two_digit_years)
    told = all(g.why == BEFORE for g in draft.guesses) and not needs_somebody(draft)
    return told and not asked and not open_ways


def _table(data: Any) -> dict[str, Any]:
    return data if isinstance(data, dict) else {}


def _column(draft: Draft, guess: Guess, said: Any) -> None:
    several = said if isinstance(said, list) else [said]
    specs = [{"to": one} if isinstance(one, str) else _table(one) for one in several]
    fields = [str(spec.get("to", ASK)) for spec in specs]
    if ASK in fields or not all(f == IGNORE or usable(f, draft.rows) for f in fields):
        return
    guess.field, guess.options, guess.sure, guess.why, guess.eye = fields[0], [], "sure", BEFORE, ""
    guess.others = tuple(fields[1:])
    guess.settings, guess.words, guess.kept = {}, {}, None
    if len(specs) > 1:
        guess.kept = said
    elif fields[0] != IGNORE:
        spec = specs[0]
        fill_in(draft, guess)
        guess.field = fields[0]
        said = {name: str(spec[name]) for name in _SETTINGS if name in spec}
        guess.settings = {name: value for name, value in said.items() if value != ASK or name in guess.choices}
        guess.words = {w: m for w, m in guess.words.items() if m != ASK} | _table(spec.get("words"))


def _ways(draft: Draft, layout: Mapping[str, Any]) -> None:
    """Dates, times, years and blank cells as the layout has them."""
    dates = layout.get("dates")
    if isinstance(dates, list) and dates and ASK not in dates:
        draft.dates, draft.date_choices, draft.dates_why = [str(d) for d in dates], [], BEFORE
    times = layout.get("times")
    if isinstance(times, list) and times:
        draft.times = [str(t) for t in times if t != ASK]
    if (years := layout.get("two_digit_years", ASK)) != ASK:
        draft.two_digit_years, draft.years_why = str(years), BEFORE
    blank = layout.get("blank_cells")
    if not isinstance(blank, list) or ASK not in blank:
        draft.blank_cells = [str(b) for b in blank or ()]
        draft.blank_asked = []


def _told(draft: Draft, guess: Guess, word: str, *, open_ones: Mapping[str, Any] | None = None) -> bool:
    """Whether the words that the layout keeps by pattern explain this one, or leave it open."""
    field = field_of(guess.field, draft.rows)
    tables = draft.kept_words if open_ones is None else open_ones
    return field is not None and any(
        fold(word) in {fold(w) for w, means in _table(table).items() if open_ones is None or means == ASK}
        for pattern, table in tables.items()
        if applies(pattern, field)
    )
