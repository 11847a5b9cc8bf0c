"""Reads one filled sheet, however it came back: half-filled, columns moved, lines sorted, doubled or taken out."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from bridge.audit.sample.key import Given, Key, Listed
from bridge.issues import Issue, Where, issue
from bridge.phrases.fold import fold
from bridge.recoding import (
    ANSWERS,
    CANNOT_TELL,
    EAR,
    EARS_MEANT,
    HEADINGS,
    LINE,
    MEANING,
    NONE_FITS,
    OTHER,
    SAID,
    SAYINGS,
    WORDS,
)

MOST_STRANGE = 200
"""Rows that are none of the sheet or stand there again; a sheet with more of them is not read any further."""
LONGEST = 300
"""Letters of a cell that are read."""
_NEUTRAL = re.compile(r"'(?=[=+\-@\t])")
"""The apostrophe that was put before what a spreadsheet program would run."""
_LIKE = 0.75


@dataclass(frozen=True, slots=True)
class Answer:
    """What one coder says of one line. Neither a meaning nor `none_fits`: they cannot tell."""

    where: Where
    meaning: Listed | None = None
    none_fits: bool = False
    assertion: str = ""
    """As a record has it; empty where they do not say."""
    ear: str = ""
    """The other ear that the words name; empty where they name none."""

    @property
    def says(self) -> tuple[str, bool, str, str]:
        """All of it but its place."""
        return self.meaning.concept if self.meaning else "", self.none_fits, self.assertion, self.ear

    @property
    def tells(self) -> bool:
        return self.meaning is not None or self.none_fits


@dataclass(slots=True)
class Filled:
    """The answers of one coder by line, and what is wrong with their sheet."""

    coder: str
    answers: dict[str, Answer] = field(default_factory=dict)
    issues: list[Issue] = field(default_factory=list)


def read_filled(
    key: Key, coder: str, headings: Sequence[str], rows: Iterable[tuple[int, Sequence[str]]], file: str, sheet: str = ""
) -> Filled | None:
    """What one table says. None where it is no sheet of lines at all: it lacks a column that nothing goes without."""
    columns = {name: at for name in HEADINGS for at, found in enumerate(headings, 1) if fold(found) == fold(name)}
    if LINE not in columns or MEANING not in columns:
        return None
    reader = _Reader(key, columns, file, sheet)
    filled = Filled(coder)
    filled.issues += reader.missing_columns()
    found: dict[str, list[Answer]] = {}
    empty: dict[str, int] = {}
    strange = 0
    for number, cells in rows:
        said = {name: _text(cells, at) for name, at in columns.items()}
        if not any(said.values()):
            continue
        given = reader.lines.get(said[LINE].casefold())
        strange += given is None or given.line in found or given.line in empty
        if strange > MOST_STRANGE:
            filled.issues.append(reader.too_strange(number))
            break
        if given is None:
            filled.issues.append(reader.stranger(number, said[LINE]))
        elif changed := reader.changed(given, said, number):
            filled.issues.append(changed)
            empty.setdefault(given.line, number)
        elif not any(said.get(name) for name in ANSWERS):
            empty.setdefault(given.line, number)
        else:
            answer, issues = reader.answer(given, said, number)
            filled.issues += issues
            found.setdefault(given.line, [])
            if answer:
                found[given.line].append(answer)
    filled.answers, twice = _once(found)
    filled.issues += [*twice, *reader.left_open(filled, found, empty)]
    return filled


def _text(cells: Sequence[str], at: int) -> str:
    if at > len(cells):
        return ""
    return " ".join(_NEUTRAL.sub("", cells[at - 1].strip()[:LONGEST], count=1).split())


def _once(found: Mapping[str, list[Answer]]) -> tuple[dict[str, Answer], list[Issue]]:
    """Each line's answer where all that stand in the sheet say the same; an issue for each line that stands twice."""
    answers, issues = dict[str, Answer](), list[Issue]()
    for line, several in found.items():
        if len({answer.says for answer in several}) > 1:
            for answer in several:
                told = "This line stands in the sheet more than once, with answers that differ."
                issues.append(issue("A204", told, answer.where, cause=f"A204:{line}"))
        elif several:
            answers[line] = several[0]
            for answer in several[1:]:
                told = "This line stands in the sheet more than once, with the same answer."
                issues.append(issue("A205", told, answer.where, cause=f"A205:{line}"))
    return answers, issues


