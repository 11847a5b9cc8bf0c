"""What the summary of an audit tells only with `verbose`: terms, practitioners, months, what is not seen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bridge.audit.report.chosen import clean, is_small, not_shown, several_codes
from bridge.audit.report.lines import Line, cut, heading, table, wrapped
from bridge.audit.report.words import CAUTION, FEW, OF_GROUPS, field_told, many, month, number, percent
from bridge.audit.shapes import Audited, Group

SHORT = {"coded": "coded", "sided": "sided", "text-only": "words", "unspecific": "unspec.", "conflicts": "conflict"}
"""Headings of narrow columns."""


def details(audited: Audited, show_small: bool) -> Iterator[Line]:
    if several := several_codes(audited):
        yield from heading("Words that get several codes")
        for term in several:
            codes = ", ".join(f"{use.display or use.code} ({number(use.count)})" for use in term.codes)
            about = f"{field_told(term.kind, term.about)}, {many(term.count, 'time')}"
            told = f"“{cut(term.text)}” ({about}, {percent(term.consistency)} the same)"
            yield from wrapped(f"{told}: {codes}", first="  ", rest="    ")
    if audited.practitioners:
        yield from heading("By practitioner")
        yield from _groups(audited.practitioners, show_small, months=False)
        yield from wrapped(CAUTION, first="  ", rest="  ", style="faint")
    for pair in audited.agreement[1:]:
        kappa = f", kappa {pair.kappa:.2f}" if pair.kappa is not None else ""
        told = f"{' and '.join(pair.coders)} agree in {percent(pair.percent)} of {many(pair.things, 'thing')}{kappa}."
        yield from wrapped(told, first="  ", rest="    ")
    if audited.months:
        yield from heading("By month")
        yield from _groups(audited.months, show_small, months=True)
    if found := clean(audited):
        yield from heading("Looked for and not found")
        yield from wrapped("; ".join(f"{one.pattern} {one.title}" for one in found), first="  ", rest="  ")
    if hidden := not_shown(audited):
        yield from heading("Cannot be seen in these data")
        for one in hidden:
            yield from wrapped(f"{one.pattern} {one.title}: {one.not_shown}", first="  ", rest="      ")


def _groups(groups: Sequence[Group], show_small: bool, *, months: bool) -> Iterator[Line]:
    headings = ("month" if months else "key", "records", *(SHORT[one.key] for one in OF_GROUPS))
    rows = []
    for group in groups:
        name = month(group.name) if months else group.name or "nobody named"
        if is_small(group) and not show_small:
            rows.append((name, f"under {FEW}", *("" for _ in OF_GROUPS)))
        else:
            rows.append((name, number(group.records), *(percent(one.rate(group).share) for one in OF_GROUPS)))
    yield from table(headings, rows)
