"""Many clinics' figures as one page, clinics side by side."""

from __future__ import annotations

from bridge import __version__
from bridge.audit.report.as_json import issue_json
from bridge.audit.report.charts import Bar, bars
from bridge.audit.report.pages import Chart, Noted, Table, filled
from bridge.audit.report.words import SEVERITY, field_told, number, percent, period
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

CLINICS = 40
"""Clinics in a chart; the table has all."""


def to_html(result: RolledUp) -> str:
    """The page; it shows nothing that a clinic withheld."""
    page = {
        "title": "Coding audits of clinics",
        "about": title(result),
        "headline": headline(result),
        "issues": [
            Noted(one.severity.name, SEVERITY[one.severity], issue_json(one) | {"place": str(one.where)})
            for one in sorted(result.issues, key=lambda one: -one.severity)
        ],
        "missing": [one.called for one in result.missing],
        "together": _together(result),
        "weights": f"{WEIGHTS} {COMPARE}",
        "charts": [_chart(result, key, label, of) for key, label, of in RATES] if result.clinics else [],
        "clinics": _clinics(result),
        "clinics_rates": _clinics_rates(result),
        "not_added": NOT_ADDED,
        "patterns": Table(
            "Patterns of inconsistency over all clinics that could show them",
            ("Pattern", "Records that show it", "Of", "Clinics"),
            tuple(
                (pattern_title(key), count(one), number(one.of), str(one.clinics))
                for key, one in result.patterns.items()
                if one.high
            ),
            (1, 2, 3),
        ),
        "terms": Table(
            "Words that get several codes",
            ("Words", "Kind", "Clinics", "Codes with uses", "Where they differ"),
            tuple(
                (one.text, field_told(one.kind, one.about), str(one.clinics),
                 "; ".join(f"{code} {number(n)}" for _, code, n in one.codes),
                 "between clinics" if one.between else "within clinics")
                for one in result.terms
            ),
            (2,),
        ),
        "foot": f"Made by visit-bridge {__version__} from figures of clinics, which hold no client data.",
    }  # fmt: skip
    return filled("roll-up.html.j2", page=page)


def _together(result: RolledUp) -> Table:
    rows = tuple(
        (label, shares(result.rates[key]), counted(result.rates[key])) for key, label, _ in RATES if key in result.rates
    )
    return Table(
        "All clinics together; two numbers where clinics withheld small counts",
        ("Rate", "Share", "Count"),
        rows,
        (1, 2),
    )


def _chart(result: RolledUp, key: str, label: str, of: str) -> Chart:
    rows = []
    shown = first_to_see(result, key, CLINICS)
    for one in shown:
        given = one.rates[key]
        share = given.low / given.of if given.of else 0  # the least that a count can be which the clinic withheld
        rows.append(Bar(one.name, (share,), cell(given)))
    rows.append(Bar("all together", ((result.rates[key].shares or (0, 0))[0],), shares(result.rates[key])))
    part = "" if len(shown) == len(result.clinics) else f", the {len(shown)} that have most to mend"
    caption = f"{label}, share of {of} by clinic{part}"
    return Chart(
        f"rate-{key}",
        caption,
        bars(f"rate-{key}", caption, "; ".join(f"{r.label}: {r.told}" for r in rows), rows, narrow=True),
    )


def _clinics(result: RolledUp) -> Table:
    rows = tuple(
        (
            one.name,
            period(*one.period),
            one.maps,
            number(one.data["records"]),
            percent(result.weights.get(one.key)),
            agreed(one),
        )
        for one in result.clinics
    )
    headings = ("Clinic", "Months", "Maps", "Records", "Weight", "Practitioners agree")
    return Table("What each clinic sent", headings, rows, (3, 4, 5))


def _clinics_rates(result: RolledUp) -> Table:
    rows = tuple((one.name, *(cell(one.rates[key]) for key, _, _ in RATES)) for one in result.clinics)
    headings = ("Clinic", *(label for _, label, _ in RATES))
    return Table("Rates of each clinic", headings, rows, tuple(range(1, len(headings))))
