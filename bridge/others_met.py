"""Remembers of visits that are not wanted whose they are and which numbers they have, and nothing else of them."""

from __future__ import annotations

from bridge.hash_table import HashTable, short_hash
from bridge.issues import Where
from bridge.one_client import one_visit, two_clients
from bridge.places_met import PlacesMet
from bridge.visit import Clinic, Visit
from bridge.visit.people import Client

_WHO = {"number", "legal_name", "former_names", "birth_date", "nhs_number", "identifiers"}
_MOST = 16
"""Clients and clinics that are remembered under one number."""
_NONE = 2**64 - 1


class OthersMet:
    """Each client and each clinic once, and some 100 bytes for each number, which cannot be read back from them."""

    def __init__(self) -> None:
        self.clients: list[Client] = []
        """Each once: by what tells people apart, without address, telephone or guardian."""
        self._client: dict[str, int] = {}
        self._clinics: list[Clinic | None] = []
        self._clinic: dict[tuple[str, str], int] = {}
        self._whose = HashTable()
        """Hash of a number, and how many stood under it before, to its clinic and client."""
        self._where = HashTable()
        self._places = PlacesMet()

    def enter(self, visit: Visit, where: Where) -> None:
        whose = self._clinic_of(visit) << 32 | self._client_of(visit)
        for nth in range(_MOST):
            key = _key(visit, nth)
            if self._whose.setdefault(key, whose) == whose:
                self._where.setdefault(key, self._places.number(where))
                return

    def other_version(self, visit: Visit, where: Where) -> str:
        """Where a version of this visit was met that is of another client, as seen from `where`; empty without one."""
        for nth in range(_MOST):
            key = _key(visit, nth)
            whose = self._whose.get(key, _NONE)
            if whose == _NONE:
                break
            client, clinic = self.clients[whose & 0xFFFFFFFF], self._clinics[whose >> 32]
            other = visit.model_copy(update={"client": client, "clinic": clinic})
            if one_visit(visit, other) and two_clients(visit, other):
                return self._places.told(self._where.get(key), where)
        return ""

    def _client_of(self, visit: Visit) -> int:
        said = visit.client.model_dump_json(include=_WHO)
        at = self._client.setdefault(said, len(self.clients))
        if at == len(self.clients):
            self.clients.append(Client.model_validate_json(said))
        return at

    def _clinic_of(self, visit: Visit) -> int:
        clinic = visit.clinic
        said = (clinic.name, clinic.organisation_code or "") if clinic else ("", "")
        at = self._clinic.setdefault(said, len(self._clinics))
        if at == len(self._clinics):
            self._clinics.append(clinic and Clinic(name=clinic.name, organisation_code=clinic.organisation_code))
        return at


def _key(visit: Visit, nth: int) -> int:
    return short_hash(visit.number.casefold(), str(nth))
