"""The end of a command: show the report, leave with its exit code."""

from __future__ import annotations

import sys
from io import StringIO
from typing import NoReturn, TextIO

import click

from bridge.cli.options import Showing
from bridge.issues import Report


def finish(report: Report, showing: Showing, stream: TextIO | None = None) -> NoReturn:
    """Writes the report (stdout unless a stream is given) and exits 1 where it fails, else 0.

    With `quiet`, only issues at or above `fail_on` are told, and what needs attention now; a text report without any
    prints nothing.
    """
    show(report, showing, stream)
    click.get_current_context().exit(1 if report.fails(showing.fail_on) else 0)


def show(report: Report, showing: Showing, stream: TextIO | None = None) -> None:
    """Writes the report and goes on."""
    from bridge.report import wants_colour, write_report

    target = stream or sys.stdout
    told = report
    if showing.quiet:
        told = Report([i for i in report.issues if i.attention or i.severity >= showing.fail_on], report.figures)
        if showing.form == "text" and not told.issues:
            return
    page, colour = StringIO(), wants_colour(target)
    write_report(told, page, showing.form, verbose=showing.verbose, colour=colour)
    # click.echo makes colours work on old Windows consoles too.
    click.echo(page.getvalue(), file=target, nl=False, color=colour)
