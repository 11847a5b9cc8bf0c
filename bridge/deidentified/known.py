"""Which words and codes of a record are everybody's: the tables' words, and codes of published systems."""

from __future__ import annotations

import re
from functools import cache

from bridge.coding import TermMaps, fold
from bridge.coding.apply import find_term
from bridge.data import load_csv, table_path
from bridge.fhir.systems import OWN
from bridge.phrases import parse_phrase
from bridge.visit import Term

_WORD = re.compile(r"[^\W_]+")
_PUBLISHED = re.compile(r"[A-Z]?\d[\d.-]{0,17}")
"""How codes of SNOMED CT, LOINC and ICD-10 look."""


class Known:
    """Whether a term's words are the tables' own: as a whole, or as a short phrase of nothing but their words."""

    def __init__(self, maps: TermMaps) -> None:
        self._maps = maps
        self._memo: dict[tuple[str, str], bool] = {}
        self._words = {word for kind in maps.words.values() for words in kind for word in _WORD.findall(words)}

    def __call__(self, path: str, term: Term) -> bool:
        kind = self._maps.kind_of(path)
        if kind is None:
            return False
        at = (kind.name, term.text)
        if at not in self._memo:
            self._memo[at] = self._maps.find(*at) is not None or self._phrase(kind.name, term.text)
        return self._memo[at]

    def _phrase(self, kind: str, text: str) -> bool:
        phrase = parse_phrase(text, kind)
        if phrase is None or find_term(self._maps.kinds[kind], phrase.term, self._maps) is None:
            return False
        return all(word in self._words or word in _qualifying() for word in _WORD.findall(fold(text)))


@cache
def _qualifying() -> frozenset[str]:
    """The words of sides, denial, doubt and amounts (mappings/words)."""
    tables = ("sides.csv", "qualifiers.csv", "amounts.csv", "parts.csv", "roles.csv")
    folder = table_path("words")
    cells = (
        cell for name in tables if (folder / name).is_file() for row in load_csv(folder / name) for cell in row.values()
    )
    return frozenset(word for cell in cells for word in _WORD.findall(fold(cell)))


def trade_words(maps: TermMaps) -> frozenset[str]:
    """The words of the shipped tables, one by one; a practice's own words are not among them."""
    shipped = (words for kind in maps.words.values() for words, concept in kind.items() if concept.published)
    return frozenset(part for words in shipped for part in _WORD.findall(words)) | _qualifying()


class Shared:
    """Whether a code is one of the systems that everybody knows, or one of ours that a table has."""

    def __init__(self, maps: TermMaps) -> None:
        self._own = {concept.code for kind in maps.words.values() for concept in kind.values() if concept.published}
        self._systems = {row["uri"] for row in load_csv(table_path("systems.csv"))}

    def __call__(self, system: str, code: str) -> bool:
        if system == OWN:
            return code in self._own
        return system in self._systems and _PUBLISHED.fullmatch(code) is not None
