"""The sheet on which a practice says what its own words mean: its columns, and one line of it."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.issues import Where

FIELD, WORD, TIMES, FIRST = "Field", "Your word", "How often", "First place"
NEAR, READINGS, KIND = "Known words near it", "Why it is asked", "Kind"
MEANS, WHY, WHO, WHEN = "Means", "Why", "Who", "When"
HEADINGS = (FIELD, WORD, TIMES, FIRST, NEAR, READINGS, MEANS, WHY, WHO, WHEN, KIND)
ANSWERS = (MEANS, WHY, WHO, WHEN)
"""Columns that the practice fills."""
OWN_WORD = "own word"
"""What stands under "Means" where the practice keeps the word as a term of its own."""
HOW = (
    "Words of your records that got no code. Nothing is decided here but by you.",
    f"Under “{MEANS}” write a word that is known, a meaning from the sheet “Meanings”, or “{OWN_WORD}” to keep the word"
    " as your own term. Leave it empty where you do not want to decide.",
    f"Say under “{WHY}” on what ground, under “{WHO}” who decided, under “{WHEN}” the day (2026-05-03)."
    " Then run `visit-bridge terms adopt` with this file.",
)


@dataclass(frozen=True, slots=True)
class OpenWord:
    """A word without a code, in one kind of field, over all records."""

    kind: str
    """Of the term maps; empty for a word inside a longer text, which no answer can mend."""
    field: str
    word: str
    times: int
    first: Where
    near: tuple[str, ...] = ()
    readings: str = ""

    def cells(self) -> tuple[str | int, ...]:
        """The line under HEADINGS, its answers empty."""
        near = ", ".join(self.near)
        empty = ("",) * len(ANSWERS)
        return (self.field, self.word, self.times, str(self.first), near, self.readings, *empty, self.kind)


@dataclass(frozen=True, slots=True)
class WordsAsked:
    """All lines of the sheet."""

    words: tuple[OpenWord, ...] = ()
    meanings: tuple[tuple[str, str, str], ...] = ()
    """What words of these kinds of fields can mean: the field, the meaning, some words for it."""
    left_out: int = 0
    """Words that are not listed because they may tell who a client is."""
