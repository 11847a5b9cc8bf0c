"""Which words the term maps know, by kind: for judging a text whole, never for giving it a meaning.

`own`: words of the practice's own, folded, by kind, besides the shipped ones.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from functools import cache
from types import MappingProxyType

from bridge.data import load_csv, table_path
from bridge.phrases.fold import fold
from bridge.phrases.tables import role

Own = Mapping[str, Container[str]]
NO_OWN: Own = MappingProxyType({})


def knows(kind: str, words: str, own: Own = NO_OWN) -> bool:
    """Whether the whole of the words is a term of a kind, or of one in which that kind looks as well."""
    key = fold(words)
    also = () if key in role("denial") else _also().get(kind, ())
    if any(_has(name, key, own) for name in (kind, *also)):
        return True
    return bool(bare := without_part(kind, words)) and _has(kind, bare, own)


def knows_itself(kind: str, words: str, own: Own = NO_OWN) -> bool:
    """Whether the whole of the words is a term of this very kind."""
    return _has(kind, fold(words), own) or (bool(bare := without_part(kind, words)) and _has(kind, bare, own))


def _has(kind: str, key: str, own: Own) -> bool:
    return key in _words().get(kind, ()) or key in own.get(kind, ())


def stands_for(kind: str, words: str) -> str:
    """The concept of the shipped maps that the whole of the words is in this very kind; empty where it is none."""
    return _words().get(kind, {}).get(fold(words), "")


def one_term(words: str) -> bool:
    """Whether several words are one term of findings, events or disorders that itself denies nothing."""
    return fold(words) in _terms()


def without_part(kind: str, words: str) -> str:
    """The words without the part of the ear that their kind is about anyway: "dull" of "TM dull", "dull drum"."""
    folded = fold(words)
    for part in _parts().get(kind, ()):
        if folded.startswith(f"{part} "):
            return folded[len(part) + 1 :]
        if folded.endswith(f" {part}"):
            return folded[: -len(part) - 1]
    return ""


@cache
def _parts() -> dict[str, tuple[str, ...]]:
    """Names of the drum and of the canal, longest first."""
    rows = {row["role"]: row["words"].split("|") for row in load_csv(table_path("words", "not-seen.csv"))}
    return {kind: tuple(sorted(map(fold, rows[kind]), key=lambda w: -len(w))) for kind in ("drum", "canal")}


@cache
def kind_of(path: str) -> str:
    """The kind of the words that a field holds, by its path without numbers (`before.drum`, `work.events`), or ""."""
    names = path.split(".")
    kinds = _fields()
    ends = (".".join(names[at:]) + inner for at in range(len(names)) for inner in _INNER)
    return next((kinds[end] for end in ends if end in kinds), "")


_INNER = ("", ".term", ".name", ".findings.term", ".items.term", ".items.name", ".amount")
"""Where inside a field its words stand: a list of findings holds terms, wax an amount."""


@cache
def _fields() -> dict[str, str]:
    rows = load_csv(table_path("terms", "kinds.csv"))
    return {field: row["kind"] for row in rows for field in row["fields"].split("|")}


@cache
def shipped_rows() -> tuple[tuple[str, dict[str, str]], ...]:
    """Every row of the shipped term maps with the name of its file. Raises MappingError."""
    paths = (path for path in sorted(table_path("terms").glob("*.csv")) if path.name != "kinds.csv")
    return tuple((path.name, row) for path in paths for row in load_csv(path))


@cache
def _words() -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for _, row in shipped_rows():
        words = found.setdefault(row["kind"], {})
        words |= dict.fromkeys(map(fold, row["words"].split("|")), row["concept"])
    return found


@cache
def _also() -> dict[str, tuple[str, ...]]:
    return {row["kind"]: tuple(row["also"].split()) for row in load_csv(table_path("terms", "kinds.csv"))}


@cache
def _terms() -> frozenset[str]:
    kinds = [row["kind"] for row in load_csv(table_path("terms", "kinds.csv")) if row["assertable"] == "yes"]
    denials = role("denial")
    return frozenset(
        words for kind in kinds for words in _words().get(kind, ()) if " " in words and not denials & set(words.split())
    )
