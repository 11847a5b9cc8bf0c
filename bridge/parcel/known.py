"""The keys of other clinics that the practice trusts: `keys/known.csv` in its folder, written by `keys trust`."""

from __future__ import annotations

import csv
import io
import json
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from bridge.errors import SettingsError
from bridge.parcel.keys import as_fingerprint, fingerprint_of, public_part
from bridge.practice.secrets import only_its_owner_writes

FILE = "keys/known.csv"
COLUMNS = ("name", "fingerprint", "signing_key", "sealing_key")
_MOST_BYTES = 1 << 20


@dataclass(frozen=True, slots=True)
class KnownKey:
    """A clinic with the key that it signs with and, if it is known, the key that parcels for it are sealed for."""

    name: str
    fingerprint: str
    public: Mapping[str, str] | None = None
    recipient: str = ""


def known_keys(folder: Path) -> list[KnownKey]:
    """Those of the practice folder, in the order of the file; none where there is no file. Raises SettingsError, also
    where others may write into the file or its folder."""
    if (folder / FILE).exists():
        only_its_owner_writes(folder / FILE)
    try:
        with (folder / FILE).open("rb") as stream:
            content = stream.read(_MOST_BYTES + 1)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise SettingsError(f"{FILE} cannot be read: {error.strerror}.") from None
    if len(content) > _MOST_BYTES:
        raise SettingsError(f"{FILE} is larger than any list of keys.")
    try:
        reader = csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True)
        rows = list(reader)
    except (UnicodeDecodeError, csv.Error):
        raise SettingsError(f"{FILE} is no table in UTF-8.") from None
    if tuple(reader.fieldnames or ()) != COLUMNS:
        raise SettingsError(f"{FILE} has other columns than: {', '.join(COLUMNS)}.")
    return [_known(row, number) for number, row in enumerate(rows, 2)]


def as_csv(keys: Iterable[KnownKey]) -> bytes:
    """The content of `keys/known.csv`."""
    page = io.StringIO(newline="")
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(COLUMNS)
    for key in keys:
        public = json.dumps(dict(key.public), sort_keys=True, separators=(",", ":")) if key.public else ""
        writer.writerow((key.name, key.fingerprint, public, key.recipient))
    return page.getvalue().encode()


def same_name(one: str, other: str) -> bool:
    """Whether two names of clinics read alike: capitals, width, blanks and what nobody sees aside."""
    return _folded(one) == _folded(other) != ""


def _known(row: dict[str, str], number: int) -> KnownKey:
    if None in row or None in row.values():
        raise SettingsError(f"{FILE}, row {number}: it has more or fewer cells than there are columns.")
    fingerprint = as_fingerprint(row["fingerprint"])
    if not row["name"].strip() or fingerprint is None:
        raise SettingsError(f"{FILE}, row {number}: the name or the fingerprint is missing or is none.")
    public = None
    if row["signing_key"].strip():
        try:
            data = json.loads(row["signing_key"])
        except (ValueError, RecursionError):
            data = None
        public = public_part(data) if isinstance(data, dict) else None
        if public is None or fingerprint_of(public) != fingerprint:
            raise SettingsError(f"{FILE}, row {number}: the signing key is none, or has another fingerprint.")
    return KnownKey(row["name"].strip(), fingerprint, public, row["sealing_key"].strip())


def _folded(name: str) -> str:
    shown = "".join(c for c in unicodedata.normalize("NFKC", name) if unicodedata.category(c) != "Cf")
    return " ".join(shown.casefold().split())
