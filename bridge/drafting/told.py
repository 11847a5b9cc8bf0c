"""The draft for the terminal, as a table of 80 columns, and for programs."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from bridge.drafting.gaps import letter_gaps
from bridge.drafting.plain_names import field_name
from bridge.drafting.questions import Question, open_questions
from bridge.drafting.shapes import ASK, Draft, Guess

WIDTHS = (20, 24, 6, 24)
"""Column, what it becomes, how sure, why."""


def as_lines(draft: Draft) -> Iterator[str]:
    """The table, and below it what is open."""
    yield f"Rows: one row per {draft.rows}" if draft.rows != ASK else "Rows: your answer is needed"
    yield from wrap(f"  ({draft.rows_why})", 80, subsequent_indent="  ")
    for told in draft.sheet.joined:
        yield from wrap(f"Tables joined, {told}", 80, subsequent_indent="  ")
    dates = ", ".join(draft.dates) or "none found"
    asked = f"; open: {' or '.join(draft.date_choices)}" if draft.date_choices else ""
    yield from wrap(f"Dates: {dates}{asked}", 80, subsequent_indent="  ")
    yield ""
    yield from table(("Column", "Becomes", "Sure", "Why"), WIDTHS)
    yield "  ".join("-" * width for width in WIDTHS)
    for guess in draft.guesses:
        yield from table((guess.heading, becomes(guess, draft), guess.sure, guess.why), WIDTHS)
    gaps = [f"For letters, no column gives {told}." for told in letter_gaps(draft)]
    for told in (*(f"No column gives {m}." for m in draft.missing), *gaps, *draft.sheet.remarks):
        yield from wrap(told, 80)


def becomes(guess: Guess, draft: Draft) -> str:
    if guess.field == ASK:
        return "? " + " / ".join(field_name(f, draft.rows) for f in guess.options[:3])
    told = field_name(guess.field, draft.rows)
    extras = [value for name, value in guess.settings.items() if name in ("unit", "scale") and value != ASK]
    return told + (f" ({', '.join(extras)})" if extras else "")


def table(cells: tuple[str, ...], widths: tuple[int, ...]) -> Iterator[str]:
    """One row of a table, its cells wrapped."""
    columns = [wrap(cell, width) or [""] for cell, width in zip(cells, widths, strict=True)]
    for at in range(max(map(len, columns))):
        parts = [(c[at] if at < len(c) else "").ljust(w) for c, w in zip(columns, widths, strict=True)]
        yield "  ".join(parts).rstrip()


def as_data(draft: Draft, *, samples: bool = False) -> dict[str, Any]:
    """The draft as plain data. Cells of a client's name, numbers and the like only with `samples`."""
    return {
        "rows": draft.rows,
        "language": draft.language,
        "dates": draft.dates,
        "date_choices": draft.date_choices,
        "joined": list(draft.sheet.joined),
        "missing": draft.missing,
        "missing_for_letters": letter_gaps(draft),
        "remarks": draft.sheet.remarks,
        "columns": [_column(g, draft, samples) for g in draft.guesses],
        "questions": [_question(q, samples) for q in open_questions(draft)],
    }


def _column(guess: Guess, draft: Draft, samples: bool) -> dict[str, Any]:
    data: dict[str, Any] = {
        "heading": guess.heading,
        "field": guess.field,
        "becomes": becomes(guess, draft),
        "sure": guess.sure,
        "why": guess.why,
        "options": guess.options,
        "settings": guess.settings,
        "words": guess.words,
    }
    return data | ({"samples": list(guess.column.cells)[:3]} if samples else {})


def _question(question: Question, samples: bool) -> dict[str, Any]:
    data: dict[str, Any] = {
        "about": question.about,
        "column": question.heading,
        "question": question.text,
        "answers": [value for value, _ in question.answers],
    }
    return data | ({"samples": list(question.samples)} if samples else {})
