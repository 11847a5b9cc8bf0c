"""`visit-bridge keys`: the keys that sign and seal parcels, and those of other clinics."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from bridge.cli.keys_forget import forget, in_groups
from bridge.cli.options import json_option, practice_option

_NAMES = {"signing-key": "signing key", "sealing-key": "sealing key", "pseudonym-key": "key for pseudonyms"}
_CARE = """\
What they are for: the signing key shows that a parcel comes from you and was
not changed; the sealing key opens what others seal for you.
Keep a copy of the folder “keys” away from this computer, in a password safe or
on paper in a locked drawer. Send it to nobody, and never by e-mail.
If the sealing key is lost, nobody can open what was sealed for it. If the
signing key is lost, make a new one, and tell the clinics that know you.
If somebody else may have got hold of either: tell those clinics today, so that
they take back their trust in it (visit-bridge keys forget)."""


@click.group("keys")
def command() -> None:
    """Make the keys that sign and seal parcels, and trust those of others.

    \b
    Examples:
      visit-bridge keys make
      visit-bridge keys show
      visit-bridge keys trust "Alder Hearing" --file alder-keys.json
      visit-bridge keys forget "Alder Hearing"
    """


command.add_command(forget)


@command.command("make")
@click.option("--keyring", is_flag=True, help="Keep them in the system's keyring instead of the folder “keys”.")
@click.option("--pseudonyms", is_flag=True, help="Also the key that keeps pseudonyms the same from run to run.")
@practice_option
@json_option
def make(keyring: bool, pseudonyms: bool, practice: Path | None, as_json: bool) -> None:
    """Make your signing and sealing keys, where there are none yet.

    They go into the folder “keys” of your practice, which only you can read. A
    key that is there is never written over.

    \b
    Examples:
      visit-bridge keys make
      visit-bridge keys make --pseudonyms
    """
    from bridge.parcel.own import make_key
    from bridge.practice_place import find_practice

    folder = find_practice(practice)
    wanted = ["signing-key", "sealing-key", *(["pseudonym-key"] if pseudonyms else [])]
    made = {name: make_key(name, folder, keyring=keyring) for name in wanted}
    if as_json:
        click.echo(json.dumps({"made": made, **_own(folder)}, indent=2))
        return
    place = "in the system's keyring" if keyring else f"in {folder / 'keys'}"
    for name, new in made.items():
        click.echo(f"Made: your {_NAMES[name]}, {place}." if new else f"There is a {_NAMES[name]} already; it stays.")
    click.echo()
    _tell_own(folder)
    if any(made.values()):
        click.echo(f"\n{_CARE}")


@command.command("show")
@click.option("--to", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path),
              help="Write your public halves here, to give to others.")  # fmt: skip
@practice_option
@json_option
@click.pass_context
def show(ctx: click.Context, to: Path | None, practice: Path | None, as_json: bool) -> None:
    """Show the public halves of your keys, and the clinics that you trust.

    What it shows and writes may be given to anybody. The exit code is 1 where
    you have no signing key yet.

    \b
    Examples:
      visit-bridge keys show
      visit-bridge keys show --json
      visit-bridge keys show --to our-keys.json
    """
    from bridge.parcel.known import known_keys
    from bridge.parcel.own import own_card
    from bridge.practice_place import find_practice

    folder = find_practice(practice)
    card = own_card(folder, _clinic(folder))
    known = known_keys(folder)
    if as_json:
        rows = [{"name": key.name, "fingerprint": key.fingerprint, "sealing_key": key.recipient} for key in known]
        click.echo(json.dumps({**_own(folder), "known": rows}, indent=2, ensure_ascii=False))
    else:
        _tell_own(folder)
        for key in known:
            seals = "" if key.recipient else " (you cannot seal for it yet)"
            click.echo(f"\nYou trust: {key.name}{seals}\n{in_groups(key.fingerprint)}")
    if to is not None and card is not None:
        _write(to, card.as_json())
        click.echo(f"\nWritten: {to}", err=as_json)
    ctx.exit(0 if card else 1)


@command.command("trust")
@click.argument("name")
@click.option("--file", metavar="FILE", type=click.Path(path_type=Path), help="The file that the clinic gave you.")
@click.option("--fingerprint", metavar="WORDS", default="", help="The fingerprint as it was told to you.")
@click.option("--instead", is_flag=True, help="In place of the key by which you know the clinic.")
@practice_option
def trust(name: str, file: Path | None, fingerprint: str, instead: bool, practice: Path | None) -> None:
    """Remember the key of another clinic, under its NAME in its parcels.

    Ring the clinic first, on a number that you have from elsewhere, and compare
    the fingerprint. With --file alone you are shown it and asked; to seal
    parcels for the clinic, its file is needed. The exit code is 1 where you say
    no, and 3 where the file or its key cannot be trusted or is your own.

    \b
    Examples:
      visit-bridge keys trust "Alder Hearing" --file alder-keys.json
    """
    from bridge.parcel.keys import as_fingerprint
    from bridge.parcel.known import same_name
    from bridge.parcel.own import read_card
    from bridge.parcel.trust import not_our_own, trusted
    from bridge.practice_place import find_practice

    folder = find_practice(practice)
    if file is None and not fingerprint:
        raise click.UsageError("Say which key: --fingerprint, or --file, or both.")
    if fingerprint and as_fingerprint(fingerprint) is None:
        raise click.UsageError("That is no fingerprint: it has 64 digits and letters from a to f, or 43 characters.")
    if not name.strip() or not name.isprintable():
        raise click.UsageError("The clinic needs a name, as it stands in its parcels.")
    card = read_card(file) if file else None
    not_our_own(folder, card.fingerprint if card else as_fingerprint(fingerprint) or "", card.recipient if card else "")
    if card is not None and card.clinic.isprintable() and not same_name(card.clinic or name, name):
        click.echo(
            f"The file is of “{card.clinic}”. You know the parcels only of a clinic that is named as you say here."
        )
    if card is not None and not fingerprint and not _confirmed(card.fingerprint):
        click.echo("Nothing was changed. Ring them on a number that you have from elsewhere.")
        click.get_current_context().exit(1)
    new = trusted(folder, name, card, fingerprint, instead=instead)
    click.echo("Remembered. Parcels signed with this key are known now." if new else "You trust it already.")


def _confirmed(fingerprint: str) -> bool:
    click.echo(f"The key in the file has the fingerprint\n{in_groups(fingerprint)}")
    try:
        return click.confirm("Is it the one that the clinic read out to you?", default=False)
    except click.Abort:
        if sys.stdin.isatty():
            raise
        click.echo()
        raise click.UsageError("Nobody is here to compare it. Say --fingerprint as it was told to you.") from None


def _own(folder: Path) -> dict[str, object]:
    from bridge.parcel import spoken
    from bridge.parcel.own import own_card

    card = own_card(folder, _clinic(folder))
    if card is None:
        return {"fingerprint": None}
    return {
        "fingerprint": card.fingerprint,
        "spoken": spoken(card.fingerprint),
        "signing_key": card.signing,
        "sealing_key": card.recipient,
    }


def _tell_own(folder: Path) -> None:
    from bridge.parcel.own import own_card

    card = own_card(folder, "")
    if card is None:
        click.echo("You have no signing key yet. Make it with: visit-bridge keys make")
        return
    click.echo(f"Your fingerprint, to be read out on the telephone:\n{in_groups(card.fingerprint)}")
    if card.recipient:
        click.echo(f"Your public sealing key, for those who send to you:\n  {card.recipient}")
    click.echo("Both may be given to anybody: visit-bridge keys show --to our-keys.json")


def _clinic(folder: Path) -> str:
    """The clinic's name as far as practice.yaml can be read: the keys do not depend on it."""
    from bridge.practice.folder import load_practice

    practice, _ = load_practice(folder)
    return practice.clinic.name if practice else ""


def _write(path: Path, content: bytes) -> None:
    from bridge.errors import BridgeError, InputError
    from bridge.safe_write import write_bytes

    if path.exists():
        raise InputError(f"{path} is there already; nothing was written over.", "Name another file.")
    try:
        write_bytes(path, content)
    except OSError as error:
        raise BridgeError(f"{path} cannot be written: {error.strerror}.", "Name another file.") from None
