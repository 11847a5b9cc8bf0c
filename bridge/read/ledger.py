"""Remembers, in little memory, which visits and clients were met: no visit twice, no two clients under one number.

Holds short hashes only. No name, date or number can be read back from it.
"""

from __future__ import annotations

from dataclasses import replace

from bridge.hash_table import HashTable, short_hash
from bridge.issues import Issue, Where, issue
from bridge.places_met import PlacesMet
from bridge.visit import Visit
from bridge.visit.people import Client, Name


class Ledger:
    """Takes each visit as it is read, and tells what it contradicts.

    One reading finds the later of two that clash. Given the ledger of a first reading (`scanned`), a second one tells
    the earlier too, so that neither goes out before the person has looked.
    """

    def __init__(self, scanned: Ledger | None = None) -> None:
        self._scanned = scanned
        self._disputed: dict[int, int] = {}
        """Hash of what was disputed to the place where it clashed last."""
        self._visits = HashTable()
        self._rows = HashTable()
        """Number, version and source of a visit to its place: a record that stands there twice, word for word."""
        self._said = HashTable()
        """What a visit says beside its number, to its place."""
        self._clients: dict[int, tuple[int, int, int, int]] = {}
        """Client key to name, birth date, NHS number (0: not said) and place."""
        self._numbers: dict[int, tuple[int, int, int, int]] = {}
        """NHS number to client key, place, name and birth date."""
        self._places = PlacesMet()

    def repeats(self, visit: Visit, where: Where) -> bool:
        """Whether the same record stood before this one, word for word, number and version included."""
        at = self._places.number(where)
        source = short_hash(visit.number.casefold(), str(visit.version), visit.source_sha256 or str(at))
        return self._rows.setdefault(source, at) != at

    def enter(self, visit: Visit, where: Where, *, made: bool = False, said: str = "") -> list[Issue]:
        """Issues of this visit against those before it, each with the path of its field.

        `made`: its number was made from date, time and client; `said`: all that the record says beside its number,
        where all of it was understood.
        """
        at = self._places.number(where)
        clash = self._visit(visit, where, at, made)
        twice = [] if clash or not said else self._twice(said, where, at)
        return [*clash, *twice, *self._client(visit.client, where, at)]

    def _again(self, key: int, where: Where) -> str:
        """Where the first reading met this clash last; empty without one."""
        scanned = self._scanned
        return scanned._places.told(scanned._disputed[key], where) if scanned and key in scanned._disputed else ""

    def _visit(self, visit: Visit, where: Where, at: int, made: bool) -> list[Issue]:
        key = short_hash(visit.number.casefold(), str(visit.version))
        first = self._visits.setdefault(key, at)
        if first == at:
            again = self._again(key, where)
            return [_visit_again(again, where, at, made)] if again else []
        self._disputed[key] = at
        return [_visit_again(self._places.told(first, where), where, first, made)]

    def _twice(self, said: str, where: Where, at: int) -> list[Issue]:
        first = self._said.setdefault(short_hash(said), at)
        if first == at:
            return []
        told = (
            f"This visit says of the same client, date and time what the one in {self._places.told(first, where)} says."
        )
        return [issue("R155", told, replace(where, path="number"), cause=f"visit:{first}")]

    def _client(self, client: Client, where: Where, at: int) -> list[Issue]:
        where = replace(where, path="client.number" if client.number else "client.nhs_number")
        nhs = "".join((client.nhs_number or "").split())
        numbered = short_hash("number", client.number.casefold()) if client.number else 0
        key = numbered or (short_hash("nhs", nhs) if nhs else 0)
        if not key:
            return []
        born = short_hash(client.birth_date) if client.birth_date else 0
        facts = (_name(client.legal_name), born, short_hash(nhs) if nhs else 0)
        found = []
        before = self._clients.get(key)
        if before is None:
            self._clients[key] = (*facts, at)
        else:
            found = self._compare(client, facts, before, where)
            name, day, number, first = (old or new for old, new in zip(before, (*facts, at), strict=True))
            self._clients[key] = (name, day, number, first)
        again = self._again(key, where)
        if found:
            self._disputed[key] = at
        elif again:
            told = f"Another client stands under this {_what(client)} in {again}."
            found = [issue("R127", told, where, cause=f"client:{self._clients[key][3]}")]
        if nhs and numbered:
            other, first, name, day = self._numbers.setdefault(short_hash(nhs), (numbered, at, facts[0], born))
            same = name == facts[0] and (day == born or not day or not born)
            where = replace(where, path="client.nhs_number")
            again = self._again(short_hash("shared", nhs), where)
            if other != numbered:
                if not same:
                    self._disputed[short_hash("shared", nhs)] = at
                told = (
                    f"The client's NHS number stands under another client number in {self._places.told(first, where)}."
                )
                found.append(issue("R137" if same else "R127", told, where, cause=f"nhs:{first}"))
            elif again:
                told = f"The client's NHS number stands under another client number in {again}."
                found.append(issue("R127", told, where, cause=f"nhs:{first}"))
        return found

    def _compare(
        self, client: Client, facts: tuple[int, int, int], before: tuple[int, int, int, int], where: Where
    ) -> list[Issue]:
        known = {facts[0], *(_name(n) for n in client.former_names)}
        differs = [] if before[0] in known else ["name"]
        differs += ["birth date"] if facts[1] and before[1] and facts[1] != before[1] else []
        differs += ["NHS number"] if facts[2] and before[2] and facts[2] != before[2] else []
        if not differs:
            return []
        what = ", ".join(differs[:-1]) + " and " * (len(differs) > 1) + differs[-1]
        verb = "differ" if len(differs) > 1 else "differs"
        first = self._places.told(before[3], where)
        told = f"The client's {what} {verb} from {first}, which has the same {_what(client)}."
        return [issue("R127", told, where, cause=f"client:{before[3]}")]


def _what(client: Client) -> str:
    """What two records agree in."""
    return "client number" if client.number else "NHS number"


def _visit_again(other: str, where: Where, first: int, made: bool) -> Issue:
    if made:
        told = f"This visit has the same date, time and client as the one in {other}."
        return issue("R136", told, where, cause=f"visit:{first}")
    told = f"The number of this visit stands in {other} too."
    return issue("R126", told, replace(where, path="number"), cause=f"visit:{first}")


def _name(name: Name) -> int:
    words = " ".join([*name.given, name.family or ""]).casefold().replace(".", " ").replace("-", " ").replace("’", "'")
    return short_hash(" ".join(words.split()))
