"""Adds the figures of many clinics. Never an average of averages: counts are added, then shares are taken.

What a clinic withheld is between two known numbers, and so is every sum with it. Kappa and alpha cannot be added at
all, because what chance alone would give differs from clinic to clinic; they stay with each clinic.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bridge.audit.figures import Cell, Figures
from bridge.audit.roll_up.expected import Expected, missing
from bridge.audit.roll_up.terms import SharedTerm, shared_terms
from bridge.issues import Issue, Where, issue


@dataclass(frozen=True, slots=True)
class Pooled:
    """A sum of counts. `low` and `high` differ where clinics withheld some; `without`: clinics that told nothing."""

    low: int
    high: int
    of: int
    clinics: int
    without: int

    @property
    def shares(self) -> tuple[float, float] | None:
        """The least and the greatest share that the sum can have; None where there is nothing to take it of."""
        return (self.low / self.of, self.high / self.of) if self.of else None


@dataclass(slots=True)
class RolledUp:
    """What many clinics have together, and one by one."""

    clinics: tuple[Figures, ...] = ()
    """Those that are counted, in the order of their names."""
    weights: dict[str, float] = field(default_factory=dict)
    """By key: the clinic's share of all things that need a code, which is its weight in the sums."""
    rates: dict[str, Pooled] = field(default_factory=dict)
    patterns: dict[str, Pooled] = field(default_factory=dict)
    terms: tuple[SharedTerm, ...] = ()
    """Words that clinics code differently, or that get several codes; the most used first."""
    missing: tuple[Expected, ...] = ()
    records: int = 0
    period: tuple[str, str] = ("", "")
    """The months that most clinics told, or that were asked for."""
    issues: list[Issue] = field(default_factory=list)


def added(
    given: Sequence[Figures], expected: Sequence[Expected] | None = None, period: tuple[str, str] | None = None
) -> RolledUp:
    """The sums with everything that makes them less than whole."""
    counted, issues = _once_each(given)
    clinics = tuple(sorted(counted, key=lambda one: (one.name.casefold(), one.key)))
    result = RolledUp(clinics, records=sum(int(one.data["records"]) for one in clinics), issues=issues)
    keys = list(dict.fromkeys(key for one in clinics for key in one.rates))
    result.rates = {key: pooled([one.rates.get(key) for one in clinics]) for key in keys}
    seen = sorted({key for one in clinics for key in one.patterns})
    result.patterns = {key: pooled([one.patterns.get(key) for one in clinics]) for key in seen}
    result.terms = shared_terms(clinics)
    things = {one.key: one.rates["coded"].of or 0 for one in clinics}
    together = sum(things.values())
    result.weights = {key: count / together for key, count in things.items()} if together else {}
    if expected is not None:
        result.missing = tuple(missing(expected, clinics))
        result.issues += [
            issue("A263", f"{one.called} sent nothing that counts.", cause=one.called) for one in result.missing
        ]
        strangers = [one for one in clinics if not any(listed.is_of(one) for listed in expected)]
        result.issues += [
            issue("A266", f"{one.name} is not on the list.", Where(one.file), cause=one.key) for one in strangers
        ]
    result.period = period or _most(one.period for one in clinics)
    result.issues += _unlike(clinics, result)
    return result


def pooled(cells: Sequence[Cell | None]) -> Pooled:
    """A clinic that told neither a count nor of how many is left out of both."""
    told = [one for one in cells if one is not None and one.of is not None]
    return Pooled(
        sum(one.low for one in told), sum(one.high for one in told), sum(one.of or 0 for one in told),
        len(told), len(cells) - len(told),
    )  # fmt: skip


def _once_each(given: Sequence[Figures]) -> tuple[list[Figures], list[Issue]]:
    """The very same figures in two files are one; of a clinic with two different ones neither is counted."""
    different = {(one.key, one.data["sha256"]): one for one in reversed(given)}
    times = Counter(key for key, _ in different)
    kept = [one for one in different.values() if times[one.key] == 1]
    twice = [one for one in given if times[one.key] > 1]
    return kept, [
        issue("A262", f"{one.name} sent several files that differ.", Where(one.file), cause=one.key) for one in twice
    ]


def _unlike(clinics: Sequence[Figures], result: RolledUp) -> Iterable[Issue]:
    newest = max((one.maps for one in clinics), default="")
    for one in clinics:
        where = Where(one.file)
        if one.period != result.period:
            yield issue(
                "A264",
                f"{one.name} tells of {_months(one.period)}; the others of {_months(result.period)}.",
                where,
                cause=one.key,
            )
        if one.maps != newest:
            yield issue(
                "A265",
                f"{one.name} has maps of {one.maps or 'no edition'}; the newest here are of {newest}.",
                where,
                cause=one.key,
            )
    if len({one.data["maps"]["codes"] for one in clinics}) > 1:
        licensed = sum(one.data["maps"]["codes"] == "licensed" for one in clinics)
        yield issue(
            "A265",
            f"{licensed} of {len(clinics)} clinics use the licensed codes, the others the free ones.",
            cause="codes",
        )
    for one in clinics:
        if len(clinics) > 1 and result.weights.get(one.key, 0) > 0.5:
            yield issue(
                "A267",
                f"{one.name} has {100 * result.weights[one.key]:.0f} % of all things counted.",
                Where(one.file),
                cause=one.key,
            )


def _months(period: tuple[str, str]) -> str:
    return " to ".join(dict.fromkeys(part for part in period if part)) or "no known month"


def _most(periods: Iterable[tuple[str, str]]) -> tuple[str, str]:
    """The most frequent; of several the latest."""
    counts = Counter(periods)
    return max(counts, key=lambda one: (counts[one], one), default=("", ""))