class _Reader:
    """One sheet with its columns; makes answers and says what is wrong, each at its cell."""

    def __init__(self, key: Key, columns: Mapping[str, int], file: str, sheet: str) -> None:
        self.key = key
        self.columns = columns
        self.file, self.sheet = file, sheet
        self.lines = {given.line.casefold(): given for given in key.lines}

    def where(self, row: int | None = None, heading: str = "") -> Where:
        column = self.columns.get(heading)
        return Where(self.file, self.sheet, row, column, heading if column else "")

    def missing_columns(self) -> Iterator[Issue]:
        for name in HEADINGS:
            if name not in self.columns:
                told = f"The sheet has no column “{name}” any more; nothing is known from it."
                yield issue("A203", told, self.where(), cause=f"A203:{name}")

    def stranger(self, row: int, line: str) -> Issue:
        told = (
            "This row has no line number." if not line else "This row's line is none of the sheet that the key is of."
        )
        return issue("A201", told, self.where(row, LINE), cause=f"A201:{self.file}")

    def too_strange(self, row: int) -> Issue:
        told = f"More than {MOST_STRANGE} rows are none of this sheet or stand there again; what follows was not read."
        return issue("A201", told, self.where(row, LINE), cause=f"A201:{self.file}:more")

    def changed(self, given: Given, said: Mapping[str, str], row: int) -> Issue | None:
        """The words of a line are not those that were given out, so that its answer is one to something else."""
        if WORDS not in said or fold(said[WORDS]) == fold(given.words):
            return None
        told = "The words of this line are not those that were given out; its answer is not counted."
        return issue("A202", told, self.where(row, WORDS), cause=f"A202:{self.file}")

    def answer(self, given: Given, said: Mapping[str, str], row: int) -> tuple[Answer | None, list[Issue]]:
        """The answer of a line, None where a part of it cannot be read."""
        issues: list[Issue] = []
        asked, meaning, none_fits = said[MEANING], None, False
        if fold(asked) == fold(NONE_FITS):
            none_fits = True
        elif asked and fold(asked) != fold(CANNOT_TELL):
            meaning = self._meaning(given.kind, asked)
            if meaning is None:
                issues.append(self._on_no_list(row, MEANING, [c.shown for c in self.key.choices[given.kind]], asked))
        elif not asked:
            told = "There are words or choices beside an empty meaning."
            issues.append(issue("A210", told, self.where(row, MEANING), cause=f"A210:{self.file}"))
        said_as = fold(said.get(SAID, ""))
        if said_as and said_as not in SAYINGS:
            issues.append(self._on_no_list(row, SAID, list(SAYINGS), said_as))
        ear = fold(said.get(EAR, ""))
        if ear and ear not in EARS_MEANT:
            issues.append(self._on_no_list(row, EAR, list(EARS_MEANT), ear))
        if issues:
            return None, issues
        if bool(said.get(OTHER)) != none_fits and OTHER in said:
            which = "is “other” without saying what" if none_fits else "is chosen, and something else is said beside it"
            told = f"The meaning {which}."
            issues.append(issue("A210", told, self.where(row, OTHER), cause=f"A210:{self.file}:{none_fits}"))
        assertion = SAYINGS.get(said_as, "")
        return Answer(self.where(row, MEANING), meaning, none_fits, assertion, ear), issues

    def _meaning(self, kind: str, asked: str) -> Listed | None:
        listed = self.key.choices.get(kind, ())
        return next((c for c in listed if fold(c.shown) == fold(asked)), None)

    def _on_no_list(self, row: int, heading: str, options: Sequence[str], asked: str) -> Issue:
        near = get_close_matches(asked.casefold()[:100], options, 3, _LIKE)
        hint = f" Near it: {', '.join(f'“{one}”' for one in near)}." if near else ""
        told = f"What stands here is none of the answers of its list.{hint}"
        return issue("A206", told, self.where(row, heading), cause=f"A206:{heading}")

    def left_open(self, filled: Filled, found: Mapping[str, object], empty: Mapping[str, int]) -> Iterator[Issue]:
        """How many lines nobody answered, and how many are no longer there."""
        number = len(self.key.lines)
        if left := [row for line, row in empty.items() if line not in found]:
            told = f"{len(left)} of {number} lines have no answer that counts; the first is in row {min(left)}."
            yield issue("A207", told, self.where(min(left), MEANING), cause=f"A207:{filled.coder}")
        if gone := number - len({*found, *empty}):
            told = f"{gone} of {number} lines are not in the sheet any more."
            yield issue("A208", told, self.where(), cause=f"A208:{filled.coder}")
