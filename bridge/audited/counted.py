"""A visit counts once in an audit: its record before the documents made of it, and of its versions the newest.

A visit is known by its clinic, its number, its day and its client's name, so that numbers that begin anew keep years
and clients apart. Its versions are known without the day, which a correction may change, and by the client's name or
one of their numbers, because it may change one of these too. In doubt a visit counts: what is left out nobody sees.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from bridge.audit.shapes import LeftOut
from bridge.audited.met import Met
from bridge.errors import BridgeError
from bridge.hash_table import HashTable, short_hash
from bridge.issues import Issue, issue
from bridge.one_client import name_words
from bridge.received import is_received
from bridge.same_clinic import NOT_NAMED, folded, of_another
from bridge.visit import Clinic, Visit

MOST_CLINICS = 1_000
_RANKS = {"transaction": 1, "collection": 1, "": 2, "referral": 3, "client": 4, "ips": 5}
"""Documents by the part of their name that says what they are: what holds the whole visit goes first."""
_KIND = re.compile(rf"\.({'|'.join(filter(None, _RANKS))})\.")


def in_order(paths: Sequence[Path]) -> list[tuple[Path, bool]]:
    """Records, then documents, each group in its own order; with whether a file is a document."""
    told = [(path, _is_document(path)) for path in paths]
    return sorted(told, key=lambda one: _rank(one[0]) if one[1] else 0)


def _rank(path: Path) -> int:
    found = _KIND.search(path.name)
    return _RANKS[found[1] if found else ""]


def _is_document(path: Path) -> bool:
    try:
        return is_received(path)
    except BridgeError:
        return False  # whoever reads it says why not


class Counted:
    """Which visits have been counted in this run, and how many were left out for it.

    `own`: the practice's clinic.
    """

    def __init__(self, own: Clinic) -> None:
        self._own = own
        self._newest = HashTable()
        """Of visits with a version after their first, the newest one."""
        self._met = Met()
        self._others: dict[tuple[str, str], int] = {}
        """Clinics by code, by name, and by name where they have no code."""
        self._clinics = 0
        self._whose: dict[tuple[str, str | None], str] = {}
        self.known = self.earlier = 0
        """As in `LeftOut`."""

    def expect(self, visit: Visit) -> None:
        """A visit that the run will meet; to be told of every one whose version is not its first."""
        for key in self._of_versions(visit):
            if visit.version > self._newest.get(key, 1):
                self._newest.set(key, visit.version)

    def record(self, visit: Visit) -> bool:
        """Whether a record counts; two records under one number do, because neither was made of the other."""
        if self._is_earlier(visit):
            return False
        self._met.add(self._of_visit(visit))
        return True

    def document(self, visit: Visit) -> bool:
        """Whether a visit read from a document counts."""
        if self._is_earlier(visit):
            return False
        if self._met.add(self._of_visit(visit)):
            return True
        self.known += 1
        return False

    def summary(self, visits: Sequence[tuple[Clinic | None, str, str]], names: Collection[str]) -> bool:
        """Whether a document over several visits, by clinic, number and start, counts: not where all of them did, under
        one of the client's names (as `name_words`)."""
        if not visits or not all(self._was_met(*visit, names) for visit in visits):
            return True
        self.known += 1
        return False

    @property
    def left_out(self) -> LeftOut:
        return LeftOut(self.known, self.earlier)

    def told(self) -> Iterator[Issue]:
        """What was left out, in one line each."""
        if self.known:
            what = "document" if self.known == 1 else "documents"
            told = f"{self.known} {what} left out, because the visits in them were counted already."
            yield issue("A193", told, cause="A193")
        if self.earlier:
            what = "record or document" if self.earlier == 1 else "records and documents"
            told = f"{self.earlier} {what} of earlier versions left out; of each visit the newest version counts."
            yield issue("A194", told, cause="A194")
        if self._met.forgotten:
            told = f"{self._met.forgotten} visits were too many to remember, so some of their documents may count too."
            yield issue("A195", told, cause="A195")

    def _was_met(self, clinic: Clinic | None, number: str, start: str, names: Collection[str]) -> bool:
        if clinic is None:
            return False
        whose = self._clinic(clinic, start)
        return any(_of_day(whose, number, start, name) in self._met for name in names)

    def _is_earlier(self, visit: Visit) -> bool:
        if not len(self._newest) or all(visit.version >= self._newest.get(k, 1) for k in self._of_versions(visit)):
            return False
        self.earlier += 1
        return True

    def _of_versions(self, visit: Visit) -> Iterator[int]:
        """Keys of a visit with all its versions: one for each thing that tells the client."""
        clinic, number, client = self._clinic(visit.clinic, visit.start), visit.number.casefold(), visit.client
        told = (name_words(client.legal_name), client.nhs_number or "", (client.number or "").casefold())
        return (short_hash(clinic, number, str(nth), who) for nth, who in enumerate(told) if who)

    def _of_visit(self, visit: Visit) -> int:
        whose = self._clinic(visit.clinic, visit.start)
        return _of_day(whose, visit.number, visit.start, name_words(visit.client.legal_name))

    def _clinic(self, clinic: Clinic | None, start: str) -> str:
        """One word for a clinic; the practice's own has none. Where it is not named, the moment stands for it."""
        if clinic is None:
            return ""
        if clinic.name == NOT_NAMED.name:
            return f"{NOT_NAMED.name} {start}"
        name = (clinic.name, clinic.organisation_code)
        known = self._whose.get(name)
        if known is None:
            known = self._named(clinic)
            if len(self._whose) < MOST_CLINICS:
                self._whose[name] = known
        return known

    def _named(self, clinic: Clinic) -> str:
        """As `same_clinic` says: by codes where both have one, else by names; the first that fits."""
        if not of_another(clinic, self._own):
            return ""
        code, name = folded(clinic.organisation_code or ""), folded(clinic.name)
        keys = (("code", code), ("bare", name)) if code else (("name", name),)
        same = min((self._others[key] for key in keys if key in self._others), default=None)
        if same is None and self._clinics >= MOST_CLINICS:
            return code or name
        if same is None:
            same, self._clinics = self._clinics, self._clinics + 1
            for key in (("name", name), ("code", code) if code else ("bare", name)):
                self._others.setdefault(key, same)
        return f"clinic {same}"


def _of_day(clinic: str, number: str, start: str, name: str) -> int:
    return short_hash(clinic, number.casefold(), start[:10], name)
