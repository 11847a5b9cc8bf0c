"""The tables behind drafting, read once: headings in several languages, their sides and stages, words of cells."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from bridge.data import load_csv, table_path

_LETTERS = str.maketrans({"ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th"})
LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pt", "pl", "sv", "da")


def plain(text: str) -> str:
    """Small letters without accents, single blanks; signs stay."""
    bare = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    return " ".join("".join(c for c in bare if not unicodedata.combining(c)).split())


def cell_key(text: str) -> str:
    """A cell as it is looked up: `o.B.`, `O.B` and `ob` are one; a cell of signs only stays as it is."""
    bare = plain(text)
    if not any(c.isalnum() for c in bare):
        return bare
    return " ".join(re.sub(r"[^\w+%]", " ", bare.replace(".", "")).split())


def tokens(text: str) -> tuple[str, ...]:
    """The words of a heading: `birthDate`, `birth_date` and `Birth date (d.m.y)` begin alike."""
    text = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z]{2})", " ", re.sub(r"\b[Øø]\b|⌀", " ", text))
    text = re.sub(r"\bleft[ _-]?(over|behind)s?\b", "leftover", text, flags=re.IGNORECASE)
    text = re.sub(r"(?<![^\W\d_])([^\W\d_])\.(?=[^\W\d_]\b)", r"\1", text)
    return tuple(re.sub(r"[^\w%#]|_", " ", plain(text)).replace("%", " percent ").split())


@dataclass(frozen=True, slots=True)
class HeadingWord:
    """What a heading means in one language."""

    fields: tuple[str, ...]
    language: str
    needs: str


@dataclass(frozen=True, slots=True)
class Part:
    """A word of a heading that names an ear or a stage, or that adds nothing."""

    part: str
    language: str
    twin: str


@cache
def heading_words() -> dict[tuple[str, ...], tuple[HeadingWord, ...]]:
    found: dict[tuple[str, ...], list[HeadingWord]] = {}
    for row in load_csv(table_path("words", "headings.csv")):
        word = HeadingWord(tuple(row["field"].split()), row["language"], row["needs"])
        for text in row["words"].split("|"):
            known = found.setdefault(tokens(text), [])
            if word not in known:
                known.append(word)
    return {key: tuple(words) for key, words in found.items()}


@cache
def loose_headings() -> dict[str, tuple[str, ...]]:
    """Headings with umlauts written out or not, to the key they have in the table."""
    return {loose(key): key for key in reversed(list(heading_words()))}


def loose(key: tuple[str, ...]) -> str:
    """The key without blanks, umlauts as one letter."""
    return re.sub(r"([aou])e", r"\1", "".join(key))


@cache
def heading_parts() -> dict[tuple[str, ...], tuple[Part, ...]]:
    found: dict[tuple[str, ...], list[Part]] = {}
    for row in load_csv(table_path("words", "headings-parts.csv")):
        for text in row["words"].split("|"):
            found.setdefault(tokens(text), []).append(Part(row["part"], row["language"], row["twin"]))
    return {key: tuple(parts) for key, parts in found.items()}


@cache
def vocabulary() -> dict[str, frozenset[str]]:
    """Words of three letters and more in headings, with the languages that have them."""
    found: dict[str, set[str]] = {}
    for key, words in heading_words().items():
        for token in key:
            if len(token) > 2:
                found.setdefault(token, set()).update(w.language for w in words)
    for key, parts in heading_parts().items():
        for part in parts:
            if part.language and len(key[0]) > 2:
                found.setdefault(key[0], set()).add(part.language)
    return {token: frozenset(languages) for token, languages in found.items()}


@cache
def cell_meanings(field: str) -> dict[str, tuple[tuple[str, str], ...]]:
    """Plain word to what it means in a field, with the language, for one group of `headings-words.csv`."""
    found: dict[str, list[tuple[str, str]]] = {}
    for row in load_csv(table_path("words", "headings-words.csv")):
        if row["field"] == field:
            for word in row["words"].split("|"):
                found.setdefault(cell_key(word), []).append((row["means"], row["language"]))
    return {word: tuple(meanings) for word, meanings in found.items()}


@cache
def written(field: str) -> frozenset[str]:
    """The words of one group as the table writes them, signs and all."""
    rows = load_csv(table_path("words", "headings-words.csv"))
    return frozenset(plain(w) for row in rows if row["field"] == field for w in row["words"].split("|"))


@cache
def words_abroad() -> dict[str, tuple[tuple[str, str], ...]]:
    """Plain word of a cell to the languages that have it and the kind of column it belongs to."""
    found: dict[str, list[tuple[str, str]]] = {}
    for row in load_csv(table_path("words", "cells-abroad.csv")):
        for word in row["words"].split("|"):
            found.setdefault(cell_key(word), []).append((row["language"], row["kind"]))
    return {word: tuple(kinds) for word, kinds in found.items()}


@cache
def given_names() -> frozenset[str]:
    return frozenset(n for row in load_csv(table_path("words", "headings-names.csv")) for n in row["words"].split("|"))


def windows(key: tuple[str, ...], longest: int = 4) -> Iterator[tuple[int, int]]:
    """Every run of words, longest first."""
    for size in range(min(longest, len(key)), 0, -1):
        yield from ((at, at + size) for at in range(len(key) - size + 1))
