"""`visit-bridge deidentify`: visits without who they are about, for teaching or for an audit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
    from bridge.deidentified import Form
    from bridge.deidentify.wishes import Dates, Purpose

SHORTEST = 32
"""Characters of a key: with fewer, all keys could be tried until the pseudonym of a known number comes out."""


@click.command("deidentify")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option("--to", "folder", required=True, metavar="FOLDER", type=click.Path(path_type=Path),
              help="A new folder for the files.")  # fmt: skip
@click.option("--for", "purpose", required=True, type=click.Choice(["teaching", "audit"]), help="What they are for.")
@click.option("--as", "shape", type=click.Choice(["yaml", "ndjson", "bundles"]), default="yaml", show_default=True,
              help="Visit files, all visits in one file, or FHIR bundles.")  # fmt: skip
@click.option("--dates", type=click.Choice(["shift", "year"]),
              help="Move all dates of a client alike, or keep the year alone. Default: shift for teaching, year for an "
              "audit.")  # fmt: skip
@click.option("--with-text", is_flag=True, help="Keep free text, for teaching: names may stand in it.")
@click.option("--small", default=5, show_default=True, type=click.IntRange(2, 1000), metavar="N",
              help="Warn of combinations with fewer clients.")  # fmt: skip
@click.option("--once", is_flag=True, help="Make pseudonyms with a key for this run alone, that is thrown away.")
@click.option("--layout", metavar="FILE", type=click.Path(exists=True, dir_okay=False, path_type=Path),
              help="A layout for sheets.")  # fmt: skip
@practice_option
@showing_options
def command(
    sources: tuple[Path, ...], folder: Path, purpose: Purpose, shape: Form, dates: Dates | None, with_text: bool,
    small: int, once: bool, layout: Path | None, practice: Path | None, showing: Showing,
) -> None:  # fmt: skip
    """Take out of visits who they are about, for teaching or an audit.

    SOURCE is a file of your records or a document, a folder or a pattern. Names,
    numbers, addresses, telephones, images, lots and batches are left out; numbers
    of visits, clients and practitioners become pseudonyms. Free text is left out;
    words that no table knows become “redacted”. All dates of a client move into
    the past by one number of weeks, or only the year is kept. Nobody over 89 has a
    birth year.

    With a key of your practice (`visit-bridge keys make --pseudonyms`) a client has
    the same pseudonym in each run for the same purpose; without one, and with
    --once, nobody can link two runs.

    What comes out is still about persons: pseudonymised is not anonymous.

    \b
    Examples:
      visit-bridge deidentify visits-2026.csv --to course --for teaching
      visit-bridge deidentify visits-2026.csv --to coding --for audit --once
    """
    import os

    from bridge.cli.finish import finish
    from bridge.cli.records import open_practice
    from bridge.cli.sources import sources_named
    from bridge.deidentified import deidentified, gathered, written
    from bridge.deidentify import Wishes
    from bridge.errors import BridgeError, InputError, SettingsError
    from bridge.issues import Made, Report
    from bridge.layout import load_layout
    from bridge.parcel import write_folder
    from bridge.practice.secrets import secret

    if with_text and purpose == "audit":
        raise click.UsageError("An audit needs no free text; --with-text is for teaching.")
    if folder.exists():
        raise InputError(f"{folder} is there already; it was left as it is.", "Name a new folder.")
    converter = open_practice(practice, showing)
    kept = None if once else secret("pseudonym-key", converter.folder)
    if kept and len(kept) < SHORTEST:
        raise SettingsError(
            f"The key for pseudonyms has fewer than {SHORTEST} characters, so that it could be guessed.",
            "Make one with `visit-bridge keys make --pseudonyms`, or say --once.",
        )
    key = kept.encode() if kept else os.urandom(32)
    wishes = Wishes(purpose, dates or ("year" if purpose == "audit" else "shift"), with_text, small)
    with sources_named(sources, documents=True) as found:
        read = gathered(found.paths, converter, load_layout(layout) if layout else None)
        report = Report([*found.issues, *read.issues])
    result = deidentified(read.visits, key, wishes, converter.maps, converter.practice)
    report.extend(result.issues)
    report.count("visits", len(read.visits))
    report.count("visits written", len(result.visits))
    report.count("clients", result.clients)
    report.count("not read", read.unread)
    if result.visits:
        try:
            write_folder(written(result, shape, converter, key, wishes), folder)
        except OSError as error:
            raise BridgeError(f"{folder} cannot be written: {error.strerror}.", "Name another folder.") from None
        report.files.append(Made(str(folder), "written"))
    finish(report, showing)
