"""`visit-bridge convert`: records in, checked documents out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
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
    type=click.Choice(["document", "transaction", "collection", "ndjson"]),
    default="document",
    show_default=True,
    help="Documents: visit summary and referral; or, for your own systems, a transaction, a collection, or NDJSON.",
)
@click.option("--letters", is_flag=True, help="Write each document as an HTML page too.")
@practice_option
@showing_options
def command(
    sources: tuple[Path, ...],
    folder: Path,
    layout: Path | None,
    kind: Kind,
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

    \b
    Examples:
      visit-bridge convert visits-2026.csv --to out
      visit-bridge convert visits --letters
      visit-bridge convert ears-2026.csv --as transaction --report json
    """
    from bridge.cli.finish import finish
    from bridge.cli.records import new_report, open_practice, run
    from bridge.cli.sources import sources_named
    from bridge.deliver import Shelf
    from bridge.pipeline import bundle_document, bundle_name, letter_page, names_of, placed

    converter = open_practice(practice, showing)
    report, shelf = new_report(converter), Shelf(folder)
    found = click.get_current_context().with_resource(sources_named(sources))
    report.extend(found.issues)
    for conversion in run(converter, found.paths, layout, kind, report, showing):
        visit = conversion.visit
        if visit is None:
            continue
        stem = shelf.stem(visit.number, visit.version)
        for name in names_of(kind):
            bundle = conversion.bundles.get(name)
            if bundle is None:
                left = shelf.leave(bundle_name(stem, name))
            else:
                left = shelf.put(bundle_document(bundle, stem, name))
                if letters and kind == "document":
                    shelf.put(letter_page(bundle, stem, name))
            report.extend(placed(i, conversion) for i in left)
    report.count("files written", shelf.written)
    finish(report, showing)
