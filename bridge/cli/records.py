"""What convert, check and demo share: the practice, the sources one by one, progress, and the counts."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing
from bridge.issues import LeftAlone, Outcome, Report

if TYPE_CHECKING:
    from bridge.cli.chosen import Chosen
    from bridge.errors import BridgeError
    from bridge.pipeline import Conversion, Converter, Kind

LETTER_FIGURES = {"summary": "visit summaries", "referral": "referral letters", "client": "copies for clients"}
"""How a report counts each kind of letter."""
LARGE = 300_000
"""Bytes from which a source is worth a progress bar."""
MANY = 100
"""Records or documents from which they are worth one."""


def open_practice(folder: Path | None, showing: Showing) -> Converter:
    """A converter for the practice folder; with problems in the settings, all are told and the exit code is 3."""
    from bridge.cli.finish import show
    from bridge.pipeline import Converter
    from bridge.practice import find_practice, load_practice

    found = find_practice(folder)
    practice, issues = load_practice(found)
    if practice is None:
        show(Report(issues), showing)
        click.get_current_context().exit(3)
    return Converter(practice, found, issues)


def told_apart(sources: Sequence[Path]) -> tuple[list[Path], list[Path], dict[Path, BridgeError]]:
    """Documents, records, and those of the records that cannot be read.

    Raises InputError where there is only one source, and that cannot be read.
    """
    from bridge.errors import InputError
    from bridge.received import is_received

    documents, records = list[Path](), list[Path]()
    refused: dict[Path, BridgeError] = {}
    for source in sources:
        try:
            (documents if is_received(source) else records).append(source)
        except InputError as error:
            if len(sources) == 1:
                raise
            records.append(source)
            refused[source] = error
    return documents, records, refused


def new_report(converter: Converter) -> Report:
    """An empty report with what was found in the settings, its figures in the order of the summary line."""
    figures = dict.fromkeys(
        (
            "visits",
            "ready",
            "drafts among the ready",
            "approvals held back",
            "need you",
            "no letter due",
            "rows left alone",
            LETTER_FIGURES["summary"],
            LETTER_FIGURES["referral"],
        ),
        0,
    )
    return Report(list(converter.issues), figures)


def run(
    converter: Converter,
    sources: Sequence[Path],
    layout: Path | None,
    kind: Kind,
    report: Report,
    showing: Showing,
    chosen: Chosen | None = None,
) -> Iterator[Conversion]:
    """Converts every source and counts what became of its records; of visits that are not `chosen` nothing is told.

    One of several that cannot be read is told; a single one ends the run.
    """
    from bridge.layout import load_layout

    named = load_layout(layout) if layout else None
    large = any(source.is_file() and source.stat().st_size >= LARGE for source in sources)
    with progress("Reading", None, large, showing):
        counts = converter.scan(sources, named)
    report.extend(converter.told_of_sources())
    large = large or sum(counts.values()) >= MANY
    wanted = (lambda visit: chosen.visit(visit, converter.zone)) if chosen else None
    for source in counts:
        with progress(source.name, counts[source], large, showing) as seen:
            for conversion in converter.convert(source, named, kind, wanted):
                seen()
                if not chosen or chosen.record(conversion):
                    report.extend(conversion.issues)
                    tally(report, conversion)
                elif conversion.visit is None:
                    report.count("records that are no visit")
                yield conversion


def tally(report: Report, conversion: Conversion) -> None:
    """Counts what became of one record; a sheet's headings are no record."""
    if conversion.state != "left alone":
        report.count("visits")
        report.count(conversion.state)
        for name in conversion.bundles:
            if name in LETTER_FIGURES:
                report.count(LETTER_FIGURES[name])
        if conversion.state == "ready" and conversion.visit and not conversion.visit.approved:
            report.count("drafts among the ready")
        report.count("approvals held back", int(conversion.held_back))
        report.outcomes.append(Outcome(_number(conversion), conversion.state, conversion.where))
    elif conversion.left_alone != "headings":
        report.count("rows left alone")
        report.left_alone.append(LeftAlone(conversion.left_alone, conversion.where))


def _number(conversion: Conversion) -> str:
    return conversion.visit.number if conversion.visit else conversion.where.record


@contextmanager
def progress(name: str, total: int | None, large: bool, showing: Showing) -> Iterator[Callable[[], None]]:
    """A bar on a terminal where a source is large; it counts records, whatever they are read from."""
    if showing.quiet or not large or not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(name, total=total)
        yield lambda: progress.update(task, advance=1)
