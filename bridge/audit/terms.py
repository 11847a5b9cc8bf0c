"""Local words and what they were coded as, in a table that has a bound."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from bridge.audit.item_rules import Looked
from bridge.audit.measures import consistency, entropy
from bridge.audit.shapes import CodeUse, Entry, Item, TermUse
from bridge.audit.tables import Code
from bridge.fhir.systems import OWN
from bridge.issues import Where

MOST_TERMS = 20_000
MOST_CODES = 24
"""Codes of one term that are told apart; the rest counts as one."""
MOST_CODERS = 200
MOST_PLACES = 200_000
"""Places of all terms together that are kept as evidence."""
OTHER: Code = ("", "other")


@dataclass(slots=True)
class Use:
    """One code of one term."""

    count: int = 0
    code: Code = OTHER
    """As it was written first."""
    display: str = ""
    meant: str = ""
    kept_apart: bool = False
    """Whether our own code stands beside it, which keeps the meaning of the words."""
    places: list[Where] = field(default_factory=list)
    """The first ones, as many as evidence is kept."""
    records: int = 0
    last: int = -1


@dataclass(slots=True)
class Term:
    kind: str
    folded: str
    spellings: Counter[str] = field(default_factory=Counter)
    count: int = 0
    due: int = 0
    meant: str = ""
    about: str = ""
    uses: dict[Code | None, Use] = field(default_factory=dict)
    coders: dict[tuple[str, Code], int] = field(default_factory=dict)

    def coded(self) -> dict[Code, Use]:
        """Uses under a code, most used first."""
        found = {code: use for code, use in self.uses.items() if code is not None}
        return dict(sorted(found.items(), key=lambda one: (-one[1].count, one[0])))

    def told(self) -> TermUse:
        codes = tuple(CodeUse(*use.code, use.display, use.count) for use in self.coded().values())
        counts = [one.count for one in codes]
        share, bits = consistency(counts), entropy(counts)
        text = min(self.spellings.items(), key=lambda one: (-one[1], one[0]))[0] if self.spellings else self.folded
        return TermUse(self.kind, text, self.count, codes, 1.0 if share is None else share, bits or 0.0, self.about)


class Terms:
    """Takes items, and keeps the terms that are used most; those used once are let go when there are too many."""

    def __init__(self, evidence: int) -> None:
        self._evidence = evidence
        self._places_left = max(MOST_PLACES, evidence)
        self.terms: dict[tuple[str, str, str, str], Term] = {}
        self.let_go = 0
        """How many terms were let go, so that counts of rare words are approximate."""

    def take(self, item: Item, looked: Looked, nth: int, entry: Entry) -> None:
        """`nth`: of the record, so that one with the same words twice counts once."""
        main, code, key = looked.main, looked.code, looked.term
        term = self.terms.get(key)
        if term is None:
            if len(self.terms) >= MOST_TERMS:
                self._prune()
            term = self.terms[key] = Term(*key[:2], meant=item.meant, about=" ".join(filter(None, key[2:])))
        term.count += 1
        term.due += item.due
        if item.text in term.spellings or len(term.spellings) < 8:
            term.spellings[item.text] += 1
        use = term.uses.get(code)
        if use is None:
            if len(term.uses) >= MOST_CODES:
                code = OTHER
            kept_apart = any(coding.system == OWN for coding in item.codings)
            made = Use(meant=item.meant, kept_apart=kept_apart)
            if main is not None and code != OTHER:
                made.code, made.display = (main.system, main.code), main.display or ""
            use = term.uses.setdefault(code, made)
        use.count += 1
        if use.last != nth:
            use.last = nth
            use.records += 1
            if len(use.places) < self._evidence and self._places_left:
                self._places_left -= 1
                use.places.append(entry.at(item.path))
        if entry.practitioner and code is not None:
            who = (entry.practitioner, code)
            if who in term.coders or len(term.coders) < MOST_CODERS:
                term.coders[who] = term.coders.get(who, 0) + 1

    def _prune(self) -> None:
        rare = [key for key, term in self.terms.items() if term.count == 1]
        least = 1
        while len(rare) < MOST_TERMS // 10:
            least += 1
            rare = [key for key, term in self.terms.items() if term.count <= least]
        for key in rare:
            del self.terms[key]
        self.let_go += len(rare)

    def by_use(self) -> Iterator[Term]:
        yield from sorted(self.terms.values(), key=lambda one: (-one.count, one.kind, one.folded))
