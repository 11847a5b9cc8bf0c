"""Reads the sheet "Words" back, however a spreadsheet program has left it: columns moved or added, blank rows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from bridge.errors import InputError
from bridge.issues import Where
from bridge.phrases.fold import fold
from bridge.words_asked import FIELD, HEADINGS, KIND, MEANS, WHEN, WHO, WHY, WORD

LONGEST = 1_000
"""Letters of a cell that are read; a word or a meaning of this length is refused anyway."""
_NEEDED = (WORD, MEANS)
_NEUTRAL = re.compile(r"'(?=[=+\-@\t])")
"""The apostrophe that was put before what a spreadsheet program would run."""
_SLASHED = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})")
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?:[ T].*)?")
_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_NAMED = re.compile(r"(\d{1,2})[ .-]+([a-z]{3})[a-z]*[ .,-]+(\d{4})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Answer:
    """One row of the sheet in which something stands under "Means"."""

    where: Where
    columns: Mapping[str, int]
    """Column of each heading, from 1."""
    field: str
    kind: str
    word: str
    means: str
    why: str
    who: str
    when: str

    def at(self, heading: str) -> Where:
        """The cell of this row under a heading."""
        where, column = self.where, self.columns.get(heading)
        return Where(where.file, where.sheet, where.row, column, heading if column else "")


def known_answer_headings() -> frozenset[str]:
    """The sheet's headings as tables are searched for them."""
    return frozenset(" ".join(name.casefold().split()) for name in HEADINGS)


def read_answers(
    headings: Sequence[str], rows: Iterable[tuple[int, Sequence[str]]], file: str, sheet: str
) -> tuple[list[Answer], int]:
    """The rows with an answer, and how many words have none. InputError where this is no such sheet."""
    columns = {name: at for name in HEADINGS for at, found in enumerate(headings, 1) if fold(found) == fold(name)}
    if missing := [name for name in _NEEDED if name not in columns] + (
        [] if FIELD in columns or KIND in columns else [FIELD]
    ):
        raise InputError(
            f"{file} is no sheet of words: it has no column {', '.join(f'“{name}”' for name in missing)}.",
            "Make one with `visit-bridge check RECORDS --words FILE.csv`, and keep its headings.",
        )
    answers, empty = list[Answer](), 0
    for number, cells in rows:
        said = {name: _text(cells, at) for name, at in columns.items()}
        if not said[MEANS]:
            empty += bool(said[WORD] and (said.get(KIND) or said.get(FIELD)))
            continue
        where = Where(file, sheet, number)
        rest = (said.get(FIELD, ""), said.get(KIND, ""), said[WORD], said[MEANS])
        answers.append(Answer(where, columns, *rest, said.get(WHY, ""), said.get(WHO, ""), said.get(WHEN, "")))
    return answers, empty


def _text(cells: Sequence[str], at: int) -> str:
    if at > len(cells):
        return ""
    return " ".join(_NEUTRAL.sub("", cells[at - 1].strip()[:LONGEST], count=1).split())


def day_of(text: str) -> date | None:
    """A day that can be read in one way only, or None: 03/05/2026 is the third of May or the fifth of March."""
    try:
        if found := _ISO.fullmatch(text):
            return date(int(found[1]), int(found[2]), int(found[3]))
        if found := _NAMED.fullmatch(text):
            return date(int(found[3]), _MONTHS.index(found[2].lower()) + 1, int(found[1]))
        if found := _SLASHED.fullmatch(text):
            first, second, year = (int(part) for part in found.groups())
            if first == second or first > 12:
                return date(year, second, first)
            return date(year, first, second) if second > 12 else None
        return datetime.strptime(text, "%Y%m%d").date() if re.fullmatch(r"\d{8}", text) else None
    except ValueError:
        return None
