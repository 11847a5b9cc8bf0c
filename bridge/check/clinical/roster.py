"""Which rules a record wakes: each waits for signs without which it would surely be quiet, most of them all day.

The signs are kept as a tree of fields, which is walked along the record: what is not there costs one look.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import ATTRIBUTES, inside
from bridge.check.clinical.question import Asking
from bridge.check.clinical.rule import ClinicalRule
from bridge.check.clinical.signs import ABSENT, PRESENT, Sign, Word, meanings, words_of


@dataclass(frozen=True, eq=False, slots=True)
class Entry:
    """A rule with what must not be no if it is to speak, but for what its signs say already.

    `order`: its place among the rules, and that of what is looked at among all that it looks at.
    """

    rule: ClinicalRule
    order: tuple[int, int]
    needed: tuple[Asking, ...]


_EMPTY: tuple[Any, ...] = ()


@dataclass(slots=True)
class Waiting:
    """The rules that wait for signs of one field and of the fields in it."""

    path: str
    absent: list[Entry] = field(default_factory=list)
    """Those that wake where it is empty, and all in it with it."""
    present: list[Entry] = field(default_factory=list)
    meaning: dict[object, list[Entry]] = field(default_factory=dict)
    words: dict[str, list[Entry]] = field(default_factory=dict)
    inner: dict[str, Waiting] = field(default_factory=dict)

    def add(self, sign: Sign, entry: Entry) -> None:
        names, what = sign
        at = self
        for name in names.split("."):
            if what is ABSENT:
                at.absent.append(entry)
            inner = at.inner.get(name)
            if inner is None:
                inner = at.inner[name] = Waiting(f"{at.path}.{name}".lstrip("."))
            at = inner
        if what is ABSENT:
            at.absent.append(entry)
        elif what is PRESENT:
            at.present.append(entry)
        elif isinstance(what, Word):
            at.words.setdefault(what.word, []).append(entry)
        else:
            at.meaning.setdefault(what, []).append(entry)

    def wake(self, held: Sequence[Any], context: Context, found: list[Entry]) -> None:
        """Adds those that wake by what the field holds."""
        if not held:
            found += self.absent
            return
        if self.present:
            found += self.present
        if self.meaning:
            for what in meanings(self.path, held, context):
                if what in self.meaning:
                    found += self.meaning[what]
        if self.words:
            for words in words_of(self.path, held, context):
                for word in words:
                    if word in self.words:
                        found += self.words[word]
        if not self.inner:
            return
        if len(held) == 1:
            own = held[0].__dict__
            for name, inner in self.inner.items():
                value = own.get(name)
                if value is None or value is _EMPTY:
                    if inner.absent:
                        found += inner.absent
                else:
                    inner.wake(value if type(value) is tuple else (value,), context, found)
            return
        for name, inner in self.inner.items():
            if there := inside(held, name):
                inner.wake(there, context, found)
            else:
                found += inner.absent


@dataclass(slots=True)
class Watch:
    """The rules that look at one thing: those that are always asked, and those that wait."""

    always: list[Entry] = field(default_factory=list)
    waiting: Waiting = field(default_factory=lambda: Waiting(""))

    def add(self, rule: ClinicalRule, order: tuple[int, int]) -> None:
        signs, needed = rule.wakes()
        entry = Entry(rule, order, needed)
        if signs is None:
            self.always.append(entry)
        else:
            for sign in signs:
                self.waiting.add(sign, entry)

    def awake(self, context: Context) -> Iterable[Entry]:
        """Those that are to be asked, each once."""
        found = self.always.copy()
        for root, waiting in self.waiting.inner.items():
            held = getattr(context, ATTRIBUTES[root])
            waiting.wake(() if held is None else (held,), context, found)
        return dict.fromkeys(found)


def roster(rules: Sequence[ClinicalRule]) -> dict[str, Watch]:
    """The rules by what they look at."""
    found: dict[str, Watch] = {}
    for number, rule in enumerate(rules):
        for place, each in enumerate(rule.each):
            found.setdefault(each, Watch()).add(rule, (number, place))
    return found
