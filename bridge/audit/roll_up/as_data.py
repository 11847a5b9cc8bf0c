"""Many clinics' figures as JSON and as CSV."""

from __future__ import annotations

import csv
from dataclasses import asdict
from io import StringIO
from typing import Any

from bridge import __version__
from bridge.audit.report.as_json import issue_json
from bridge.audit.roll_up.add import Pooled, RolledUp
from bridge.audit.roll_up.words import RATES
from bridge.safe_text import safe_cell


def to_json(result: RolledUp) -> dict[str, Any]:
    """Every key always there; `low` and `high` of a sum differ where clinics withheld small counts."""
    return {
        "tool": "visit-bridge",
        "version": __version__,
        "records": result.records,
        "period": {"first": result.period[0], "last": result.period[1]},
        "rates": {key: _pooled(one) for key, one in result.rates.items()},
        "patterns": {key: _pooled(one) for key, one in result.patterns.items()},
        "clinics": [
            {
                "key": one.key,
                "name": one.name,
                "file": one.file,
                "period": {"first": one.period[0], "last": one.period[1]},
                "maps": one.data["maps"],
                "records": one.data["records"],
                "weight": result.weights.get(one.key),
                "rates": {key: asdict(cell) for key, cell in one.rates.items()},
                "agreement": one.data["agreement"],
            }
            for one in result.clinics
        ],
        "terms": [
            {"kind": one.kind, "text": one.text, "about": one.about, "clinics": one.clinics, "between": one.between,
             "codes": [{"system": s, "code": c, "count": n} for s, c, n in one.codes]}
            for one in result.terms
        ],
        "missing": [{"key": one.key, "name": one.name} for one in result.missing],
        "issues": [issue_json(one) for one in result.issues],
    }  # fmt: skip


def _pooled(told: Pooled) -> dict[str, Any]:
    shares = told.shares or (None, None)
    return {**asdict(told), "share_low": shares[0], "share_high": shares[1]}


HEADINGS = (
    "clinic",
    "key",
    "first",
    "last",
    "maps",
    "rate",
    "count",
    "count_low",
    "count_high",
    "of",
    "share",
    "withheld",
)


def to_csv(result: RolledUp) -> str:
    """A row for each clinic and rate, then the sums under the name `all`; safe to open in a spreadsheet."""
    page = StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(HEADINGS)
    rows: list[tuple[object, ...]] = []
    for one in result.clinics:
        for key, _, _ in RATES:
            cell = one.rates[key]
            share = cell.count / cell.of if cell.count is not None and cell.of else None
            ends = (cell.count, cell.low if cell.of is not None else None, cell.high if cell.of is not None else None)
            rows.append((one.name, one.key, *one.period, one.maps, key, *ends, cell.of, share, cell.withheld))
    for key, told in result.rates.items():
        exact = told.low if told.low == told.high else None
        share = exact / told.of if exact is not None and told.of else None
        rows.append(("all", "", *result.period, "", key, exact, told.low, told.high, told.of, share, ""))
    writer.writerows([safe_cell(value) for value in row] for row in rows)
    return page.getvalue()
