"""What a cell of words comes to: a sheet with one column of words, read through its layout and coded.

The real path from the cell to the coded visit, for tables of cases.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from bridge.coding import TermMaps, code_visit
from bridge.ear_words import EARS
from bridge.fhir.systems import OWN
from bridge.layout import load_layout
from bridge.read.visits import read_visits
from bridge.visit import Term, Visit, terms_of

FIXED = {"No": "number", "Date": "start.date", "Name": "client.legal_name.family"}
BESIDE = {
    "right.work.instruments.name": {"right.work.method": "microsuction"},
    "right.work.events": {"right.work.method": "microsuction"},
    "right.work.tolerance": {"right.work.method": "microsuction"},
    "right.work.outcome": {"right.work.method": "microsuction"},
    "right.work.outcome_reason": {"right.work.method": "microsuction", "right.work.outcome": "partial"},
    "right.work.products": {"right.work.method": "microsuction"},
    "right.before.view.reason": {"right.before.view": "none"},
    "right.before.view.device": {"right.before.view": "full"},
    "right.before.drum.findings.moisture": {"right.before.drum.findings.term": "perforation"},
    "right.before.drum.findings.amount": {"right.before.drum.findings.term": "scar"},
    "right.before.drum.findings.place.parts": {"right.before.drum.findings.term": "perforation"},
    "right.before.canal.findings.place.walls": {"right.before.canal.findings.term": "graze"},
    "referral.to": {"referral.urgency": "routine", "referral.reason": "to be looked at"},
}
"""Fields that cannot stand alone, with what stands beside them in these sheets."""


class Fact(NamedTuple):
    ear: str
    concept: str
    assertion: str
    amount: str
    text: str


class Told(NamedTuple):
    facts: tuple[Fact, ...]
    answers: tuple[str, ...]
    """`right drum normal`, `left view none`."""
    notes: tuple[str, ...]
    rules: tuple[str, ...]
    read: bool
    codes: tuple[str, ...]
    """Codes of other systems, as system and code."""


def told(folder: Path, maps: TermMaps, field: str, cells: Iterable[str], separator: str = "") -> list[Told]:
    """What each cell of a column comes to."""
    beside = BESIDE.get(field, {})
    columns: dict[str, Any] = {**FIXED, "X": {"to": field, "list": separator} if separator else field}
    columns |= {f"Y{at}": path for at, path in enumerate(beside)}
    layout = folder / "layout.yaml"
    import json

    layout.write_text(json.dumps({"name": "t", "rows": "visit", "dates": ["yyyy-mm-dd"], "columns": columns}), "utf-8")
    sheet = folder / "sheet.csv"
    cells = list(cells)
    with sheet.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(columns)
        for at, cell in enumerate(cells):
            writer.writerow([f"V{at:05}", "2026-03-02", "Testington", cell, *beside.values()])
    found: list[Told] = []
    for reading in read_visits(sheet, load_layout(layout), ZoneInfo("Europe/London")):
        if reading.left_alone:
            continue
        rules = [issue.rule for issue in reading.issues if issue.rule != "R155"]  # cells that say the same are meant
        if reading.visit is None:
            found.append(Told((), (), (), tuple(sorted(set(rules))), False, ()))
            continue
        visit, issues = code_visit(reading.visit, maps)
        rules += [issue.rule for issue in issues]
        found.append(_told(visit, set(beside), rules))
    assert len(found) == len(cells)
    return found


def _told(visit: Visit, beside: set[str], rules: list[str]) -> Told:
    facts, answers, notes, codes = [], [], [], []
    for path, term in terms_of(visit):
        bare = path.replace("[0]", "")
        if bare in beside or f"{bare}.term" in beside or any(bare == f"{b}.{e}" for b in beside for e in ("amount",)):
            continue
        if path.endswith(".amount") and ".findings" in path:
            continue
        facts.append(Fact(_ear(path), _own(term), term.assertion or "", _amount(visit, path), term.text))
        codes += [f"{c.system} {c.code}" for c in term.codings if c.system != OWN]
    data = visit.model_dump(exclude_none=True)
    for ear in EARS:
        for key, value in _walk(data.get(ear) or {}):
            if key == "note":
                notes.append(f"{ear} {value}")
            elif key == "answer" or key == "achieved":
                answers.append(f"{ear} {value}")
    notes += [f"visit {visit.note}"] if visit.note else []
    for name in ("allergies", "medicines"):
        part = data.get(name)
        if part and part.get("answer"):
            answers.append(f"{name} {part['answer']}")
    return Told(tuple(facts), tuple(answers), tuple(notes), tuple(sorted(set(rules) - {"R135"})), True, tuple(codes))


def _walk(node: Any) -> Iterable[tuple[str, Any]]:
    if isinstance(node, dict):
        for key, value in node.items():
            if isinstance(value, dict | list | tuple):
                yield from _walk(value)
            else:
                yield key, value
    elif isinstance(node, list | tuple):
        for value in node:
            yield from _walk(value)


def _ear(path: str) -> str:
    first = path.split(".")[0]
    return first if first in EARS else ""


def _own(term: Term) -> str:
    return next((c.code for c in term.codings if c.system == OWN), "")


def _amount(visit: Visit, path: str) -> str:
    if not path.endswith(".term"):
        return ""
    wanted = path.removesuffix("term") + "amount"
    return next((_own(term) or term.text for p, term in terms_of(visit) if p == wanted), "")
