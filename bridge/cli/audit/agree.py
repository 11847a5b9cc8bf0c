"""`visit-bridge audit agree`: filled re-coding sheets held against the record and against each other."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.audit.written import refuse, replace_option, write
from bridge.cli.options import Showing, showing_options

if TYPE_CHECKING:
    from bridge.audit.agree import Agreed


@click.command("agree")
@click.argument(
    "sheets",
    metavar="SHEET...",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)
@click.option(
    "--key",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="The key that `audit sample` wrote. Default: the one that lies beside the sheets.",
)
@click.option("--csv", "to_csv", metavar="FILE", type=click.Path(path_type=Path), help="Write every difference as CSV.")
@replace_option
@showing_options
def command(sheets: tuple[Path, ...], key: Path | None, to_csv: Path | None, replace: bool, showing: Showing) -> None:
    """Say how far the coders of filled sheets agree.

    Each SHEET was written by `visit-bridge audit sample` and filled by one coder
    working alone; the name of the file is taken for theirs. Told are, with the
    record and between coders, the share of equal codes, Cohen's kappa and
    Krippendorff's alpha, by field and by practitioner, every difference with its
    type, and all that is wrong with a sheet. It judges nobody.

    \b
    Examples:
      visit-bridge audit agree recoded.xlsx
      visit-bridge audit agree recoded.xlsx --csv differences.csv --json
    """
    from bridge.audit.agree.as_data import as_csv, as_data
    from bridge.audited_sample import agreement, key_for
    from bridge.issues import Report

    refuse({"--csv": to_csv}, sheets, replace)
    done = agreement(key_for(sheets, key), sheets)
    if to_csv is not None:
        write(to_csv, as_csv(done))
    report = Report(done.issues, {"sheets": len(sheets), "lines": done.lines, "differences": len(done.differences)})
    if showing.form == "json":
        from bridge.report.as_json import to_json

        click.echo(json.dumps({**to_json(report), "agreement": as_data(done)}, indent=2, ensure_ascii=False))
    elif showing.form == "text" and not showing.quiet:
        _tell(done, showing)
    else:
        from bridge.cli.finish import show

        show(report, showing)
    click.get_current_context().exit(1 if report.fails(showing.fail_on) else 0)


def _tell(done: Agreed, showing: Showing) -> None:
    """What is wrong with the sheets first, then the figures; the differences stand among these."""
    from io import StringIO

    from bridge.audit.agree.as_text import told
    from bridge.audit.agree.shapes import ERRORS
    from bridge.audit.report.lines import write_lines
    from bridge.cli.finish import show
    from bridge.issues import Report
    from bridge.report import wants_colour

    wrong = [i for i in done.issues if i.rule not in ERRORS.values()]
    if wrong:
        show(Report(wrong), showing)
        click.echo()
    page, colour = StringIO(), wants_colour(sys.stdout)
    write_lines(told(done, verbose=showing.verbose), page, colour)
    click.echo(page.getvalue(), nl=False, color=colour)
