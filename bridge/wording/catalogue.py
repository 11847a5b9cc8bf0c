"""Loads the catalogue of a language from `mappings/wording/<language>/`."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from bridge.data import load_csv, table_path

ENGLISH = "en"


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """The words of one language by key. One object for each language, so that it can be the key of a cache."""

    tag: str
    """Language tag by BCP 47, without the region."""
    name: str
    reviewed: bool
    """Whether somebody who speaks the language and knows the trade has read it; else each page says so, and nothing
    written in it can be approved."""
    words: Mapping[str, str]
    endings: tuple[str, ...] = ()
    """What a label may add to a local word and still be the same word: `redness` to `red`."""
    point: str = "."
    """The decimal sign."""


@cache
def languages() -> dict[str, dict[str, str]]:
    """The rows of the list of languages, by tag."""
    return {row["tag"]: row for row in load_csv(table_path("wording", "languages.csv"))}


@cache
def catalogue(tag: str) -> Catalogue:
    """The catalogue of a language. Raises KeyError for a language that is not listed."""
    row, words = languages()[tag], dict[str, str]()
    for file in sorted(table_path("wording", tag).glob("*.csv")):
        words |= _words(file)
    return Catalogue(tag, row["name"], row["reviewed"] == "yes", words, tuple(row["endings"].split()), row["point"])


def _words(file: Path) -> dict[str, str]:
    """Keys and words of one table. Each letter waits for this, so rows are taken as they are; tests hold their form."""
    lines = file.read_text(encoding="utf-8").split("\n")
    rows = csv.reader(line for line in lines if line[:1] not in ("#", ""))
    next(rows)
    return dict(rows)


def for_tag(tag: str) -> Catalogue:
    """The catalogue for a document's language tag (`en-GB`); English for a language that has none."""
    language = tag.partition("-")[0].lower()
    return catalogue(language if language in languages() else ENGLISH)


@cache
def in_any_language(key: str) -> frozenset[str]:
    """The words of a key in every language, by which a text of ours is known again."""
    return frozenset(catalogue(tag).words[key] for tag in languages())
