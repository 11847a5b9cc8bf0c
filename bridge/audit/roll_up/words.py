"""Sums over clinics as a person reads them."""

from __future__ import annotations

from bridge.audit.figures import Cell, Figures
from bridge.audit.patterns import patterns
from bridge.audit.report.words import MEASURES, many, number, percent, period
from bridge.audit.roll_up.add import Pooled, RolledUp

CONSISTENCY = ("consistency", "Same words get the same code", "coded uses of words")
RATES = (*((one.key, one.label, one.of) for one in MEASURES), CONSISTENCY)
"""Key, label, and what it is a share of."""
NOT_ADDED = (
    "Kappa and alpha are not added: what chance alone would give differs from clinic to clinic. Each stands with its "
    "clinic."
)
WEIGHTS = "Counts are added and shares taken of the sums, so that a clinic weighs as much as it has things to code."
COMPARE = "Clinics differ in whom they see and in what they write down; a share ranks neither clinics nor people."


def shares(told: Pooled) -> str:
    """`91.1 %`, or both ends where clinics withheld small counts."""
    if told.shares is None:
        return "-"
    low, high = percent(told.shares[0]), percent(told.shares[1])
    return low if low == high else f"{low.removesuffix(' %')} to {high}"


def count(told: Pooled) -> str:
    return number(told.low) if told.low == told.high else f"{number(told.low)} to {number(told.high)}"


def counted(told: Pooled) -> str:
    """`1,120 to 1,124 of 1,230`."""
    if told.of:
        return f"{count(told)} of {number(told.of)}"
    return "withheld" if told.without else "nothing to count"


def cell(given: Cell | None) -> str:
    """One clinic's share; `withheld` where it gave none."""
    if given is None or given.withheld == "both":
        return "withheld"
    if not given.of:
        return "-"
    if given.count is None:
        return {"few": "a few", "nearly all": "nearly all"}.get(given.withheld, "withheld")
    return percent(given.count / given.of)


def title(result: RolledUp) -> str:
    """With the months of all records that are counted, whatever most clinics tell of."""
    firsts, lasts = ([one.period[at] for one in result.clinics if one.period[at]] for at in (0, 1))
    months = period(min(firsts, default=""), max(lasts, default=""))
    return f"Coding audits of {many(len(result.clinics), 'clinic')}: {many(result.records, 'record')}, {months}"


def headline(result: RolledUp) -> str:
    if not result.clinics:
        return "No figures that could be counted were sent."
    coded = result.rates["coded"]
    told = "Nothing in these records needs a code."
    if coded.shares is not None:
        told = f"{shares(coded)} of what needs a code has one, over all clinics together"
        own = [one.count / one.of for c in result.clinics if (one := c.rates["coded"]).count is not None and one.of]
        told += f"; {percent(min(own))} to {percent(max(own))} from clinic to clinic." if len(own) > 1 else "."
    if result.missing:
        gone = len(result.missing)
        told += f" {many(gone, 'clinic')} that {'was' if gone == 1 else 'were'} expected sent nothing that counts."
    return told


def agreed(figures: Figures) -> str:
    told = figures.data["agreement"]
    if told is None or told["percent"] is None:
        return "-"
    return percent(told["percent"]) + ("" if told["kappa"] is None else f", kappa {told['kappa']:.2f}")


def pattern_title(pattern: str) -> str:
    """`I13 Doubted or ruled out coded as certain`; the number alone where no such pattern is known here."""
    return " ".join([pattern, *(one.title for one in patterns() if one.code == pattern)])


def first_to_see(result: RolledUp, key: str, most: int) -> tuple[Figures, ...]:
    """At most so many clinics in the order of their names: where there are more, those with most to mend in a rate."""
    if len(result.clinics) <= most:
        return result.clinics
    less_is_better = any(one.key == key and not one.more_is_better for one in MEASURES)
    known = [one for one in result.clinics if one.rates[key].count is not None and one.rates[key].of]
    known.sort(key=lambda one: (one.rates[key].count or 0) / (one.rates[key].of or 1), reverse=less_is_better)
    chosen = {one.key for one in known[:most]}
    return tuple(one for one in result.clinics if one.key in chosen)
