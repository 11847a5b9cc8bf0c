"""Addresses, and names of clinics and practices: which of their words tell who somebody is, and which only together.

"14 Green End" is known again as a phrase, and "green" or "end" alone tells of nobody.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from functools import cache
from itertools import pairwise

from bridge.data import load_csv, table_path

WORD = re.compile(r"[^\W_]+")
_BETWEEN = re.compile(r"[ \t\r\n,.’'-]{1,3}\Z")
_SHORTEST = 3
"""Letters of a word of an address that is looked for alone."""


def plain(word: str) -> str:
    """A word without capitals and accents."""
    apart = unicodedata.normalize("NFKD", word.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


class Places:
    """What was learnt of places. `trade`: words of the trade's own lists, plain."""

    def __init__(self, trade: frozenset[str] = frozenset()) -> None:
        self._trade = trade
        self.words: set[str] = set()
        """Words that tell of a place alone."""
        self._phrases: dict[str, set[tuple[tuple[str, ...], bool]]] = defaultdict(set)

    def learn(self, text: str, what: str) -> None:
        """`what`: `address`, a line that is known in small letters too; `place`, a clinic's name, which is known where
        it is written as a name if all its words are of the trade, as is an address of one such word; `told`, which may
        be nobody's name ("family doctor")."""
        words = tuple(plain(word) for word in WORD.findall(text) if not word.isdigit())
        telling = [word for word in words if not self._common(word)]
        self.words.update(telling)
        if len(telling) < len(words) and (telling or what != "told"):
            self._phrases[words[0]].add((words, len(words) > 1 and (what == "address" or bool(telling))))

    def spans(self, text: str) -> list[tuple[int, int]]:
        """Where phrases stand in a text, the longest at each place."""
        found = list(WORD.finditer(text)) if self._phrases else []
        words = [plain(word[0]) for word in found]
        spans: list[tuple[int, int]] = []
        at = 0
        while at < len(found):
            length = max(
                (len(p) for p, any_case in self._at(words[at]) if self._is(p, any_case, at, words, found)), default=0
            )
            if length:
                spans.append((found[at].start(), found[at + length - 1].end()))
            at += length or 1
        return spans

    def _at(self, word: str) -> set[tuple[tuple[str, ...], bool]]:
        return self._phrases.get(word, set())

    def _is(
        self, phrase: tuple[str, ...], any_case: bool, at: int, words: list[str], found: list[re.Match[str]]
    ) -> bool:
        end = at + len(phrase)
        if tuple(words[at:end]) != phrase:
            return False
        here = found[at:end]
        if any(not _BETWEEN.match(a.string, a.end(), b.start()) for a, b in pairwise(here)):
            return False
        return any_case or all(m[0][0].isupper() for m in here if len(m[0]) >= _SHORTEST)

    def _common(self, word: str) -> bool:
        if any(sign.isdigit() for sign in word):
            return False
        return len(word) < _SHORTEST or word in self._trade or word in _everybodys()


@cache
def _everybodys() -> frozenset[str]:
    return frozenset(row["word"] for row in load_csv(table_path("deidentify", "common-words.csv")))
