"""`visit-bridge handover`: one client's whole record, for the next clinic or for the client."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
    from bridge.handover import Reader


def _day(ctx: click.Context, option: click.Parameter, value: str | None) -> str:
    from datetime import date

    if value is None:
        return date.today().isoformat()
    try:
        if date.fromisoformat(value).isoformat() != value:
            raise ValueError
    except ValueError:
        raise click.BadParameter(f"{value!r} is no day; write it as 2026-05-04.") from None
    return value


def _asked(option: str) -> bool:
    from click.core import ParameterSource

    return click.get_current_context().get_parameter_source(option) is not ParameterSource.DEFAULT


@click.command("handover")
@click.argument("client", metavar="CLIENT")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "folder",
    default="handovers",
    show_default=True,
    metavar="FOLDER",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where to write; made where it is missing.",
)
@click.option(
    "--for",
    "reader",
    type=click.Choice(["clinic", "client"]),
    default="clinic",
    show_default=True,
    help="Who gets it: the clinic that looks after the client next; or the client, without what is other people's.",
)
@click.option(
    "--for-key",
    "keys",
    multiple=True,
    metavar="KEY",
    help="Seal it for this key: age1..., or the name of a clinic that you trust (`keys trust`). Repeatable.",
)
@click.option("--passphrase", "with_passphrase", is_flag=True, help="Seal it with a passphrase, which is asked for.")
@click.option("--plain", is_flag=True, help="A folder that anybody can open who gets hold of it.")
@click.option("--unsigned", is_flag=True, help="Do not sign it.")
@click.option("--replace", is_flag=True, help="Write over a hand-over that is there.")
@click.option("--by", metavar="PERSON", help="Who hands it over, by key or name as in practice.yaml; it is told there.")
@click.option(
    "--date",
    "made",
    callback=_day,
    metavar="YYYY-MM-DD",
    help="Day of the hand-over, not before the visits. Default: today.",
)
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@practice_option
@showing_options
def command(
    client: str,
    sources: tuple[Path, ...],
    folder: Path,
    reader: Reader,
    keys: tuple[str, ...],
    with_passphrase: bool,
    plain: bool,
    unsigned: bool,
    replace: bool,
    by: str | None,
    made: str,
    layout: Path | None,
    practice: Path | None,
    showing: Showing,
) -> None:
    """Hand over one client's whole record, signed and sealed.

    CLIENT is the client's number in your records; SOURCE is what `convert`
    takes. Name all your records: what is not named is not handed over.

    It holds the record in brief (International Patient Summary), every visit
    whole, letters as PDF, pictures that lie beside the records, your own words
    beside their codes, and index.html, a page that a person reads. A record is
    handed over whole or not at all: a visit with errors, visits that may be of
    two people, or a newest answer on sharing that withholds it, stop it.

    Choose how it is closed: --for-key or --passphrase seal it in one file,
    --plain makes a folder that is open. It is signed with your key (`keys
    make`), so that a change shows; --unsigned leaves that out.

    With --for client it is the client's own copy: whatever they said about
    sharing, and without what is other people's. Read what the report names
    before you give it away. Nothing is sent anywhere.

    \b
    Examples:
      visit-bridge handover C-1001 visits-2026.csv --plain --unsigned
      visit-bridge handover C-1001 visits-2026.csv --for client --plain --unsigned
      visit-bridge handover C-1001 visits-2026.csv --for-key "Alder Hearing"
      visit-bridge handover C-1001 visits-2026.csv --passphrase --to out
    """
    from bridge.cli.finish import finish
    from bridge.cli.handover_choices import OnlyTheirs, seal_wished, signing_key_of, whose_hand
    from bridge.cli.records import open_practice, run
    from bridge.cli.sources import sources_named
    from bridge.handover import FILES, OneClient, hand_out, names_of_parcel
    from bridge.issues import Report, issue

    if sum((bool(keys), with_passphrase, plain)) != 1:
        raise click.UsageError(
            "Say how it is closed, with one of: --for-key KEY (sealed for the receiver's key; the safest), "
            "--passphrase (sealed; tell the passphrase by telephone), --plain (a folder that anybody can open)."
        )
    found = click.get_current_context().with_resource(sources_named(sources))
    converter = open_practice(practice, showing)
    person = whose_hand(by, converter.practice) if by else None
    key = None if unsigned else signing_key_of(converter.folder)
    seal, to = seal_wished(keys, with_passphrase, converter.folder)
    report = Report([*found.issues, *converter.issues], dict.fromkeys(("visits", "ready", "need you"), 0))
    one = OneClient(converter, client, reader)
    for conversion in run(converter, found.paths, layout, "collection", report, showing, OnlyTheirs(one)):
        one.take(conversion)
    record, issues = one.record()
    report.extend(i for i in issues if i not in set(report.issues))
    if record is None:
        report.count(FILES, 0)
        finish(report, showing)
    if _asked("made") and record.begins_after(made, converter.zone):
        raise click.UsageError(
            "The day of the hand-over (--date) lies before a visit that it holds. Give the day on which you hand it "
            "over, or none for today; if that is the day, look at the dates of the client's visits."
        )
    name = names_of_parcel(record.stem, reader, seal)
    out = hand_out(record, one, converter, found.paths, folder / name, made, key, seal, to, person, replace=replace)
    report.extend(out.issues)
    stands = [file.path for file in out.files if file.state != "left"]
    if key is None and stands:
        report.extend([issue("D189", "This hand-over is not signed.", cause="D189")])
    report.figures.update(out.counts)
    report.files += out.files
    if showing.form == "text" and not showing.quiet and stands:
        from bridge.parcel import spoken

        click.echo("\n".join(stands))
        if key is not None:
            click.echo(f"Signed. The receiver asks you for this fingerprint by telephone:\n{spoken(key.fingerprint)}")
        click.echo()
    finish(report, showing)
