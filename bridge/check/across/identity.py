"""By what two visits are known to be of one client."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bridge.hash_table import short_hash
from bridge.visit import Visit


@dataclass(frozen=True, slots=True)
class Who:
    """Hashes of the client and of the visit, and how a place is told."""

    client: int
    visit: int
    told: Callable[[int], str]

    def key(self, *parts: str) -> int:
        """A hash of something about this client."""
        return short_hash(str(self.client), *parts)


def who(visit: Visit, number: int, told: Callable[[int], str]) -> Who:
    """Known by the practice's number, else the NHS number, else name and whole birth date; without these, by nothing
    beyond the visit."""
    client = visit.client
    if client.number:
        key = short_hash("number", client.number.casefold())
    elif client.nhs_number:
        key = short_hash("nhs", client.nhs_number)
    elif client.birth_date and len(client.birth_date) == len("2000-01-01"):
        name = client.legal_name
        words = " ".join([*name.given, name.family or ""]).casefold()
        key = short_hash("name", " ".join(words.split()), client.birth_date)
    else:
        key = short_hash("alone", str(number))
    return Who(key, number, told)
