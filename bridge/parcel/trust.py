"""Who is put into the list of clinics that the practice trusts, `keys/known.csv`, and who is taken out of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from bridge.errors import InputError, SettingsError
from bridge.parcel.keys import as_fingerprint
from bridge.parcel.known import FILE, KnownKey, as_csv, known_keys, same_name
from bridge.parcel.own import Card, own_card
from bridge.safe_write import write_bytes


def not_our_own(folder: Path, fingerprint: str, recipient: str = "") -> None:
    """Raises InputError where the key of another clinic is one of the practice's own, SettingsError where its own key
    cannot be read."""
    own = own_card(folder, "")
    if own and (fingerprint == own.fingerprint or (recipient and recipient == own.recipient)):
        raise InputError(
            "That is your own key, not that of another clinic; nothing was changed.",
            "Parcels of yours are known without it. Your file goes to the other clinic; ask them for the one that "
            "`visit-bridge keys show --to` writes there.",
        )


def trusted(folder: Path, name: str, card: Card | None, fingerprint: str, *, instead: bool) -> bool:
    """Adds a clinic to `keys/known.csv`; False where it stood there just so. Raises InputError.

    A name that is known with another key is only changed with `instead`: that is how a forger's key would come in.
    """
    told = as_fingerprint(fingerprint) if fingerprint else None
    if fingerprint and told is None:
        raise InputError("That is no fingerprint.", "It has 64 digits and letters from a to f, or 43 characters.")
    if card is not None and told is not None and told != card.fingerprint:
        raise InputError(
            "The key in the file does not have the fingerprint that you were told.",
            "Do not trust it. Ask the clinic for its file again, by another way.",
        )
    if not name.strip() or not name.isprintable():
        raise InputError("The clinic needs a name, as it stands in its parcels.")
    print_ = card.fingerprint if card else told
    if print_ is None:
        raise InputError("Say which key: its fingerprint, or the file that the clinic gave you.")
    known = known_keys(folder)
    mine = [key for key in known if same_name(key.name, name)]
    found = KnownKey(name.strip(), print_, card.signing if card else None, card.recipient if card else "")
    if card is None and (same := next((key for key in mine if key.fingerprint == print_), None)):
        found = replace(found, public=same.public, recipient=same.recipient)
    if found in mine:
        return False
    if any(key.fingerprint != print_ for key in mine) and not instead:
        raise InputError(
            "You know this clinic by another key.",
            "If it told you by telephone that it has a new one, say --instead. If not, somebody may be using its name.",
        )
    _write(folder, [*(key for key in known if key not in mine), found])
    return True


def forgotten(folder: Path, key: KnownKey) -> list[KnownKey]:
    """Takes a key out of `keys/known.csv` under the name of its clinic; returns those that are left, among which the
    same key may stand under another name. Raises SettingsError."""
    left = [
        one for one in known_keys(folder) if one.fingerprint != key.fingerprint or not same_name(one.name, key.name)
    ]
    _write(folder, left)
    return left


def _write(folder: Path, keys: Iterable[KnownKey]) -> None:
    try:
        (folder / FILE).parent.mkdir(mode=0o700, exist_ok=True)
        write_bytes(folder / FILE, as_csv(keys), private=True)
    except OSError as error:
        raise SettingsError(f"{FILE} cannot be written: {error.strerror}.") from None
