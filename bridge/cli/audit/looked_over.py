"""What `audit run` and `audit figures` share: the sources looked over, and the result shown."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing
from bridge.issues import Severity

if TYPE_CHECKING:
    from bridge.audit.report.lines import Line
    from bridge.audit.shapes import Audited
    from bridge.pipeline import Converter


def looked_over(
    sources: Sequence[Path],
    layout: Path | None,
    practice: Path | None,
    showing: Showing,
    apart: Sequence[Path | None] = (),
    months: tuple[str, str] | None = None,
) -> tuple[Audited, Converter, str]:
    """The audit of the sources by the practice's own words, and the clinic's name; documents need no practice.

    `apart`: files of an earlier run that are no source; `months`: the first and the last that count.

    Raises UsageError and InputError.
    """
    from bridge.audited import audit
    from bridge.cli.audit.months import Within
    from bridge.cli.audit.nobody import converter_for
    from bridge.cli.records import LARGE, progress
    from bridge.cli.sources import sources_named
    from bridge.layout import load_layout

    found = click.get_current_context().with_resource(sources_named(sources, documents=True))
    named = load_layout(layout) if layout else None
    ours = {path.resolve() for path in apart if path}
    paths = [path for path in found.paths if path.resolve() not in ours]
    converter, clinic = converter_for(practice, paths, showing)
    large = len(paths) > 1 or any(path.is_file() and path.stat().st_size >= LARGE for path in paths)
    within = Within(months)
    with progress("Looking", None, large, showing) as seen:
        audited = audit(paths, converter, named, seen=seen, wanted=within)
    told = set(audited.issues)
    audited.issues = [*(one for one in found.issues if one not in told), *audited.issues]
    audited.issues += within.told()
    return audited, converter, clinic


def shown(audited: Audited, showing: Showing, fail_on: str, *, show_few: bool) -> bool:
    """Prints the audit; whether anything is at least as bad as `fail_on`, which can be `never`."""
    from bridge.audit.report.as_json import to_json
    from bridge.audit.report.as_text import failing, summary

    at = None if fail_on == "never" else Severity[fail_on]
    fails = at is not None and any(
        severity >= at
        for severity in (*(one.severity for one in audited.patterns if one.records.count),
                         *(one.severity for one in audited.issues))
    )  # fmt: skip
    if showing.form == "json":
        click.echo(json.dumps(to_json(audited, show_small=show_few), indent=2))
    elif not showing.quiet:
        echo_lines(list(summary(audited, verbose=showing.verbose, show_small=show_few)))
    elif fails and at is not None:
        echo_lines(list(failing(audited, at)))
    return fails


def echo_lines(lines: Sequence[Line], *, err: bool = False) -> None:
    """On standard output or error, with colours where they belong."""
    from bridge.audit.report.lines import write_lines
    from bridge.report import wants_colour

    stream = sys.stderr if err else sys.stdout
    page, colour = StringIO(), wants_colour(stream)
    write_lines(lines, page, colour)
    click.echo(page.getvalue(), file=stream, nl=False, color=colour)
