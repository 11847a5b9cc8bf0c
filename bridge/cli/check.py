"""`visit-bridge check`: records or bundles, told apart by looking."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from bridge.cli.options import Showing, practice_option, showing_options


@click.command("check")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of a CSV source. Default: the one that your practice folder names or has.",
)
@click.option("--second-opinion", is_flag=True, help="Ask the fhir.resources package too (bundles; slower).")
@practice_option
@showing_options
def command(
    sources: tuple[Path, ...], layout: Path | None, second_opinion: bool, practice: Path | None, showing: Showing
) -> None:
    """Check records or received documents; nothing is written.

    SOURCE is a record that `convert` takes, or a FHIR R4 bundle or resource in
    JSON, from wherever it came; which of them it is, is told by looking. A lone
    dash reads JSON from standard input.

    \b
    Examples:
      visit-bridge check visits-2026.csv
      visit-bridge check M26-0101.bundle.json --report json
      cat M26-0101.bundle.json | visit-bridge check -
    """
    from bridge.cli.finish import finish
    from bridge.cli.records import new_report, open_practice, run
    from bridge.errors import InputError
    from bridge.issues import Report
    from bridge.pipeline import check_received, looks_like_json, read_source

    report, records = Report(), list[Path]()
    for source in sources:
        if str(source) == "-":
            report.extend(check_received(sys.stdin.buffer.read(), "standard input", second_opinion)[1])
            report.count("bundles checked")
        elif looks_like_json(source):
            report.extend(check_received(read_source(source), source.name, second_opinion)[1])
            report.count("bundles checked")
        elif not source.exists():
            raise InputError(f"There is no file {source}.", "Check the name and the folder.")
        else:
            records.append(source)
    if records:
        converter = open_practice(practice, showing)
        told = new_report(converter)
        for _ in run(converter, records, layout, "document", told, showing):
            pass
        told.extend(report.issues)
        told.figures.update(report.figures)
        report = told
    finish(report, showing)
