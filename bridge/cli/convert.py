"""`visit-bridge convert`: records in, checked documents out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
    from bridge.deliver import Shelf
    from bridge.fhir.written import Form
    from bridge.issues import Report
    from bridge.pipeline import Kind


@click.command("convert")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "folder",
    default="bundles",
    show_default=True,
    metavar="FOLDER",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where to write; made where it is missing.",
)
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@click.option(
    "--as",
    "kind",
    type=click.Choice(["document", "transaction", "collection", "ndjson", "ips"]),
    default="document",
    show_default=True,
    help="Documents: visit summary and referral; or, for your own systems, a transaction, a collection, or NDJSON; "
    "or ips: one International Patient Summary for each client.",
)
@click.option(
    "--format",
    "written",
    type=click.Choice(["json", "xml"]),
    help="How documents are written; default: json. A FHIR document that you name is written anew in this form.",
)
@click.option("--letters", is_flag=True, help="Write each document as an HTML page too.")
@practice_option
@showing_options
def command(
    sources: tuple[Path, ...],
    folder: Path,
    layout: Path | None,
    kind: Kind | Literal["ips"],
    written: Form | None,
    letters: bool,
    practice: Path | None,
    showing: Showing,
) -> None:
    """Turn your visit records into checked documents.

    SOURCE is a sheet (CSV, Excel, SQLite or JSON) or visits in YAML or JSON; a
    folder or a pattern of such files; or a dash, which reads one from standard
    input. Each visit stands alone: one with
    errors writes nothing, the others go on. A document is written only where the
    client agreed: the visit summary, that the family doctor may be told; the
    referral letter, where a referral is recorded, that its receiver may be told.
    Nothing is sent anywhere.

    With --as ips, all visits of a client in the sources named make one document,
    the whole record for the next clinic. It is written only where every visit of
    the client is without errors and the newest answer on sharing does not
    refuse it.

    With --format, SOURCE may also be a FHIR document in JSON or XML, as others
    send it: one without errors is written anew in the form named.

    \b
    Examples:
      visit-bridge convert visits-2026.csv --to out
      visit-bridge convert visits --letters
      visit-bridge convert ears-2026.csv --as transaction --report json
      visit-bridge convert visits-2026.csv --as ips --to summaries
      visit-bridge convert visits-2026.csv --format xml --to out
      visit-bridge convert M26-0101.bundle.json --format xml --to out
    """
    from bridge.cli.finish import finish
    from bridge.cli.records import new_report, open_practice, run, told_apart
    from bridge.cli.sources import sources_named
    from bridge.cli.summaries import write_summaries
    from bridge.deliver import Shelf
    from bridge.issues import Report
    from bridge.pipeline import bundle_document, bundle_name, letter_page, names_of, placed
    from bridge.read.find import unread

    if written == "xml" and kind == "ndjson":
        raise click.UsageError("NDJSON is JSON; choose --as collection for XML.")
    found = click.get_current_context().with_resource(sources_named(sources))
    shelf, anew = Shelf(folder), Report(found.issues)
    documents, records, refused = told_apart(found.paths)
    if written:
        _write_anew(documents, written, shelf, anew, practice)
    else:
        records = found.paths
    if len(refused) == len(records):  # no practice is needed to say that nothing can be read
        anew.extend(unread(source, error) for source, error in refused.items())
        anew.count("files written", shelf.written)
        finish(anew, showing)
    converter = open_practice(practice, showing)
    form, report = written or "json", new_report(converter)
    report.extend(anew.issues)
    report.figures.update(anew.figures)
    if kind == "ips":
        write_summaries(
            run(converter, records, layout, "collection", report, showing), converter, form, shelf, report, letters
        )
        finish(report, showing)
    for conversion in run(converter, records, layout, kind, report, showing):
        visit = conversion.visit
        if visit is None:
            continue
        stem = shelf.stem(visit.number, visit.version)
        for name in names_of(kind):
            bundle = conversion.bundles.get(name)
            if bundle is None:
                left = shelf.leave(bundle_name(stem, name, form))
            else:
                left = shelf.put(bundle_document(bundle, stem, name, form))
                if letters and kind == "document":
                    shelf.put(letter_page(bundle, stem, name))
            report.extend(placed(i, conversion) for i in left)
    report.count("files written", shelf.written)
    finish(report, showing)


def _write_anew(documents: Sequence[Path], form: Form, shelf: Shelf, report: Report, practice: Path | None) -> None:
    """Writes FHIR documents in the form named; one with errors is left as it is."""
    from bridge.fhir.files import read_file
    from bridge.received import SecondLook, rewritten

    look = SecondLook(practice)
    for source in documents:
        document, issues = rewritten(read_file(source), source.name, form, look)
        report.extend(issues)
        if document is None:
            report.count("FHIR files left as they are")
            continue
        if (shelf.folder / document.name).resolve() == source.resolve():
            raise click.UsageError(f"{source.name} would be written over itself; name another folder with --to.")
        report.extend(shelf.put(document))
