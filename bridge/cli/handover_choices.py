"""What a person chooses for a hand-over: whose records, for whom it is sealed, with which key it is signed."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.chosen import Chosen

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from bridge.handover import OneClient, Seal
    from bridge.parcel import SigningKey
    from bridge.pipeline import Conversion
    from bridge.practice import Practice, Staff
    from bridge.visit import Visit

VARIABLE = "VISIT_BRIDGE_PASSPHRASE"
SHORTEST = 12
"""Characters below which a passphrase can be guessed by trying."""


@dataclass(slots=True)
class OnlyTheirs(Chosen):
    """The visits of one client; of other records nothing is told."""

    one: OneClient | None = None

    def __init__(self, one: OneClient) -> None:
        Chosen.__init__(self)
        self.one = one

    def __bool__(self) -> bool:
        return True

    def visit(self, visit: Visit, zone: ZoneInfo) -> bool:
        return self.one is not None and self.one.fits(visit)

    def record(self, conversion: Conversion) -> bool:
        told = conversion.visit is not None or conversion.state == "left alone"
        return told and conversion.state != "not asked for"


def whose_hand(person: str, practice: Practice) -> Staff:
    """Who hands over, by key or full name. Raises UsageError where the settings know nobody of that name."""
    from bridge.phrases.fold import fold

    for staff in practice.practitioners:
        if fold(person) in {fold(word) for word in (staff.key, *staff.full_names())}:
            return staff
    known = ", ".join(staff.key for staff in practice.practitioners)
    raise click.UsageError(f"Nobody of that name stands in practice.yaml (--by). Known there: {known}.")


def signing_key_of(folder: Path) -> SigningKey:
    """The practice's key. Raises SettingsError where there is none."""
    from bridge.errors import SettingsError
    from bridge.parcel import signing_key
    from bridge.practice.secrets import secret

    text = secret("signing-key", folder)
    if text is None:
        raise SettingsError(
            "There is no key of yours to sign with.",
            "Make one with `visit-bridge keys make`, or hand over unsigned with --unsigned.",
        )
    return signing_key(text)


def seal_wished(keys: tuple[str, ...], with_passphrase: bool, folder: Path) -> tuple[Seal, str]:
    """The seal, and for whom it is, as the manifest says it. Raises UsageError for a key that nobody knows."""
    from bridge.handover import Seal

    if with_passphrase:
        return Seal(passphrase=_passphrase()), ""
    found = [_recipient(key, folder) for key in keys]
    names = ", ".join(dict.fromkeys(name for _, name in found if name))
    return Seal(tuple(dict.fromkeys(recipient for recipient, _ in found))), names


def _recipient(key: str, folder: Path) -> tuple[str, str]:
    from bridge.parcel import known_keys
    from bridge.parcel.keys import age_recipient
    from bridge.parcel.known import same_name

    if key.casefold().startswith("age1"):
        age_recipient(key.casefold())
        return key.casefold(), ""
    known = next((one for one in known_keys(folder) if same_name(one.name, key)), None)
    if known is None:
        raise click.UsageError(f"{key!r} is neither a key (age1...) nor a clinic that `keys trust` made known.")
    if not known.recipient:
        raise click.UsageError(f"Of {known.name!r} only the key that signs is known; ask for the one that starts age1.")
    return known.recipient, known.name


def _passphrase() -> str:
    given = os.environ.get(VARIABLE, "")
    if not given:
        if not sys.stdin.isatty():
            raise click.UsageError(f"A passphrase is asked for on a terminal, or read from {VARIABLE}.")
        given = str(click.prompt("Passphrase (several words)", hide_input=True, confirmation_prompt=True, err=True))
    if len(given) < SHORTEST:
        raise click.UsageError(f"The passphrase is too short: take at least {SHORTEST} characters, best several words.")
    return given
