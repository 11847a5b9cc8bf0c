"""`visit-bridge audit roll-up`: the figures of many clinics together, and who is missing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.audit.months import period
from bridge.cli.audit.written import replace_option
from bridge.cli.options import FAIL_ON, json_option

if TYPE_CHECKING:
    from bridge.audit.figures import Figures
    from bridge.issues import Issue

MOST_FILES = 5_000


@click.command("roll-up")
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path(exists=True, path_type=Path))
@click.option(
    "--expected",
    metavar="FILE.csv",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="List of the clinics that are to send figures: a column key or name.",
)
@click.option("--months", metavar="FIRST..LAST", help="Months that all are to tell of, such as 2026-01..2026-03.")
@click.option(
    "--html", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path), help="Write a page with charts."
)
@click.option(
    "--csv", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path), help="Write the rates as a sheet."
)
@click.option(
    "--fail-on",
    type=click.Choice((*FAIL_ON, "never")),
    default="error",
    show_default=True,
    help="Least severity of an issue with the files that makes the exit code 1.",
)
@click.option("--quiet", "-q", is_flag=True, help="Only what fails; nothing at all when all is well.")
@click.option("--verbose", "-v", is_flag=True, help="Every pattern and every term.")
@replace_option
@json_option
def command(
    files: tuple[Path, ...],
    expected: Path | None,
    months: str | None,
    html: Path | None,
    csv: Path | None,
    fail_on: str,
    quiet: bool,
    verbose: bool,
    replace: bool,
    as_json: bool,
) -> None:
    """Add the figures of many clinics, and name those that are missing.

    FILE is what `audit figures` wrote in a clinic, or a folder of such files.
    Counts are added and shares taken of the sums; an average of averages is never
    made, and kappa is not added at all. A file that is no figures, contradicts
    itself, or is the second of one clinic is told and not counted. Named are
    clinics that sent nothing, other months, and older maps.

    \b
    Examples:
      visit-bridge audit roll-up figures
      visit-bridge audit roll-up figures --expected figures/clinics.csv
      visit-bridge audit roll-up figures --html all.html --csv all.csv
      visit-bridge audit roll-up figures --months 2026-01..2026-06 --json
    """
    import json

    from bridge.audit.roll_up import added, expected_of
    from bridge.audit.roll_up.as_data import to_csv, to_json
    from bridge.cli.audit.looked_over import echo_lines
    from bridge.cli.audit.written import refuse, write
    from bridge.issues import Severity

    asked = period(months)
    paths = _files(files, {path.resolve() for path in (html, csv) if path})
    refuse({"--html": html, "--csv": csv}, [*paths, *([expected] if expected else [])], replace)
    given, issues = _read(paths)
    listed = None
    if expected:
        listed, told = expected_of(expected.read_bytes(), expected.name)
        issues += told
    result = added(given, listed, asked)
    result.issues = [*issues, *result.issues]
    at = None if fail_on == "never" else Severity[fail_on]
    failing = [one for one in result.issues if at is not None and one.severity >= at]
    if as_json:
        click.echo(json.dumps(to_json(result), indent=2))
    elif not quiet:
        from bridge.audit.roll_up.as_text import summary

        echo_lines(list(summary(result, verbose=verbose)))
    elif failing:
        from bridge.audit.report.lines import issues_told

        echo_lines(list(issues_told(failing)))
    if html:
        from bridge.audit.roll_up.as_html import to_html

        write(html, to_html(result))
    if csv:
        write(csv, to_csv(result))
    click.get_current_context().exit(1 if failing else 0)


def _files(named: Sequence[Path], apart: set[Path]) -> list[Path]:
    """Files as named, and of folders those that end with .json, in the order of their names."""
    found: list[Path] = []
    for path in named:
        found += sorted(path.glob("*.json")) if path.is_dir() else [path]
    chosen = [path for path in dict.fromkeys(found) if path.is_file() and path.resolve() not in apart]
    if not chosen:
        raise click.UsageError("There is no file of figures among what is named.")
    if len(chosen) > MOST_FILES:
        raise click.UsageError(f"More than {MOST_FILES:,} files are named.")
    return chosen


def _read(paths: Sequence[Path]) -> tuple[list[Figures], list[Issue]]:
    from bridge.audit.figures import read_figures
    from bridge.audit.figures.read import MOST_BYTES

    given, issues = [], []
    for path in paths:
        with path.open("rb") as stream:
            found, told = read_figures(stream.read(MOST_BYTES + 1), path.name)
        issues += told
        if found:
            given.append(found)
    return given, issues
