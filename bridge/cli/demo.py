"""`visit-bridge demo`: the records of an invented clinic, converted before your eyes."""

from __future__ import annotations

from pathlib import Path

import click

from bridge.cli.options import Showing, showing_options


@click.command("demo")
@click.argument(
    "folder",
    default="visit-bridge-demo",
    metavar="[FOLDER]",
    type=click.Path(file_okay=False, path_type=Path),
)
@showing_options
def command(folder: Path, showing: Showing) -> None:
    """Convert the records of an invented clinic, to see how it goes.

    Some thirty visits of two practitioners, kept in two CSV sheets, a workbook, a
    database and YAML files, become checked FHIR R4 documents and letters. Nobody
    in them is real. FOLDER is made where it is missing (default:
    visit-bridge-demo).

    \b
    Examples:
      visit-bridge demo
      visit-bridge demo "my demo folder"
    """
    from bridge.cli.finish import show
    from bridge.cli.records import new_report, open_practice, tally
    from bridge.demo import make_demo, unpack

    unpack(folder)
    converter = open_practice(folder / "practice", showing)
    report = new_report(converter)
    for conversion in make_demo(folder, converter):
        report.extend(conversion.issues)
        tally(report, conversion)
    show(report, showing)
    if showing.form == "text" and not showing.quiet:
        click.echo(_where(folder))
    click.get_current_context().exit(1 if report.fails(showing.fail_on) else 0)


def _where(folder: Path) -> str:
    import sys

    told = Path(sys.argv[0])
    command = str(told) if told.name == "visit-bridge" and told.parent != Path() else "visit-bridge"
    return f"""
In {folder}{"" if str(folder).endswith("/") else "/"}
  practice/         the clinic's settings, its layouts and its address book
  records/          the visits as the clinic keeps them, in five ways
  *.bundle.json     one FHIR R4 document for each letter that is due
  letters/          the same letters to read, as PDF and for the browser; and
                    the client's own copy where no letter is due
  cda/              the same letters as CDA R2
  summaries/        the whole record of a client who moves on, as one document
  transactions/     every visit again, for the practice's own FHIR server

Next, your own clinic:
  {command} setup my-practice

It checks the record, not the patient:
local rules and licensed practice come first."""
