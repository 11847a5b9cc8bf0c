"""`visit-bridge receive`: what arrived, taken over as visit files, or as rows of a layout beside them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
    from bridge.issues import Report
    from bridge.layout import Layout
    from bridge.receive.settling import Settling
    from bridge.taken_over import Arrived


@click.command("receive")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "folder",
    default="received",
    show_default=True,
    metavar="FOLDER",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where to write; made where it is missing.",
)
@click.option(
    "--as",
    "written",
    type=click.Choice(["yaml", "csv", "xlsx"]),
    default="yaml",
    show_default=True,
    help="Visit files alone, or rows of a layout too, in a new file beside FOLDER: received-rows.csv.",
)
@click.option(
    "--layout",
    metavar="NAME",
    help="With --as csv or xlsx: a layout by its file, or by its name. Default: the only one of your practice folder.",
)
@click.option(
    "--into",
    "held",
    multiple=True,
    metavar="SOURCE",
    type=click.Path(path_type=Path),
    help="Your records, to find out which clients you have already.",
)
@click.option("--unsigned", is_flag=True, help="Open a parcel that nobody signed; it is told each time.")
@click.option("--replace", is_flag=True, help="Write over visit files that are there and say something else.")
@practice_option
@showing_options
def command(
    sources: tuple[Path, ...],
    folder: Path,
    written: Literal["yaml", "csv", "xlsx"],
    layout: str | None,
    held: tuple[Path, ...],
    unsigned: bool,
    replace: bool,
    practice: Path | None,
    showing: Showing,
) -> None:
    """Take over what arrived, as visit files.

    SOURCE is a parcel of `handover` (a folder, .zip, or .zip.age); a FHIR R4
    bundle in JSON, XML or NDJSON, of any system; a PDF that carries its data,
    or CDA, of visit-bridge; a folder or a pattern of them; or a dash for standard
    input. It is checked first. Every visit becomes a file in YAML, called as its
    letter is (M26-0101.yaml), that `check`, `convert` and `letter` take as
    records. What a visit has no place for stays as it came, in M26-0101.kept.json,
    and M26-0101.account.json says what became of everything. Documents of one
    visit that hold different parts of it make a file each, and it is told which
    says most.

    A parcel that was changed or wrongly signed gives nothing. With --into, a
    client is taken for one of yours on a number only, with nothing that
    contradicts it; name and birth date alone make a question. A file that is
    there and says something else stays as it is unless you say --replace. The
    sealing key comes from your practice, a passphrase from
    VISIT_BRIDGE_PASSPHRASE or is asked for.

    \b
    Examples:
      visit-bridge receive M26-0101.bundle.json
      visit-bridge receive M26-0101.pdf M26-0102.cda.xml --to in
      visit-bridge receive C-1001-handover --unsigned --into visits-2026.csv
      visit-bridge receive M26-0102.bundle.json --as xlsx --layout one-row-per-ear
      cat M26-0101.bundle.json | visit-bridge receive - --to in
    """
    from bridge.cli.finish import finish
    from bridge.cli.received_files import Writer, write_all, write_rows
    from bridge.issues import Report

    if layout and written == "yaml":
        raise click.UsageError("--layout is for rows; say --as csv or --as xlsx too.")
    place = _practice(practice, needed=written != "yaml" or bool(held))
    wanted = _layout(layout, place) if place and written != "yaml" else None
    report = Report()
    settling = _settling(place, held, report)
    documents = [one for one in _arrived(sources, place, unsigned, report, showing) if _taken(one, report)]
    writer = Writer(folder, report, showing, replace=replace)
    visits = write_all(documents, settling, writer, report)
    if written != "yaml" and wanted and place:
        beside = Writer(folder.parent, report, showing, replace=replace)
        write_rows(visits, wanted, place, written, f"{folder.resolve().name}-rows", beside, report)
    finish(report, showing)


def _taken(document: Arrived, report: Report) -> bool:
    report.extend(i.at(file=document.file) for i in document.issues)
    report.count("not taken over", int(not document.taken))
    return document.taken


def _arrived(
    sources: Sequence[Path], place: Path | None, unsigned: bool, report: Report, showing: Showing
) -> Iterator[Arrived]:
    """Every document of the sources, and of the parcels among them, with what comes of it."""
    from bridge.cli.looked_at import looked_at
    from bridge.cli.received_parcels import is_parcel, opened_parcel, parcels_among
    from bridge.cli.records import told_apart
    from bridge.cli.sources import sources_named
    from bridge.errors import InputError
    from bridge.read.find import unread
    from bridge.taken_over import arrived, from_parcel

    parcels, others = parcels_among(sources)
    paths = list[Path]()
    if others:
        found = click.get_current_context().with_resource(sources_named(others, documents=True))
        report.extend(found.issues)
        parcels += [path for path in found.paths if is_parcel(path)]
        paths = [path for path in found.paths if path not in parcels]
    alone = len(paths) + len(parcels) == 1
    documents, records, refused = told_apart(paths) if paths else ([], [], {})
    for path in records:
        told = InputError(f"{path.name} is no document.", "`check`, `convert` and `letter` take records as they are.")
        report.extend([unread(path, refused.get(path, told))])
    report.count("documents looked at", 0)
    report.count("not taken over", 0)
    for path, data, issues in looked_at(documents, report, showing, alone=alone):
        report.count("documents looked at")
        yield arrived(data, path.name, issues)
    for path in parcels:
        report.count("parcels opened", 0)
        parcel = opened_parcel(path, place, unsigned=unsigned)
        report.extend(i.at(file=path.name) for i in parcel.issues)
        report.count("parcels opened" if parcel.ok else "parcels refused")
        if parcel.ok:
            for document in from_parcel(parcel, path.name):
                report.count("documents looked at", int(not document.beside))
                yield document


def _practice(named: Path | None, *, needed: bool) -> Path | None:
    """The practice folder, where there is one; raises SettingsError where it is needed and missing."""
    from bridge.errors import SettingsError
    from bridge.practice_place import find_practice

    try:
        return find_practice(named)
    except SettingsError:
        if named or needed:
            raise
        return None


def _settling(place: Path | None, held: Sequence[Path], report: Report) -> Settling:
    """What is there already, as far as it was named."""
    from bridge.issues import Issue
    from bridge.receive.settling import Settling

    if place is None:
        return Settling()
    from bridge.practice import load_practice

    settings, issues = load_practice(place)
    if settings is None:
        report.extend(issues)
        return Settling()
    settling = Settling(settings.clinic)
    if held:
        from bridge.taken_over import held_visits

        for one in held_visits(held, place, settings.zone):
            if isinstance(one, Issue):
                report.extend([one])
            else:
                report.count("visits held")
                settling.hold(one)
    return settling


def _layout(named: str | None, place: Path) -> Layout:
    """The layout by its file or its name, of the practice's own and the shipped ones; or the practice's only one."""
    from bridge.data import table_path
    from bridge.errors import InputError
    from bridge.layout import load_layout, load_usable

    if named and Path(named).is_file():
        return load_layout(Path(named))
    own, _ = load_usable(place / "layouts")
    if named is None:
        if len(own) == 1:
            return own[0]
        told = f"Your practice folder has {len(own)} layouts, so it is not clear which one the rows are to have."
        raise InputError(told, "Name it with --layout.")
    shipped, _ = load_usable(table_path("layouts"))
    for layout in (*own, *shipped):
        if named.casefold() in (layout.name.casefold(), Path(layout.file).stem.casefold()):
            return layout
    names = ", ".join(f"“{name}”" for name in dict.fromkeys(layout.name for layout in (*own, *shipped)))
    raise InputError("There is no layout of that name.", f"There are: {names}.")
