"""What the practice's word lists know of words in a field, kept for words that were met, up to a bound."""

from __future__ import annotations

from bridge.audit.visit_items import Due, Words
from bridge.coding import TermMaps
from bridge.nothing_words import answer_of
from bridge.phrases import qualifier

MOST = 10_000
_KINDS = {"Condition": "impression", "Procedure": "method", "AllergyIntolerance": "allergy"}
"""The kind of word that the code of a resource is, as the word lists divide them."""


class WordsKnown:
    def __init__(self, maps: TermMaps) -> None:
        self._maps = maps
        self._fields: dict[str, Due | None] = {}
        self._words: dict[tuple[str, str], Words] = {}

    def expects(self, kind: str) -> Due | None:
        """What a field expects; None where it holds no terms."""
        if kind not in self._fields:
            found = self._maps.kind_of(kind)
            self._fields[kind] = Due(not found.open, found.assertable) if found else None
        return self._fields[kind]

    def all_of(self, kind: str) -> dict[str, str]:
        """The folded words that a field knows, by the kinds in which it looks them up, each with its meaning."""
        found = self._maps.kind_of(kind)
        kinds = (found.name, *found.also) if found else ()
        return {w: c.code for name in reversed(kinds) for w, c in self._maps.words.get(name, {}).items()}

    def of(self, kind: str, text: str) -> Words:
        """What is known of words in a field of the visit."""
        known = self._words.get((kind, text))
        if known is None:
            found = self._maps.kind_of(kind)
            known = self._keep((kind, text), self._look_up(found.name if found else "", text))
        return known

    def sent(self, resource: str, text: str) -> Words:
        """What is known of words in a resource: by the kind of word that it holds most often, else a meaning only where
        all kinds give one and the same."""
        known = self._words.get((resource, text))
        if known is None:
            first = _KINDS.get(resource)
            found = self._maps.find(first, text) if first else None
            met = {found} if found else {one for kind in self._maps.kinds if (one := self._maps.find(kind, text))}
            codes = {one.code for one in met}
            said = qualifier(text, first or "") or ""
            known = self._keep((resource, text), Words(meant=codes.pop() if len(codes) == 1 else "", said=said))
        return known

    def _look_up(self, kind: str, text: str) -> Words:
        concept = self._maps.find(kind, text)
        nothing = bool(answer_of(kind, text) or answer_of("text", text))
        return Words(not nothing, concept.code if concept else "", qualifier(text, kind) or "")

    def _keep(self, key: tuple[str, str], words: Words) -> Words:
        if len(self._words) >= MOST:
            self._words.clear()
        self._words[key] = words
        return words
