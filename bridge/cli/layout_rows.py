"""What `layout check` shows: columns without a partner, and three rows cell by cell."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from bridge.issues import Issue, Severity

if TYPE_CHECKING:
    from bridge.drafts import ShownCell, Trial

WIDTH = 80
LABEL = 26


def as_lines(trial: Trial) -> Iterator[str]:
    sheet = f", sheet {trial.sheet}" if trial.sheet else ""
    yield f"Layout “{trial.layout.name}”{sheet}: {trial.records} rows of visits"
    yield from _names("Not named by the layout, so not read", trial.unmapped)
    yield from _names("Wanted by the layout, and not in the sheet", trial.missing)
    yield from _names("Known and not used", trial.ignored)
    shown: list[Issue] = []
    for number, cells in trial.rows:
        yield ""
        yield f"Row {number}"
        for cell in cells:
            yield from _cell(cell, trial.layout.rows)
            shown += cell.issues
    rest = [i for i in trial.issues if i not in shown]
    if rest:
        yield ""
        for found in rest:
            yield from wrap(
                f"{_word(found)}: {found.where}: {found.message} ({found.rule})", WIDTH, subsequent_indent="  "
            )


def _names(told: str, headings: list[str]) -> Iterator[str]:
    if headings:
        yield from wrap(f"{told}: {', '.join(f'“{h[:60]}”' for h in headings)}", WIDTH, subsequent_indent="  ")


def _cell(cell: ShownCell, rows: str) -> Iterator[str]:
    from bridge.drafting import field_name

    yield from wrap(f"{cell.heading[:40]}: {_short(cell.cell)}", WIDTH, initial_indent="  ", subsequent_indent="      ")
    told = f"-> {field_name(cell.field, rows)}: {_short(cell.value)}"
    yield from wrap(told, WIDTH, initial_indent="      ", subsequent_indent="         ")
    for found in cell.issues:
        told = f"{_word(found)}: {found.message} ({found.rule})"
        yield from wrap(told, WIDTH, initial_indent="      !! ", subsequent_indent="         ")


def _short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= 200 else f"{flat[:200]}…"


def _word(found: Issue) -> str:
    return {Severity.information: "for your information", Severity.warning: "warning"}.get(found.severity, "error")


def as_data(trial: Trial, *, samples: bool) -> dict[str, Any]:
    """The same as plain data; cells about who the client is only with `samples`."""
    return {
        "layout": trial.layout.name,
        "sheet": trial.sheet,
        "records": trial.records,
        "unmapped": trial.unmapped,
        "missing": trial.missing,
        "ignored": trial.ignored,
        "rows": [{"row": number, "cells": [_as_data(c, samples) for c in cells]} for number, cells in trial.rows],
        "issues": [
            {"rule": i.rule, "severity": i.severity.name, "where": str(i.where), "message": i.message}
            for i in trial.issues
        ],
    }


def _as_data(cell: ShownCell, samples: bool) -> dict[str, Any]:
    shown = samples or not cell.identity
    return {
        "heading": cell.heading,
        "field": cell.field,
        "cell": cell.cell if shown else None,
        "value": cell.value if shown else None,
        "issues": [f"{i.rule} {i.message}" for i in cell.issues],
    }
