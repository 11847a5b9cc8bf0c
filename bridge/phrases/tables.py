"""The word lists behind the phrases, from `mappings/words/`, read once."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Literal

from bridge.data import load_csv, table_path
from bridge.ear_words import Assertion, Ear

Position = Literal["before", "after", "either"]
_PLAIN = str.maketrans("’‘“”–—−？\u00a0", "''\"\"---? ")


def tidy(text: str) -> str:
    """The text with plain quotes and dashes and single blanks; capitals stay."""
    return " ".join(text.translate(_PLAIN).split())


@dataclass(frozen=True, slots=True)
class SideWord:
    word: str
    ears: tuple[Ear, ...]
    exact: bool


@dataclass(frozen=True, slots=True)
class Ambiguous:
    """Shorthand with two readings. `about`: side, diagnosis or other."""

    word: str
    about: str
    reason: str
    pattern: re.Pattern[str]


@dataclass(frozen=True, slots=True)
class Qualifier:
    words: str
    assertion: Assertion
    position: Position
    kinds: frozenset[str] = frozenset()
    """Kinds of terms in which alone the words qualify; empty: everywhere."""
    but: frozenset[str] = frozenset()
    """Kinds of terms in which they do not."""


def whole(word: str, *, exact: bool, start: bool = False) -> re.Pattern[str]:
    """Matches a word or words standing alone, or as the start of a word."""
    body = r"\s+".join(re.escape(part) for part in word.split())
    after = r"\w*" if start else r"(?![\w/'-])" if not word.endswith(":") else ""
    return re.compile(rf"(?<![\w/'-]){body}{after}", 0 if exact else re.IGNORECASE)


@cache
def sides() -> tuple[SideWord, ...]:
    """Side words, longest first."""
    both: tuple[Ear, ...] = ("right", "left")
    ears: dict[str, tuple[Ear, ...]] = {"right": ("right",), "left": ("left",), "both": both}
    rows = load_csv(table_path("words", "sides.csv"))
    found = (SideWord(r["word"], ears[r["ears"]], r["matched"] == "exact") for r in rows)
    return tuple(sorted(found, key=lambda s: -len(s.word)))


@cache
def ambiguous() -> tuple[Ambiguous, ...]:
    return tuple(
        Ambiguous(r["word"], r["about"], r["reason"], whole(r["word"], exact=r["matched"] == "exact"))
        for r in load_csv(table_path("words", "ambiguous.csv"))
    )


@cache
def qualifiers(kind: str = "") -> tuple[Qualifier, ...]:
    """Words that deny, doubt or date a term of a kind, or any term, longest first."""
    return tuple(q for q in _qualifiers() if (not q.kinds or kind in q.kinds) and kind not in q.but)


@cache
def _qualifiers() -> tuple[Qualifier, ...]:
    found: list[Qualifier] = []
    for row in load_csv(table_path("words", "qualifiers.csv")):
        assertion: Assertion = row["assertion"]  # type: ignore[assignment] # the table's test holds its values
        position: Position = row["position"]  # type: ignore[assignment]
        kinds, but = frozenset(row["kinds"].split()), frozenset(row["not_kinds"].split())
        found += (Qualifier(words, assertion, position, kinds, but) for words in row["words"].split("|"))
    return tuple(sorted(found, key=lambda q: -len(q.words)))


@cache
def amounts() -> tuple[str, ...]:
    """Words for how much, longest first."""
    return tuple(sorted((r["word"] for r in load_csv(table_path("words", "amounts.csv"))), key=lambda w: -len(w)))


@cache
def watched() -> re.Pattern[str]:
    """One pattern for every watched word; the longest wins where two begin together."""
    rows = sorted(load_csv(table_path("words", "watched.csv")), key=lambda r: -len(r["word"]))
    return _one_of(whole(r["word"], exact=r["matched"] == "exact", start=r["matched"] == "start") for r in rows)


@cache
def watched_firsts() -> tuple[frozenset[str], tuple[str, ...]]:
    """The first words of the watched ones in small letters, and the beginnings that longer words may have."""
    rows = list(load_csv(table_path("words", "watched.csv")))
    firsts = frozenset(re.split(r"[\W_]+", r["word"].casefold())[0] for r in rows)
    return firsts, tuple(r["word"].casefold() for r in rows if r["matched"] == "start")


def _one_of(patterns: Iterable[re.Pattern[str]]) -> re.Pattern[str]:
    return re.compile("|".join(f"(?i:{p.pattern})" if p.flags & re.IGNORECASE else p.pattern for p in patterns))


@cache
def role(name: str) -> frozenset[str]:
    """The words with a role (`clause`, `state`, `bare`, `seen`, `ear`, `elsewhere`, ...), in small letters."""
    for row in load_csv(table_path("words", "roles.csv")):
        if row["role"] == name:
            return frozenset(row["words"].split("|"))
    raise KeyError(name)
