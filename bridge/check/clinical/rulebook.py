"""Rules with what a practice changed of them: switched off or tightened, for certain days, never silently."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from bridge.check.clinical.moments_between import span
from bridge.check.clinical.roster import Watch, roster
from bridge.check.clinical.rule import ClinicalRule
from bridge.issues import Issue, Severity, Where, issue


@dataclass(frozen=True, slots=True)
class Change:
    """A rule that is switched off (`severity` None) or tightened, why, by whom, and for which days."""

    code: str
    severity: Severity | None
    reason: str
    by: str = ""
    since: date | None = None
    until: date | None = None

    def holds(self, first: date, last: date) -> bool:
        """Whether it surely holds on a day that may be any of these."""
        return (self.since is None or first >= self.since) and (self.until is None or last <= self.until)

    def words(self) -> str:
        """What it does, for how long, and why."""
        does = "switched off" if self.severity is None else f"raised to {self.severity.name}"
        days = f" from {self.since}" if self.since else ""
        days += f" until {self.until}" if self.until else ""
        who = f" ({self.by})" if self.by else ""
        return f"Rule {self.code} is {does} by the practice{days}: {self.reason.rstrip('.')}{who}."


class RuleBook(tuple[ClinicalRule, ...]):
    """Rules in the order of their codes, and the changes that the practice made of them."""

    changes: tuple[Change, ...]

    def __new__(cls, rules: Iterable[ClinicalRule] = (), changes: Iterable[Change] = ()) -> RuleBook:
        made = super().__new__(cls, rules)
        made.changes = tuple(changes)
        made._made = {}
        return made

    _made: dict[tuple[bool, ...], RuleBook]

    @cached_property
    def roster(self) -> dict[str, Watch]:
        """The rules by what they look at and wait for."""
        return roster(self)

    def of_region(self, region: str) -> RuleBook:
        """Those that hold in a region; all where none is named."""
        kept = [rule for rule in self if not region or not rule.regions or region in rule.regions]
        codes = {rule.code for rule in kept}
        return RuleBook(kept, (change for change in self.changes if change.code in codes))

    def on(self, start: str) -> RuleBook:
        """The rules as they hold for a visit that starts then: without those switched off, others as tightened."""
        if not self.changes:
            return self
        first, last = span(start)
        held = tuple(change.holds(first, last) for change in self.changes)
        found = self._made.get(held)
        if found is None:
            now = {change.code: change for change, holds in zip(self.changes, held, strict=True) if holds}
            found = self._made[held] = RuleBook(_changed(self, now))
        return found

    def off(self, start: str) -> RuleBook:
        """The rules that are switched off for a visit that starts then, of what may not wait."""
        if not self.changes:
            return RuleBook()
        first, last = span(start)
        codes = {one.code for one in self.changes if one.severity is None and one.holds(first, last)}
        return RuleBook(rule for rule in self if rule.code in codes and rule.urgency == "immediate")

    def told(self) -> list[Issue]:
        """One note for each change, for every run."""
        return [_note(change, rule) for rule in self for change in self.changes if change.code == rule.code]

    def ended(self, start: str) -> Iterator[Issue]:
        """A note for each change that had ended when a visit started."""
        for change in self.changes:
            if change.until and span(start)[1] > change.until:
                message = (
                    f"What the practice changed of rule {change.code} had ended before this visit; the rule holds."
                )
                yield issue("C593", message, Where(), cause=f"C593:{change.code}")


def _changed(rules: Iterable[ClinicalRule], now: dict[str, Change]) -> Iterator[ClinicalRule]:
    for rule in rules:
        change = now.get(rule.code)
        if change is None:
            yield rule
        elif change.severity is not None:
            yield replace(rule, severity=change.severity)


def _note(change: Change, rule: ClinicalRule) -> Issue:
    grave = change.severity is None and rule.urgency == "immediate"
    return issue("C592" if grave else "C591", change.words(), Where(), cause=f"C591:{change.code}")
