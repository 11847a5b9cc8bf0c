"""Counts what two editions make of visit after visit, in memory that does not grow with their number."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from bridge.audit.changes.judge import Known, Reading, state_of
from bridge.audit.changes.shapes import RULES, STATES, Changed, State, TermChange
from bridge.issues import Issue, Where, issue
from bridge.phrases.fold import fold

MOST = 5_000
"""Words that are listed one by one."""
PLACES = 3
NUMBERS = 50


@dataclass(frozen=True, slots=True)
class Use:
    """Words in one field of a record, as both editions read them."""

    kind: str
    field: str
    words: str
    old: Reading
    new: Reading
    where: Callable[[], Where]
    hidden: Callable[[], bool]
    """Whether the words may tell who somebody is, so that they are not shown. Both are asked of changes alone."""


@dataclass(slots=True)
class _Seen:
    first: Use
    words: str
    state: State
    why: str
    uses: int = 0
    records: int = 0
    places: list[Where] = field(default_factory=list)


@dataclass(slots=True)
class Tally:
    """Takes record after record; `done` tells what it came to."""

    known: Known
    records: Counter[State] = field(default_factory=Counter)
    uses: Counter[State] = field(default_factory=Counter)
    unread: int = 0
    _seen: dict[tuple[str, str, Reading, Reading], _Seen] = field(default_factory=dict)
    _numbers: dict[State, dict[str, None]] = field(default_factory=dict)
    _beyond: int = 0

    def add(self, number: str, uses: Iterable[Use]) -> None:
        """One record. What is the last of STATES among its words is its own state."""
        worst: State = "same"
        met: set[int] = set()
        for use in uses:
            state, why = state_of(use.kind, use.words, use.old, use.new, self.known)
            self.uses[state] += 1
            if state == "same":
                continue
            worst = max(worst, state, key=STATES.index)
            self._count(use, state, why, met)
        self.records[worst] += 1
        if worst != "same" and len(numbers := self._numbers.setdefault(worst, {})) < NUMBERS:
            numbers[number] = None

    def _count(self, use: Use, state: State, why: str, met: set[int]) -> None:
        words = "" if use.hidden() else use.words
        key = (use.kind, fold(words) or words, use.old, use.new)
        seen = self._seen.get(key)
        if seen is None:
            if len(self._seen) >= MOST:
                self._beyond += 1
                return
            seen = self._seen[key] = _Seen(use, words, state, why)
        seen.uses += 1
        seen.records += id(seen) not in met
        met.add(id(seen))
        if len(seen.places) < PLACES:
            seen.places.append(use.where())

    def done(self, old: str, new: str) -> Changed:
        terms = [
            TermChange(
                seen.first.kind,
                seen.first.field,
                seen.words,
                seen.first.old.told,
                seen.first.new.told,
                seen.state,
                seen.why,
                seen.uses,
                seen.records,
                tuple(seen.places),
            )
            for seen in self._seen.values()
        ]
        terms.sort(key=lambda term: (-STATES.index(term.state), -term.uses, term.kind, fold(term.words)))
        return Changed(
            old,
            new,
            {state: self.records[state] for state in STATES},
            {state: self.uses[state] for state in STATES},
            tuple(terms),
            self._beyond,
            self.unread,
            {state: tuple(numbers) for state, numbers in self._numbers.items()},
            [_told(term) for term in terms],
        )


def _told(term: TermChange) -> Issue:
    words = f"“{term.words}”" if term.words else "Words that are not shown"
    times = f"{term.uses} times in {term.records} records" if term.uses > 1 else "once"
    told = f"{words} ({term.field}), {times}: {term.old} before, {term.new} now"
    return issue(RULES[term.state], f"{told}; {term.why}." if term.why else f"{told}.", term.places[0])
