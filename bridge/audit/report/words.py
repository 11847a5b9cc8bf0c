"""The audit's numbers as a person reads them, the same on every page and in every form."""

from __future__ import annotations

from dataclasses import dataclass
from operator import attrgetter
from typing import Any

from bridge.audit.shapes import Audited, Rate
from bridge.issues import Severity

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
SEVERITY = {
    Severity.fatal: "Error",
    Severity.error: "Error",
    Severity.warning: "Warning",
    Severity.information: "Note",
}
FEW = 5
"""Fewer records than this say nothing of whoever wrote them, and may tell of whom they are."""
CAUTION = (
    "These numbers are about records. They do not judge the work of a person: who sees the harder cases, or writes "
    "more down, can have the lower share."
)
SAME_WORDS = (
    "Practitioners agree where the same words got the same code. Where a word list gave the codes, this tells of the "
    "list, not of people; how far people agree, `audit sample` and `audit agree` tell."
)
YARDSTICK = (
    "No published standard of coding for ear-care records is known to us, so no share here is good or bad by itself; "
    "compare it with your own earlier ones."
)


@dataclass(frozen=True, slots=True)
class Measure:
    """One of the rates: how it is called, and whether more of it is better."""

    key: str
    """As options, JSON and figures call it."""
    label: str
    of: str
    """What it is a share of."""
    more_is_better: bool
    attribute: str = ""

    def rate(self, holder: Any) -> Rate:
        """The rate in an `Audited`, or in a `Group`, where it has the measure's own name."""
        found: Rate = attrgetter(self.attribute if isinstance(holder, Audited) else self.key.replace("-", "_"))(holder)
        return found


MEASURES = (
    Measure("coded", "Have a code", "things", True, "completeness"),
    Measure("sided", "Have their side", "things of an ear", True, "sided"),
    Measure("text-only", "In words only", "things", False, "text_only"),
    Measure("unspecific", "Coded less exactly than could be", "coded things", False, "unspecific"),
    Measure("retired", "Coded with a retired code", "coded things", False, "retired"),
    Measure("conflicts", "Contradict themselves", "records", False, "conflicts"),
)
OF_GROUPS = tuple(one for one in MEASURES if one.key != "retired")
"""Those that are counted for each practitioner and month too."""


def number(count: int) -> str:
    return f"{count:,}"


def percent(share: float | None) -> str:
    """With one decimal; never 100 % or 0 % where it is not quite."""
    if share is None:
        return "-"
    shown = f"{100 * share:.1f}"
    if shown == "100.0" and share < 1:
        shown = "99.9"
    if shown == "0.0" and share > 0:
        shown = "under 0.1"
    return f"{shown} %"


def counted(rate: Rate) -> str:
    """`91.1 % (1,120 of 1,230)`, or that there was nothing to count."""
    return f"{percent(rate.share)} ({number(rate.count)} of {number(rate.of)})" if rate.of else "nothing to count"


def month(name: str) -> str:
    """`2026-05` as `May 2026`; what is no month stays as it is."""
    year, _, part = name.partition("-")
    at = int(part) if part.isdigit() and len(part) == 2 else 0
    return f"{MONTHS[at - 1]} {year}" if 1 <= at <= 12 else name


def short_month(name: str) -> str:
    """`Jan 2026`, for charts."""
    told = month(name)
    return told if told == name else f"{told[:3]} {told[-4:]}"


def period(first: str, last: str) -> str:
    if not first or not last:
        return "of no known month"
    return month(first) if first == last else f"{month(first)} to {month(last)}"


def many(count: int, one: str, more: str = "") -> str:
    """`1 record`, `2 records`."""
    return f"{number(count)} {one if count == 1 else more or one + 's'}"


def headline(audited: Audited) -> str:
    """One sentence that says how it stands, and one of what is worst."""
    if not audited.records:
        return "No record was found to look at."
    found = [one for one in audited.patterns if one.records.count]
    errors = sum(one.severity >= Severity.error for one in found)
    coded, told = audited.completeness, "Nothing in them needs a code"
    if coded.of:
        told = f"{percent(coded.share)} of what needs a code has one"
        if audited.consistency is not None:
            told += f", and the same words get the same code {percent(audited.consistency)} of the time"
    if not found:
        return f"{told}. No pattern of inconsistency that these data can show was found."
    worst = f", {many(errors, 'of them an error', 'of them errors')}" if errors else ", none of them an error"
    return (
        f"{told}. {many(len(found), 'pattern')} of inconsistency {'was' if len(found) == 1 else 'were'} found{worst}."
    )


def field_told(kind: str, about: str) -> str:
    """`before.drum.term, suspected`: of which kind words are, and what keeps them apart from the same words."""
    return ", ".join(filter(None, (kind, about)))
