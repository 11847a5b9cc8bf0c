"""Many clinics' figures for a lead: 80 columns, what is missing first."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.audit.report.lines import Line, cut, heading, issues_told, table, wrapped
from bridge.audit.report.words import SEVERITY, field_told, many, number, percent
from bridge.audit.roll_up.add import RolledUp
from bridge.audit.roll_up.words import (
    COMPARE,
    NOT_ADDED,
    RATES,
    WEIGHTS,
    agreed,
    cell,
    count,
    counted,
    first_to_see,
    headline,
    pattern_title,
    shares,
    title,
)
from bridge.issues import Severity

WORST = 8
TERMS = 5
CLINICS = 12
SHORT = {"coded": "coded", "sided": "sided", "text-only": "words", "consistency": "same code"}


def summary(result: RolledUp, *, verbose: bool = False) -> Iterator[Line]:
    """The lines of the summary."""
    yield Line(title(result), "head")
    yield Line()
    yield from wrapped(headline(result))
    if result.issues:
        yield from heading("First of all")
        yield from issues_told(result.issues)
    if not result.clinics:
        return
    yield from heading("All clinics together")
    for key, label, _ in RATES:
        told = result.rates[key]
        yield Line(f"  {label:<32} {shares(told):>14}  {counted(told)}")
    yield from _withheld(result)
    yield from heading("Clinic by clinic")
    shown = result.clinics if verbose else first_to_see(result, "coded", CLINICS)
    rows = [
        (
            one.name,
            number(one.data["records"]),
            percent(result.weights.get(one.key)),
            *(cell(one.rates[key]) for key in SHORT),
        )
        for one in shown
    ]
    yield from table(("clinic", "records", "weight", *SHORT.values()), rows)
    if len(shown) < len(result.clinics):
        yield Line(f"  These have the lowest share of codes; --verbose tells all {number(len(result.clinics))}.")
    yield from wrapped(f"{WEIGHTS} {COMPARE}", first="  ", rest="  ", style="faint")
    if agreeing := [one for one in shown if one.data["agreement"]]:
        for one in agreeing:
            yield from wrapped(f"{cut(one.name)}: practitioners agree in {agreed(one)}", first="  ", rest="    ")
        yield from wrapped(NOT_ADDED, first="  ", rest="  ", style="faint")
    yield from _patterns(result, verbose)
    yield from _terms(result, verbose)


def _withheld(result: RolledUp) -> Iterator[Line]:
    if any(one.low != one.high or one.without for one in result.rates.values()):
        told = "Clinics withhold counts below five; a sum with such a count lies between the two numbers given."
        yield from wrapped(told, first="  ", rest="  ", style="faint")


def _patterns(result: RolledUp, verbose: bool) -> Iterator[Line]:
    severity = {one["pattern"]: Severity[one["severity"]] for c in result.clinics for one in c.data["patterns"]}
    found = [(key, told) for key, told in result.patterns.items() if told.high]
    found.sort(key=lambda one: (-severity[one[0]], -one[1].high, one[0]))
    if not found:
        return
    yield from heading("Patterns of inconsistency")
    for key, told in found if verbose else found[:WORST]:
        seen = f"{count(told)} of {many(told.of, 'record')} in {many(told.clinics, 'clinic')}"
        start = f"  {SEVERITY[severity[key]]:<8} "
        yield from wrapped(f"{pattern_title(key)}: {seen}", first=start, rest=" " * 15, style=severity[key].name)
    if len(found) > WORST and not verbose:
        yield Line(f"  and {many(len(found) - WORST, 'more pattern')}; --verbose tells them all.")


def _terms(result: RolledUp, verbose: bool) -> Iterator[Line]:
    if not result.terms:
        return
    yield from heading("Words that get several codes")
    for term in result.terms if verbose else result.terms[:TERMS]:
        codes = ", ".join(f"{code} ({number(uses)})" for _, code, uses in term.codes)
        who = "clinics differ" if term.between else "within clinics"
        yield from wrapped(
            f"“{cut(term.text)}” ({field_told(term.kind, term.about)}, {who}): {codes}",
            first="  ",
            rest="    ",
        )
