"""`visit-bridge keys forget`: trust in the key of a clinic is taken back."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import practice_option

if TYPE_CHECKING:
    from bridge.parcel.known import KnownKey

_MOST_NAMES = 20
_BEFORE = """\
Parcels that are here already are not looked at again: see for yourself what
came from there since the key may have been in other hands. Who has their
sealing key can open what you sealed for it."""
_UNKNOWN = """\
A parcel that is signed with it from now on is received with a warning (X136),
as any with a key that you do not know; so ring the clinic before you use it.
When they have a new key, trust that (visit-bridge keys trust): from then on a
parcel in their name with any other key is refused (X137)."""
_REFUSED = """\
You still trust another key of theirs. A parcel in their name with any key that
you do not trust is refused (X137)."""


@click.command("forget")
@click.argument("name")
@click.option("--fingerprint", metavar="WORDS", default="", help="Which key, where you know the clinic by several.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@practice_option
def forget(name: str, fingerprint: str, yes: bool, practice: Path | None) -> None:
    """Take back the trust in the key of the clinic NAME.

    For a key that is lost or may be in other hands. Parcels that you received
    are not looked at again. Where the clinic has a new key already, take "keys
    trust --instead". The exit code is 1 where you say no, and 2 where you trust
    no such key.

    \b
    Examples:
      visit-bridge keys forget "Alder Hearing"
      visit-bridge keys forget "Alder Hearing" --yes
    """
    from bridge.parcel.known import known_keys, same_name
    from bridge.parcel.trust import forgotten
    from bridge.practice_place import find_practice

    folder = find_practice(practice)
    key = _chosen(known_keys(folder), name, fingerprint)
    click.echo(f"You trust the key of “{key.name}” with the fingerprint\n{in_groups(key.fingerprint)}")
    if not yes and not _confirmed():
        click.echo("Nothing was changed; you still trust it.")
        click.get_current_context().exit(1)
    left = forgotten(folder, key)
    others = list(dict.fromkeys(one.name for one in left if one.fingerprint == key.fingerprint))
    click.echo(f"Forgotten. This key of “{key.name}” is no longer trusted.\n{_BEFORE}")
    if any(same_name(one.name, key.name) for one in left):
        click.echo(_REFUSED)
    elif not others:
        click.echo(_UNKNOWN)
    for other in others:
        click.echo(f"\nYou still trust the same key as that of “{other}”. Take that back too where it is the key that")
        click.echo(f'is lost or in other hands: visit-bridge keys forget "{other}"')


def in_groups(fingerprint: str) -> str:
    """The fingerprint in lines of eight groups, to be read out."""
    from bridge.parcel import spoken

    groups = spoken(fingerprint).split()
    return "\n".join(f"  {' '.join(groups[at : at + 8])}" for at in range(0, len(groups), 8))


def _chosen(known: Sequence[KnownKey], name: str, fingerprint: str) -> KnownKey:
    from bridge.parcel.keys import as_fingerprint
    from bridge.parcel.known import same_name

    told = as_fingerprint(fingerprint)
    if fingerprint and told is None:
        raise click.UsageError("That is no fingerprint: it has 64 digits and letters from a to f, or 43 characters.")
    of_name = {key.fingerprint: key for key in known if same_name(key.name, name)}
    if not of_name:
        raise click.UsageError(f"You trust no clinic of the name {name!r}. {_names(known)}")
    if told is None and len(of_name) == 1:
        return next(iter(of_name.values()))
    if told in of_name:
        return of_name[told]
    keys = "\n".join(in_groups(one) + "\n" for one in of_name)
    if told is not None:
        raise click.UsageError(f"You trust no key of {name!r} with this fingerprint. What you trust:\n{keys}")
    raise click.UsageError(f"You trust {len(of_name)} keys of {name!r}. Say with --fingerprint which one:\n{keys}")


def _names(known: Sequence[KnownKey]) -> str:
    names = list(dict.fromkeys(key.name for key in known))
    if not names:
        return "You trust none at all."
    more = f" and {len(names) - _MOST_NAMES} more (visit-bridge keys show)" if len(names) > _MOST_NAMES else ""
    return f"Those that you trust: {', '.join(f'“{one}”' for one in names[:_MOST_NAMES])}{more}."


def _confirmed() -> bool:
    try:
        return click.confirm("Trust it no longer?", default=False)
    except click.Abort:
        if sys.stdin.isatty():
            raise
        click.echo()
        raise click.UsageError("Nobody is here to be asked; nothing was changed. Say --yes.") from None
