"""The address book of family doctors' practices and of services that clients are sent to, as `doctors.csv` keeps it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from pydantic import field_validator

from bridge.practice.names import fold, nearest
from bridge.visit.base import Model, Short
from bridge.visit.people import Address

COLUMNS = (
    "key", "practice", "organisation_code", "doctor", "address_1", "address_2", "town", "postcode", "phone", "email",
    "route", "kind", "endpoint",
)  # fmt: skip

Route = Literal["post", "secure mail", "by hand", "portal"]
Kind = Literal["family doctor", "service"]


class DoctorsPractice(Model):
    """One row: a practice, how to write to it, and the name of a doctor there if letters go to one."""

    key: Short
    practice: Short
    organisation_code: Short | None = None
    doctor: Short | None = None
    address_1: Short | None = None
    address_2: Short | None = None
    town: Short | None = None
    postcode: Short | None = None
    phone: Short | None = None
    email: Short | None = None
    route: Route | None = None
    """How letters go there."""
    kind: Kind = "family doctor"
    """A family doctor's practice unless the row says that it is a service that clients are sent to."""
    endpoint: Short | None = None
    """Name of the server, among the practice's `endpoints`, that documents for it are sent to."""

    @field_validator("postcode")
    @classmethod
    def _postcode(cls, value: str | None) -> str | None:
        return value and " ".join(value.upper().split())

    @property
    def address(self) -> Address | None:
        lines = tuple(line for line in (self.address_1, self.address_2) if line)
        if not (lines or self.town or self.postcode):
            return None
        return Address(lines=lines, city=self.town, postcode=self.postcode)

    @property
    def unusual_code(self) -> bool:
        """Whether the organisation code is not made of capital letters and digits."""
        return self.organisation_code is not None and not re.fullmatch(r"[A-Z0-9]{3,10}", self.organisation_code)


class AddressBook:
    """Finds a practice by what a record writes of it. Never the nearest: exactly, or not at all."""

    def __init__(self, rows: Iterable[DoctorsPractice] = ()) -> None:
        self.rows = tuple(rows)
        self._by_word: dict[str, list[DoctorsPractice]] = {}
        for row in self.rows:
            for word in {fold(w) for w in (row.key, row.practice, row.organisation_code) if w}:
                self._by_word.setdefault(word, []).append(row)

    def find(self, written: str, kind: Kind = "family doctor") -> tuple[DoctorsPractice, ...]:
        """Rows of a kind whose key, name or organisation code is `written`, whatever its case and blanks."""
        return tuple(row for row in self._by_word.get(fold(written), ()) if row.kind == kind)

    def nearest(self, written: str, kind: Kind = "family doctor") -> list[str]:
        """Up to three names and keys that look like `written`, the likeliest first; to show, not to use."""
        return nearest(written, [w for row in self.rows if row.kind == kind for w in (row.practice, row.key)])
