"""Figures of one clinic to give away: no record, no client, no key of a practitioner, no rare word, no small count."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any

from bridge import __version__
from bridge.audit.figures.cells import FEW, Cell, cell, counts, hidden, row
from bridge.audit.report.words import MEASURES, OF_GROUPS
from bridge.audit.shapes import Audited, PatternFound, Rate
from bridge.issues import Issue, issue
from bridge.telling_words import may_tell_who

FORMAT = "visit-bridge audit figures"
EDITION = 1
_MONTH = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])")
_OF_CODED = ("unspecific", "retired")
"""Rates whose whole can be the count of coded things, and would tell it where it is withheld."""


@dataclass(frozen=True, slots=True)
class About:
    """Whose figures they are, and by which maps words got their codes."""

    key: str
    """The same for a clinic every time; it tells nothing about it."""
    name: str
    maps: str
    """Edition of the maps, such as `2026-11`."""
    codes: str
    """`free` or `licensed`."""


def figures(audited: Audited, about: About, known: Callable[[str], bool] | None = None) -> dict[str, Any]:
    """Plain data as `mappings/schemas/audit-figures.schema.json` has it. `known` answers whether
    words are of the trade; only those are given away, and none at all where nobody answers.

    Raises ValueError for fewer than five records, of which nothing may be told.
    """
    if audited.records < FEW:
        raise ValueError("too few records")
    rates = {one.key: cell(one.rate(audited)) for one in MEASURES}
    _as_mirrors(rates)
    for key in _OF_CODED:
        if rates["coded"].count is None and rates[key].of == audited.completeness.count:
            rates[key] = hidden()
    terms = list(_terms(audited, known)) if known else []
    known_months = sorted(one.name for one in audited.months if _MONTH.fullmatch(one.name)) or [""]
    data: dict[str, Any] = {
        "format": FORMAT,
        "edition": EDITION,
        "tool": "visit-bridge",
        "version": __version__,
        "clinic": {"key": about.key, "name": about.name},
        "period": {"first": known_months[0], "last": known_months[-1]},
        "maps": {"edition": about.maps, "codes": about.codes},
        "few": FEW,
        "records": audited.records,
        "practitioners": len(audited.practitioners),
        "rates": {key: asdict(one) for key, one in rates.items()},
        "consistency": asdict(cell(_consistency(audited))),
        "entropy": audited.entropy,
        "agreement": _agreement(audited),
        "months": _months(audited),
        "patterns": [_pattern(one) for one in audited.patterns],
        "terms": terms,
        "words_left_out": len(audited.terms) - len(terms),
    }
    data["withheld"] = withheld(data)
    return {**data, "sha256": digest(data)}


def refused(audited: Audited) -> list[Issue]:
    """Why no figures may be made of it: A252 for fewer than five records."""
    return [issue("A252", f"There are fewer than {FEW} records.")] if audited.records < FEW else []


def digest(data: dict[str, Any]) -> str:
    """Of everything but itself. It tells a file that was changed by mistake; it proves nothing of who made it."""
    rest = {key: value for key, value in data.items() if key != "sha256"}
    text = json.dumps(rest, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def withheld(data: Any) -> int:
    """How many cells of the data are withheld."""
    if isinstance(data, dict):
        return int(bool(data.get("withheld"))) + sum(withheld(value) for value in data.values())
    return sum(withheld(value) for value in data) if isinstance(data, list) else 0


def _as_mirrors(rates: dict[str, Cell]) -> None:
    """What is not coded is in words only: where the one count is withheld, the other would tell it."""
    if rates["coded"].count is None or rates["text-only"].count is None:
        for key in ("coded", "text-only"):
            if rates[key].count is not None:
                rates[key] = replace(rates[key], count=None, withheld="other")


def _consistency(audited: Audited) -> Rate:
    coded = [one.codes for one in audited.terms if one.codes]
    return Rate(sum(codes[0].count for codes in coded), sum(use.count for codes in coded for use in codes))


def _agreement(audited: Audited) -> dict[str, Any] | None:
    if not audited.agreement or audited.agreement[0].things < FEW:
        return None
    told = audited.agreement[0]
    return {"things": told.things, "percent": told.percent, "kappa": told.kappa, "alpha": told.alpha}


def _months(audited: Audited) -> list[dict[str, Any]]:
    """Months as records of others name them can be anything: what is none has no row, and is in the sums alone."""
    months = sorted((one for one in audited.months if _MONTH.fullmatch(one.name)), key=lambda one: one.name)
    columns = {one.key: row([one.rate(month) for month in months]) for one in OF_GROUPS}
    records = counts([month.records for month in months])
    cells = [{key: column[at] for key, column in columns.items()} for at in range(len(records))]
    for month, shown, rates in zip(months, records, cells, strict=True):
        _as_mirrors(rates)
        if shown is None:
            rates["conflicts"] = hidden()
        if rates["coded"].count is None and rates["unspecific"].of == month.coded.count:
            rates["unspecific"] = hidden()
    return [
        {
            "month": month.name,
            "records": records[at],
            "withheld": "" if records[at] is not None else "few",
            "rates": {key: asdict(one) for key, one in cells[at].items()},
        }
        for at, month in enumerate(months)
    ]


def _pattern(found: PatternFound) -> dict[str, Any]:
    shown = not found.not_shown
    return {
        "pattern": found.pattern,
        "severity": found.severity.name,
        "shown": shown,
        "records": asdict(cell(found.records) if shown else Cell(None, None)),
    }


def _terms(audited: Audited, known: Callable[[str], bool]) -> Iterator[dict[str, Any]]:
    """Known words that got a code often enough. Words without a code may be anything, and stay at home."""
    given = set[tuple[str, str, str]]()
    for term in audited.terms:
        key = (term.kind, term.text, term.about)
        codes = [use for use in term.codes if use.count >= FEW and len(use.system) <= 300 and len(use.code) <= 200]
        if (
            term.count < FEW
            or len(term.kind) > 120
            or not (codes and term.text)
            or may_tell_who(term.text, set(), known)
            or not known(term.text)
            or key in given
        ):
            continue
        given.add(key)
        rest = term.count - sum(use.count for use in codes)
        yield {
            "kind": term.kind,
            "text": term.text,
            "about": term.about,
            "count": None if 0 < rest < FEW else term.count,
            "withheld": "few" if 0 < rest < FEW else "",
            "codes": [{"system": use.system, "code": use.code, "count": use.count} for use in codes],
        }
