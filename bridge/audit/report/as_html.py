"""An audit as one page that opens anywhere: charts by term, by practitioner and over time, and the worst ten."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge import __version__
from bridge.audit.measures import band
from bridge.audit.report.as_text import change_told, place_of, written_ways
from bridge.audit.report.charts import Bar, Point, bars, line
from bridge.audit.report.chosen import (
    changes,
    clean,
    comparable,
    is_small,
    not_shown,
    notes,
    several_codes,
    urgent,
    worst_patterns,
)
from bridge.audit.report.pages import Chart, Noted, Table, filled
from bridge.audit.report.words import (
    CAUTION,
    FEW,
    MEASURES,
    OF_GROUPS,
    SAME_WORDS,
    SEVERITY,
    YARDSTICK,
    counted,
    field_told,
    headline,
    many,
    month,
    number,
    percent,
    period,
    short_month,
)
from bridge.audit.shapes import Audited, Group, PatternFound, Rate, TermUse
from bridge.issues import Issue

WORST = 10
TERMS = 15
"""Terms in the chart; the table has all that the audit kept."""


def to_html(audited: Audited, *, clinic: str = "", show_small: bool = False) -> str:
    """The page. It names records by number and place, and no client."""
    months = [group for group in audited.months if show_small or not is_small(group)]
    patterns = worst_patterns(audited)[:WORST]
    page = {
        "title": "Coding audit" + (f", {clinic}" if clinic else ""),
        "about": f"{many(audited.records, 'record')}, {period(audited.first_month, audited.last_month)}",
        "headline": headline(audited),
        "issues": [_issue(one) for one in urgent(audited)],
        "notes": [_issue(one) for one in notes(audited)],
        "rates": Table("Rates of all records together", ("Rate", "Share", "Count"), tuple(_rates(audited)), (1, 2)),
        "yardstick": YARDSTICK,
        "changes": _changes(audited),
        "months": list(_over_time(months)) if len(months) > 1 else [],
        "month_table": _group_table("Rates of each month", "Month", audited.months, show_small),
        "patterns": [_pattern(one) for one in patterns],
        "worst_chart": _worst_chart(patterns) if patterns else None,
        "worst": _records(audited),
        "terms_chart": _terms_chart(several_codes(audited)[:TERMS]),
        "terms": _terms(audited),
        "suggestions": Table(
            "Words that may be one: write them one way, or give them their own meanings",
            ("Kind", "Words", "Why"),
            tuple((one.kind, written_ways(one), one.why) for one in audited.suggestions),
        ),
        "caution": CAUTION,
        "people": list(_by_person(audited, show_small)),
        "people_table": _group_table("Rates of each practitioner", "Key", audited.practitioners, show_small),
        "agreement": _agreement(audited),
        "same_words": SAME_WORDS.replace("`", ""),
        "clean": "; ".join(f"{one.pattern} {one.title}" for one in clean(audited)),
        "hidden": Table(
            "Patterns that these data cannot show, which says nothing of whether they are there",
            ("Pattern", "Title", "Why"),
            tuple((one.pattern, one.title, one.not_shown) for one in not_shown(audited)),
        ),
        "foot": f"Made by visit-bridge {__version__} from records, which it did not change. It holds no client's name.",
    }
    return filled("run.html.j2", page=page)


def _rates(audited: Audited) -> Iterator[tuple[str, ...]]:
    for measure in MEASURES:
        rate = measure.rate(audited)
        yield measure.label, percent(rate.share), f"{number(rate.count)} of {number(rate.of)} {measure.of}"
    yield "Same words get the same code", percent(audited.consistency), "mean of terms by their uses"
    bits = "-" if audited.entropy is None else f"{audited.entropy:.2f} bits"
    yield "Entropy of terms (0 is best)", bits, "mean of terms by their uses"


def _changes(audited: Audited) -> list[str]:
    told = [change_told(one) for one in changes(audited.months)]
    if told:
        return told
    if comparable(audited.months):
        return ["No rate moved by five points or more, beyond what chance can do."]
    return ["No two months have enough records to be set against each other."]


def _over_time(months: list[Group]) -> Iterator[Chart]:
    for measure in OF_GROUPS:
        points = [Point(short_month(one.name), measure.rate(one).share) for one in months]
        known = [(one.label, one.share) for one in points if one.share is not None]
        if len(known) < 2:
            continue
        about = f"From {percent(known[0][1])} in {known[0][0]} to {percent(known[-1][1])} in {known[-1][0]}."
        key = f"time-{measure.key}"
        title = f"{measure.label}, share of {measure.of} by month"
        yield Chart(key, title, line(key, title, about, points))


def _by_person(audited: Audited, show_small: bool) -> Iterator[Chart]:
    told = [one for one in audited.practitioners if show_small or not is_small(one)]
    if not told:
        return
    for measure in OF_GROUPS:
        key, title = f"people-{measure.key}", f"{measure.label}, share of {measure.of} by practitioner"
        rows = [_group_bar(one, measure.rate(one)) for one in told]
        yield Chart(
            key, title, bars(key, title, "; ".join(f"{row.label}: {row.told}" for row in rows), rows, narrow=True)
        )


def _group_bar(group: Group, rate: Rate) -> Bar:
    few = ", few" if is_small(group) else ""
    told = f"{percent(rate.share)} of {number(rate.of)}{few}" if rate.of else "nothing to count"
    return Bar(group.name or "nobody named", (rate.share or 0,), told)


def _group_table(caption: str, first: str, groups: tuple[Group, ...], show_small: bool) -> Table:
    rows = []
    for group in groups:
        name = month(group.name) if first == "Month" else group.name or "nobody named"
        if is_small(group) and not show_small:
            rows.append((name, f"under {FEW}", *("not told" for _ in OF_GROUPS)))
        else:
            rows.append((name, number(group.records), *(counted(one.rate(group)) for one in OF_GROUPS)))
    headings = (first, "Records", *(one.label for one in OF_GROUPS))
    return Table(caption, headings, tuple(rows), tuple(range(1, len(headings))))


def _pattern(found: PatternFound) -> Noted:
    rows = tuple((one.where.record or "-", str(one.where), one.rule, one.message) for one in found.evidence)
    told = f"{number(found.records.count)} of {many(found.records.of, 'record')} that could show it."
    if len(rows) < found.records.count:
        told += f" The first {len(rows)} are told here." if rows else ""
    evidence = Table(f"Where {found.pattern} was seen", ("Record", "Place", "Rule", "What"), rows)
    values = {"pattern": found.pattern, "title": found.title, "told": told, "do": found.do, "evidence": evidence}
    return Noted(found.severity.name, SEVERITY[found.severity], values)


def _worst_chart(patterns: list[PatternFound]) -> Chart:
    longest = max(one.records.share or 0 for one in patterns)
    rows = [
        Bar(
            f"{one.pattern} {one.title}",
            ((one.records.share or 0) / longest if longest else 0,),
            f"{number(one.records.count)} of {number(one.records.of)}",
        )
        for one in patterns
    ]
    title = f"The {len(rows)} worst patterns, share of the records that could show them"
    svg = bars("worst-chart", title, "; ".join(f"{row.label}: {row.told}" for row in rows), rows)
    return Chart("worst-chart", f"{title}; the longest bar is {percent(longest)}", svg)


def _records(audited: Audited) -> Table:
    rows = tuple(
        (one.number or "-", str(one.where), number(len(one.issues)), _what(one.issues)) for one in audited.worst
    )
    return Table("Up to ten records", ("Record", "Place", "To mend", "What"), rows, (2,))


def _what(issues: tuple[Issue, ...]) -> str:
    return " ".join(dict.fromkeys(f"{one.rule}: {one.message}" for one in issues))


def _terms_chart(terms: list[TermUse]) -> Chart | None:
    if not terms:
        return None
    rows = []
    for term in terms:
        counts = [use.count for use in term.codes]
        uses = max(term.count, 1)
        parts = (counts[0] / uses, counts[1] / uses, sum(counts[2:]) / uses, max(0, term.count - sum(counts)) / uses)
        rows.append(Bar(term.text, parts, f"{percent(term.consistency)} the same"))
    title = "Words that get several codes"
    caption = (
        f"{title}: each bar is all uses of the words; from the left the code used most, the next one, all others, and "
        "with a dashed edge uses without a code"
    )
    svg = bars("terms-chart", title, "; ".join(f"{row.label}: {row.told}" for row in rows), rows)
    return Chart("terms-chart", caption, svg)


def _terms(audited: Audited) -> Table:
    rows = tuple(
        (
            one.text,
            field_told(one.kind, one.about),
            number(one.count),
            percent(one.consistency) if one.codes else "no code",
            f"{one.entropy:.2f}",
            "; ".join(f"{use.display or use.code} {number(use.count)}" for use in one.codes),
        )
        for one in audited.terms
    )
    headings = ("Words", "Kind", "Uses", "The same code", "Entropy in bits", "Codes with uses")
    return Table("Words used most, with what they were coded as", headings, rows, (2, 3, 4))


def _agreement(audited: Audited) -> Table:
    rows = tuple(
        (
            "All together" if at == 0 and len(audited.agreement) > 1 else " and ".join(one.coders),
            number(one.things),
            percent(one.percent),
            "-" if one.kappa is None else f"{one.kappa:.2f}, {band(one.kappa)}",
            "-" if one.alpha is None else f"{one.alpha:.2f}",
        )
        for at, one in enumerate(audited.agreement)
    )
    headings = ("Who", "Things coded by both", "Agree", "Cohen's kappa", "Krippendorff's alpha")
    return Table("How far those who coded the same things agree", headings, rows, (1, 2, 3, 4))


def _issue(found: Issue) -> Noted:
    values: dict[str, Any] = {
        "rule": found.rule,
        "message": found.message,
        "help": found.help,
        "place": place_of(found),
    }
    return Noted(found.severity.name, SEVERITY[found.severity], values)
