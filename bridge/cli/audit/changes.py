"""`visit-bridge audit changes`: two editions of the term maps over the same records."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.audit.written import refuse, replace_option, write
from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
    from bridge.audit.changes import Changed
    from bridge.issues import Report


@click.command("changes")
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@click.argument("sources", metavar="SOURCE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@click.option("--csv", "to_csv", metavar="FILE", type=click.Path(path_type=Path), help="Write every change as CSV.")
@replace_option
@practice_option
@showing_options
def command(
    old: str,
    new: str,
    sources: tuple[Path, ...],
    layout: Path | None,
    to_csv: Path | None,
    replace: bool,
    practice: Path | None,
    showing: Showing,
) -> None:
    """Say which records two editions of the maps read differently.

    OLD and NEW are each a practice folder (its own `terms` over those that are
    shipped), a folder of tables like this program's `mappings`, or the word
    `shipped`. The records and documents in SOURCE are read once and coded by
    both. With OLD `sent`, the codes that documents of this program were sent with
    are held against NEW. Told is which words and records would read the same,
    finer, different, or were wrong. Nothing is written to a record, and nothing
    is sent again.

    \b
    Examples:
      visit-bridge audit changes shipped . visits-2026.csv
      visit-bridge audit changes shipped . visits-2026.csv --csv changes.csv
      visit-bridge audit changes sent shipped M26-0101.bundle.json
    """
    from bridge.audit.changes.as_data import as_csv, as_data
    from bridge.audited_changes import SENT, changed
    from bridge.cli.records import open_practice
    from bridge.cli.sources import sources_named
    from bridge.coding.edition import load_edition
    from bridge.issues import Report
    from bridge.layout import load_layout

    refuse({"--csv": to_csv}, sources, replace)
    context = click.get_current_context()
    found = context.with_resource(sources_named(sources, documents=True))
    converter = open_practice(practice, showing)
    licensed = converter.practice.codes == "licensed"
    before = None if old == SENT else load_edition(old, licensed=licensed)
    now = load_edition(new, licensed=licensed)
    done = changed(converter, before, now, found.paths, load_layout(layout) if layout else None)
    if to_csv is not None:
        write(to_csv, as_csv(done))
    report = Report([*found.issues, *done.issues], {str(state): count for state, count in done.records.items()})
    if showing.form == "json":
        from bridge.report.as_json import to_json

        click.echo(json.dumps({**to_json(report), "changes": as_data(done)}, indent=2, ensure_ascii=False))
    elif showing.form == "text" and not showing.quiet:
        _tell(done, report, showing)
    else:
        from bridge.cli.finish import show

        show(report, showing)
    context.exit(1 if report.fails(showing.fail_on) else 0)


def _tell(done: Changed, report: Report, showing: Showing) -> None:
    from io import StringIO

    from bridge.audit.changes.as_text import told
    from bridge.audit.changes.shapes import RULES
    from bridge.audit.report.lines import write_lines
    from bridge.cli.finish import show
    from bridge.issues import Report
    from bridge.report import wants_colour

    if wrong := [i for i in report.issues if i.rule not in RULES.values()]:
        show(Report(wrong), showing)
        click.echo()
    page, colour = StringIO(), wants_colour(sys.stdout)
    write_lines(told(done, verbose=showing.verbose), page, colour)
    click.echo(page.getvalue(), nl=False, color=colour)
