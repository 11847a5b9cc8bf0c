"""Agreement for programs and spreadsheets."""

from __future__ import annotations

import csv
import io
from dataclasses import asdict
from typing import Any

from bridge.audit.agree.shapes import Agreed, Difference, Share
from bridge.audit.agree.yardstick import levels
from bridge.audit.measures import band
from bridge.audit.shapes import Agreement, Rate
from bridge.safe_text import safe_cell

COLUMNS = (
    "line", "type", "field", "words", "stands under", "record has", "record codes", "coders chose", "codes chosen",
    "coders", "of coders", "one code for both", "visit", "path", "file", "sheet", "row", "practitioner", "month",
)  # fmt: skip


def as_data(agreed: Agreed) -> dict[str, Any]:
    """Everything but the issues, as plain data; a share is between 0 and 1, and null where it is not defined."""
    return {
        "sheet": agreed.sheet,
        "seed": agreed.seed,
        "drawn_from": agreed.of,
        "spread_by": agreed.by,
        "lines": agreed.lines,
        "coders": [asdict(coder) for coder in agreed.coders],
        "with_record": [_share(share) for share in agreed.with_record],
        "weighted": agreed.weighted,
        "between": [_agreement(one) for one in agreed.between],
        "everyone": _agreement(agreed.everyone) if agreed.everyone else None,
        "by_field": [_share(share) for share in agreed.kinds],
        "by_practitioner": [_share(share) for share in agreed.practitioners],
        "differences": [dict(zip(COLUMNS, _row(one), strict=True)) for one in agreed.differences],
        "answered_in_two_ways": [asdict(one) for one in agreed.two_ways],
        "yardstick": {"of": "hospital trusts, not ear care", "percent": [asdict(level) for level in levels()]},
    }


def as_csv(agreed: Agreed) -> str:
    """A row for each difference, with a mark in front that tells UTF-8; no cell runs as a formula."""
    page = io.StringIO(newline="")
    writer = csv.writer(page)
    writer.writerow(COLUMNS)
    writer.writerows([safe_cell(cell) for cell in _row(one)] for one in agreed.differences)
    return f"\ufeff{page.getvalue()}"


def _row(one: Difference) -> tuple[object, ...]:
    given = one.given
    return (
        given.line, one.error, given.field, given.words, given.under, one.has, " ".join(one.codes),
        one.chosen, " ".join(one.chosen_codes), ", ".join(one.coders),
        one.of, "yes" if one.same_code else "no", given.record, given.path, given.file, given.sheet, given.row,
        given.practitioner, given.month,
    )  # fmt: skip


def _rate(rate: Rate) -> dict[str, Any]:
    return {"count": rate.count, "of": rate.of, "share": rate.share}


def _share(share: Share) -> dict[str, Any]:
    return {
        "name": share.name,
        "lines": share.lines,
        "same": _rate(share.same),
        "right": _rate(share.right),
        "interval95": list(share.interval) if share.interval else None,
        "kappa": share.kappa,
        "kappa_word": band(share.kappa),
        "errors": share.errors,
    }


def _agreement(one: Agreement) -> dict[str, Any]:
    return {**asdict(one), "kappa_word": band(one.kappa)}
