"""What of an audit a lead sees first: the worst patterns, what changed, groups with enough records."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bridge.audit.measures import wilson
from bridge.audit.report.words import FEW, OF_GROUPS, Measure
from bridge.audit.shapes import Audited, Group, PatternFound, Rate, TermUse
from bridge.issues import Issue, Severity

ENOUGH = 30
"""Things, or records for conflicts, that a month must have to be set against another."""
NOTABLE = 0.05
"""Five points between two months are told; smaller differences come and go by themselves."""


@dataclass(frozen=True, slots=True)
class Change:
    """A rate in one month, beside that of others together; only months that have enough are in either."""

    measure: Measure
    month: str
    now: Rate
    first: str
    """First and last of the earlier months; both empty where the month is set against all others."""
    until: str
    before: Rate

    @property
    def points(self) -> float:
        return 100 * ((self.now.share or 0) - (self.before.share or 0))

    @property
    def better(self) -> bool:
        return (self.points > 0) == self.measure.more_is_better

    @property
    def notable(self) -> bool:
        """By five points at least, and by more than a draw of so many could differ (Wilson's intervals are apart)."""
        now, before = wilson(self.now.count, self.now.of), wilson(self.before.count, self.before.of)
        if now is None or before is None:
            return False
        return abs(self.points) >= 100 * NOTABLE and (now[1] < before[0] or before[1] < now[0])


def changes(months: Sequence[Group]) -> list[Change]:
    """Rates that moved, the largest move first: of each the month that is furthest from all others together.

    A measured difference is no proof of a cause.
    """
    found = []
    for measure in OF_GROUPS:
        enough = [(one.name, rate) for one in _large(months) if (rate := measure.rate(one)).of >= ENOUGH]
        if len(enough) < 2:
            continue
        last, before = enough[-1][0], enough[:-1]
        apart = [
            Change(
                measure, name, rate,
                before[0][0] if name == last else "", before[-1][0] if name == last else "",
                total(other for at, other in enough if at != name),
            )
            for name, rate in enough
        ]  # fmt: skip
        change = max(apart, key=lambda one: (abs(one.points), one.month))
        if change.notable:
            found.append(change)
    return sorted(_without_mirrors(found), key=lambda one: -abs(one.points))


def _without_mirrors(found: list[Change]) -> list[Change]:
    """What is not coded is most often in words only: that the one rose is then the same news as that the other fell."""
    coded = {one.month: one.points for one in found if one.measure.key == "coded"}
    return [one for one in found if one.measure.key != "text-only" or abs(one.points + coded.get(one.month, 0)) >= 1]


def comparable(months: Sequence[Group]) -> bool:
    """Whether any two months have enough for one rate to be set against each other."""
    return any(sum(measure.rate(one).of >= ENOUGH for one in _large(months)) > 1 for measure in OF_GROUPS)


def _large(months: Sequence[Group]) -> list[Group]:
    """A handful of records is no month to speak of, however many things they hold."""
    return [one for one in months if not is_small(one)]


def total(rates: Iterable[Rate]) -> Rate:
    """Counts added, so that a share of it is no average of shares."""
    given = list(rates)
    return Rate(sum(one.count for one in given), sum(one.of for one in given))


def worst_patterns(audited: Audited) -> list[PatternFound]:
    """Those that were found: the severest first, then those that more records show."""
    found = [one for one in audited.patterns if one.records.count]
    return sorted(found, key=lambda one: (-one.severity, -one.records.count, one.pattern))


def not_shown(audited: Audited) -> list[PatternFound]:
    return [one for one in audited.patterns if one.not_shown]


def clean(audited: Audited) -> list[PatternFound]:
    """Patterns that were looked for, could have been seen, and are not there."""
    return [one for one in audited.patterns if not one.not_shown and not one.records.count]


def is_small(group: Group) -> bool:
    return group.records < FEW


def several_codes(audited: Audited) -> list[TermUse]:
    """Terms that got more than one code, those with the most uses beside their usual code first."""
    found = [one for one in audited.terms if len(one.codes) > 1]
    return sorted(found, key=lambda one: (-sum(use.count for use in one.codes[1:]), one.kind, one.text))


def urgent(audited: Audited) -> list[Issue]:
    """What is to be known of sources and settings before anything is read of the rest."""
    return [one for one in audited.issues if one.severity >= Severity.warning]


def notes(audited: Audited) -> list[Issue]:
    """What was left out, and the like."""
    return [one for one in audited.issues if one.severity < Severity.warning]
