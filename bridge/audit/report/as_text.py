"""An audit for a lead with one minute: 80 columns, the worst first; with `verbose` all of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from bridge.audit.measures import band
from bridge.audit.report.chosen import Change, changes, comparable, not_shown, notes, urgent, worst_patterns
from bridge.audit.report.details import details
from bridge.audit.report.lines import WIDTH, Line, cut, heading, issues_told, wrapped
from bridge.audit.report.words import (
    MEASURES,
    SEVERITY,
    YARDSTICK,
    headline,
    many,
    month,
    number,
    percent,
    period,
)
from bridge.audit.shapes import Audited, PatternFound, Suggestion, Worst
from bridge.issues import Issue, Severity

WORST = 5
NEXT = 3
_HANG = 16


def summary(audited: Audited, *, verbose: bool = False, show_small: bool = False) -> Iterator[Line]:
    """The lines of the summary. Nothing in them names a client."""
    yield Line(
        f"Coding audit: {many(audited.records, 'record')}, {period(audited.first_month, audited.last_month)}", "head"
    )
    yield Line()
    yield from wrapped(headline(audited))
    first = urgent(audited)
    if first:
        yield from heading("First of all")
        yield from issues_told(first)
    if not audited.records:
        yield from _notes(audited, verbose)
        return
    yield from heading("Rates")
    yield from _rates(audited)
    yield from heading("What changed")
    yield from _changed(audited)
    patterns = worst_patterns(audited)
    if patterns:
        yield from heading("All patterns found" if verbose else "Worst patterns")
        for pattern in patterns if verbose else patterns[:WORST]:
            yield from _pattern(pattern, verbose)
        if len(patterns) > WORST and not verbose:
            yield Line(f"  and {many(len(patterns) - WORST, 'more pattern')}; --verbose tells them all.")
    if verbose:
        yield from details(audited, show_small)
    yield from heading("Where to look next")
    yield from _next(audited, verbose)
    yield from _notes(audited, verbose)
    yield Line()
    yield from wrapped(YARDSTICK, style="faint")


def _notes(audited: Audited, verbose: bool) -> Iterator[Line]:
    """What was left out, and the like."""
    told = [one if verbose or not one.help.startswith("Nothing") else replace(one, help="") for one in notes(audited)]
    if told:
        yield from heading("Notes")
        yield from issues_told(told)


def failing(audited: Audited, at: Severity) -> Iterator[Line]:
    """Only what is at least so bad, for a run that nobody watches."""
    yield from issues_told(one for one in audited.issues if one.severity >= at)
    for pattern in worst_patterns(audited):
        if pattern.severity >= at:
            yield from _pattern(pattern, verbose=False)


def _rates(audited: Audited) -> Iterator[Line]:
    for measure in MEASURES:
        rate = measure.rate(audited)
        told = f"{number(rate.count)} of {number(rate.of)}" if rate.of else "no"
        yield _rate(measure.label, rate.share, told, measure.of)
    if audited.consistency is not None:
        bits = f"entropy {audited.entropy:.2f} bits (0 is best)" if audited.entropy is not None else ""
        yield _rate("Same words get the same code", audited.consistency, bits)
    if audited.agreement:
        together = audited.agreement[0]
        alpha = "" if together.alpha is None else f", alpha {together.alpha:.2f}"
        yield _rate("Practitioners agree", together.percent, f"{many(together.things, 'thing')}{alpha}")
        if together.kappa is not None:
            yield Line(f"{'':49}kappa {together.kappa:.2f}, {band(together.kappa)}")
        yield Line("  (Codes that a word list gave always agree; of people tells `audit sample`.)", "faint")


def _rate(label: str, share: float | None, told: str, noun: str = "") -> Line:
    """The noun is left out where the numbers leave it no room."""
    line = f"  {label:<32} {percent(share):>12}  {told}"
    whole = f"{line} {noun}".rstrip()
    return Line(whole if len(whole) <= WIDTH else line)


def _changed(audited: Audited) -> Iterator[Line]:
    moved = changes(audited.months)
    for change in moved:
        yield from wrapped(change_told(change), first="  ", rest="    ", style="" if change.better else "warning")
    if not moved:
        yield Line(
            "  No rate moved by five points or more, beyond what chance can do."
            if comparable(audited.months)
            else "  No two months have enough records to be set against each other."
        )


def change_told(change: Change) -> str:
    """Both figures with their counts, and which way it went."""
    others = period(change.first, change.until) if change.first else "all other months"
    return (
        f"{change.measure.label}: {percent(change.now.share)} in {month(change.month)} (of {number(change.now.of)}), "
        f"{percent(change.before.share)} in {others} (of {number(change.before.of)}); "
        f"{'better' if change.better else 'worse'}."
    )


def _pattern(found: PatternFound, verbose: bool) -> Iterator[Line]:
    rules = f" ({', '.join(found.rules)})" if found.rules else ""
    told = f"{found.title}: {number(found.records.count)} of {many(found.records.of, 'record')}{rules}"
    start, hang = f"  {SEVERITY[found.severity]:<8} {found.pattern:<4} ", " " * _HANG
    yield from wrapped(told, first=start, rest=hang, style=found.severity.name)
    if found.do:
        yield from wrapped(f"To do: {found.do}", first=hang, rest=hang)
    if not verbose:
        for one in found.evidence[:1]:
            yield from wrapped(f"For example {place_of(one)}", first=hang, rest=hang + "  ", style="faint")
        return
    for message, same in groupby(found.evidence, key=lambda one: one.message):
        yield from wrapped(message, first=hang, rest=hang)
        for one in same:
            yield from wrapped(place_of(one), first=hang + "  ", rest=hang + "    ", style="faint")


def place_of(found: Issue) -> str:
    """`visits-2026.csv, row 14 (record M26-0101)`."""
    place, record = str(found.where), found.where.record
    return f"{place} (record {record})" if record and record not in place else place


def _next(audited: Audited, verbose: bool) -> Iterator[Line]:
    for worst in audited.worst[: None if verbose else NEXT]:
        yield from wrapped(_worst(worst), first="  ", rest="    ")
    for suggestion in audited.suggestions[: None if verbose else NEXT]:
        yield from wrapped(f"Nearly the same words: {written_ways(suggestion)}", first="  ", rest="    ")
    hidden = len(not_shown(audited))
    if hidden and not verbose:
        told = (
            f"{many(hidden, 'pattern')} cannot show in records of this kind, so nothing is known of them; --verbose "
            "names them and says why."
        )
        yield from wrapped(told, first="  ", rest="    ")
    rule = next((one.rules[0] for one in worst_patterns(audited) if one.rules), "")
    if rule:
        yield from wrapped(f"`visit-bridge explain {rule}` says why the first one matters.", first="  ", rest="    ")


def _worst(worst: Worst) -> str:
    place = str(worst.where)
    where = f" ({place})" if place and worst.number not in place else ""
    things = many(len(worst.issues), "thing")
    return f"Record {worst.number or 'without a number'}{where}: {things} to mend ({_rules(worst)})"


def _rules(worst: Worst) -> str:
    rules = list(dict.fromkeys(one.rule for one in worst.issues))
    return ", ".join(rules[:5]) + (" and more" if len(rules) > 5 else "")


def written_ways(suggestion: Suggestion) -> str:
    """Each with how often it occurs; one that does not is a word of the lists, to which the others come near."""
    told = ", ".join(
        f"“{cut(word)}” ({number(count) if count else 'in the word lists'})" for word, count in suggestion.words[:6]
    )
    more = len(suggestion.words) - 6
    return told + (f" and {more} more" if more > 0 else "")
