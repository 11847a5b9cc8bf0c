"""Issues as a person, a program, a spreadsheet or a FHIR server wants to read them."""

from __future__ import annotations

import os
from importlib import import_module
from typing import TextIO

from bridge.issues import Report

FORMS = ("text", "json", "csv", "outcome")


def write_report(
    report: Report, stream: TextIO, form: str = "text", verbose: bool = False, colour: bool | None = None
) -> None:
    """Writes the report in one of FORMS, ending with a line end.

    `verbose` (text only) lists every place of a cause. `colour` (text only): None means only where
    the stream is a terminal that takes colours. Raises ValueError for another form.
    """
    if form not in FORMS:
        raise ValueError(f"no such form of report: {form}")
    if form == "text":
        from bridge.report.as_text import write_report as write_text

        write_text(report, stream, verbose, wants_colour(stream) if colour is None else colour)
    else:
        import_module(f"bridge.report.as_{form}").write_report(report, stream)


def wants_colour(stream: TextIO) -> bool:
    """Whether colours belong on this stream: a terminal, no NO_COLOR (https://no-color.org), not a dumb one."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return stream.isatty()
