"""`visit-bridge letter`: a document bundle as a page that a person reads."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from bridge.cli.options import Showing, showing_options


@click.command("letter")
@click.argument("bundles", nargs=-1, required=True, metavar="BUNDLE...", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "folder",
    metavar="FOLDER",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where to write. Default: beside each bundle.",
)
@click.option("--print", "to_stdout", is_flag=True, help="Print the page instead of writing a file.")
@showing_options
def command(bundles: tuple[Path, ...], folder: Path | None, to_stdout: bool, showing: Showing) -> None:
    """Show a document as a letter that a person can read.

    BUNDLE is a document bundle in JSON or XML (a lone dash: standard input). The
    page is made from the bundle alone, so it shows what the doctor's system
    receives. A bundle with errors makes no letter; the report says why. What the
    clinical rules warn of is told beside it; `check` tells all that they say.

    \b
    Examples:
      visit-bridge letter M26-0101.bundle.json
      visit-bridge letter M26-0101.bundle.json --print
    """
    from bridge.cli.finish import finish
    from bridge.cli.records import told_apart
    from bridge.deliver import write_document
    from bridge.errors import InputError
    from bridge.fhir.files import read_file
    from bridge.fhir.read_json import MAX_BYTES
    from bridge.issues import Report, Severity
    from bridge.pipeline import letter_of
    from bridge.read.find import unread
    from bridge.received import SecondLook, check_received, document_stem
    from bridge.shapes import Document

    report, look = Report(), SecondLook()
    _, records, refused = told_apart([path for path in bundles if str(path) != "-"])
    for path in bundles:
        if path in records:
            told = InputError(f"{path.name} is no FHIR document.", "`convert` makes documents of records first.")
            report.extend([unread(path, refused.get(path, told))])
            report.count("without a letter")
            continue
        content = sys.stdin.buffer.read(MAX_BYTES + 1) if str(path) == "-" else read_file(path)
        data, issues = check_received(content, "standard input" if str(path) == "-" else path.name)
        report.extend(issues)
        if data is None or any(i.severity >= Severity.error for i in issues):
            report.count("without a letter")
            continue
        report.extend(look.warnings(data, "standard input" if str(path) == "-" else path.name, issues))
        page = letter_of(data)
        if to_stdout or str(path) == "-":
            click.echo(page.content.decode("utf-8"), nl=False)
            continue
        stem = document_stem(path.name).removesuffix(".bundle")
        written = write_document(Document(f"{stem}.html", page.media_type, page.content), folder or path.parent)
        report.count("letters written")
        if showing.form == "text" and not showing.quiet:
            click.echo(f"{written}")
    finish(report, showing, sys.stderr if to_stdout else None)
