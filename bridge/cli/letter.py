"""`visit-bridge letter`: documents or records as letters that a person reads."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
    from bridge.letters import Form, Paper, Reader

FORMS = ("pdf", "html", "json", "xml", "cda")


def _forms(ctx: click.Context, option: click.Parameter, values: tuple[str, ...]) -> tuple[str, ...]:
    named = [one.strip().lower() for value in values for one in value.split(",")]
    for one in named:
        if one not in FORMS:
            raise click.BadParameter(f"{one!r} is none of {', '.join(FORMS)}.")
    return tuple(dict.fromkeys(named))


def _days(ctx: click.Context, option: click.Parameter, values: tuple[str, ...]) -> tuple[str, ...]:
    for value in values:
        try:
            if date.fromisoformat(value).isoformat() != value:
                raise ValueError
        except ValueError:
            raise click.BadParameter(f"{value!r} is no day; write it as 2026-05-04.") from None
    return values


@click.command("letter")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--as",
    "forms",
    multiple=True,
    callback=_forms,
    metavar="FORM,...",
    help="pdf, html, json, xml (FHIR) or cda; several with commas. Default: pdf, or html with --print.",
)
@click.option("--visit", "visits", multiple=True, metavar="NUMBER", help="Only this visit. Repeatable.")
@click.option("--client", "clients", multiple=True, metavar="NUMBER", help="Only visits of this client. Repeatable.")
@click.option(
    "--day",
    "days",
    multiple=True,
    callback=_days,
    metavar="YYYY-MM-DD",
    help="Only visits of this day, by the clinic's clock. Repeatable.",
)
@click.option(
    "--for",
    "reader",
    type=click.Choice(["doctor", "client"]),
    default="doctor",
    show_default=True,
    help="Who reads it: the doctors, as the consent allows; or the client, their own copy in plain words.",
)
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"], case_sensitive=False),
    help="Size of the PDF. Default: as is usual in the region.",
)
@click.option("--large", is_flag=True, help="Large type.")
@click.option(
    "--with-data/--without-data",
    "with_data",
    default=None,
    help="Whether a PDF carries its document; some mail refuses that. Default: letters to doctors do, the client's own "
    "copy does not, because the document speaks the trade's words.",
)
@click.option(
    "--to",
    "folder",
    metavar="FOLDER",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where to write; made where it is missing. Default: beside each document; letters of records: in `letters`.",
)
@click.option("--with-names", is_flag=True, help="Put the client's name into the names of the files.")
@click.option("--replace", is_flag=True, help="Write over letters that are there and say something else.")
@click.option("--print", "to_stdout", is_flag=True, help="Send the one letter to standard output, not to a file.")
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@practice_option
@showing_options
def command(
    sources: tuple[Path, ...],
    forms: tuple[Form, ...],
    visits: tuple[str, ...],
    clients: tuple[str, ...],
    days: tuple[str, ...],
    reader: Reader,
    paper: str | None,
    large: bool,
    with_data: bool | None,
    folder: Path | None,
    with_names: bool,
    replace: bool,
    to_stdout: bool,
    layout: Path | None,
    practice: Path | None,
    showing: Showing,
) -> None:
    """Make letters that a person reads, of documents or of your records.

    SOURCE is a document (FHIR in JSON or XML, a PDF or CDA of ours), or records
    as `convert` takes them; a folder or a pattern of such files; or a dash for
    standard input, whose letter goes to standard output.

    A letter is made from the document alone, so it shows what the doctor's
    system receives; a PDF carries that document with it. Records are checked
    first, and a letter to a doctor is made only where it is due. A document or
    visit with errors makes no letter; the report says why.

    Files are called by the number of the visit: M26-0101.pdf, a referral
    M26-0101.referral.pdf, a draft M26-0101.draft.pdf. A file that is there and
    says something else stays as it is unless you say --replace.

    \b
    Examples:
      visit-bridge letter M26-0101.bundle.json
      visit-bridge letter M26-0101.bundle.json --as html,cda --to out
      visit-bridge letter visits-2026.csv --day 2026-01-12
      visit-bridge letter visits-2026.csv --visit M26-0102 --visit M26-0103
      visit-bridge letter visits-2026.csv --client C-1001 --for client --large
      visit-bridge letter M26-0101.bundle.json --print
      cat M26-0101.bundle.json | visit-bridge letter - --as pdf > letter.pdf
    """
    from bridge.cli.chosen import Chosen
    from bridge.cli.desk import Desk, refuse_terminal
    from bridge.cli.finish import finish
    from bridge.cli.letter_sources import of_documents, of_records
    from bridge.cli.records import open_practice, told_apart
    from bridge.cli.sources import sources_named
    from bridge.deliver import Keeper
    from bridge.issues import Report
    from bridge.letters import Wish
    from bridge.read.find import unread

    to_stdout = to_stdout or (folder is None and [str(source) for source in sources] == ["-"])
    wanted: tuple[Form, ...] = forms or (("html",) if to_stdout else ("pdf",))
    if to_stdout:
        refuse_terminal(wanted)
    size = cast("Paper | None", paper and {"a4": "A4", "letter": "Letter"}[paper.lower()])
    carries = reader == "doctor" if with_data is None else with_data
    wish = Wish(wanted, reader, size, large, carries, with_names)
    found = click.get_current_context().with_resource(sources_named(sources, documents=True))
    report, chosen = Report(found.issues), Chosen(visits, clients, days)
    desk = Desk(wish, Keeper(replace=replace), report, folder, to_stdout)
    documents, records, refused = told_apart(found.paths)
    converter = open_practice(practice, showing) if len(refused) < len(records) else None
    of_documents(documents, desk, chosen, practice, showing, alone=len(found.paths) == 1)
    if converter is not None:
        of_records(records, desk, chosen, layout, converter, showing)
    else:  # no practice is needed to say that nothing can be read
        desk.report.extend(unread(source, error) for source, error in refused.items())
    desk.report.extend(chosen.missing())
    desk.close(quiet=showing.quiet or showing.form != "text")
    finish(desk.report, showing, sys.stderr if to_stdout else None)
