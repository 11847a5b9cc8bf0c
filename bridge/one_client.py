"""Several visits of one client: in which order they were, whether they agree on who it is, and what is newest.

Nothing here tells whose visits belong together; that is the client's key. It tells whether they can.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from bridge.same_clinic import same_clinic
from bridge.visit import Visit
from bridge.visit.people import Client, Identifier, Name

AGREED = ("name", "birth date", "NHS number", "other numbers")
"""What visits of one client must not differ in."""


def in_order(visits: Iterable[Visit], zone: ZoneInfo) -> list[Visit]:
    """Each visit once, in its newest version, oldest first."""
    newest: dict[str, list[Visit]] = {}
    for visit in visits:
        there = newest.setdefault(visit.number, [])
        at = next((at for at, other in enumerate(there) if one_visit(visit, other)), len(there))
        if at == len(there) or visit.version > there[at].version:
            there[at:] = [visit, *there[at + 1 :]]
    every = (visit for there in newest.values() for visit in there)
    return sorted(every, key=lambda v: (moment(v.start, zone), v.number))


def one_visit(one: Visit, other: Visit) -> bool:
    """Whether two are versions of one visit: other clinics give the same numbers."""
    return one.number.casefold() == other.number.casefold() and same_clinic(one.clinic, other.clinic) is not False


def two_clients(one: Visit, other: Visit) -> bool:
    """Whether two versions of one visit name two clients. Where not both have a number of the practice, the visit that
    they share vouches for what they leave open: a birth date that a correction adds makes no other person."""
    numbers = {one.client.number, other.client.number}
    return len(numbers) > 1 if all(numbers) else bool(disagreements([one, other]))


def disagreements(visits: Sequence[Visit]) -> list[str]:
    """What the visits, oldest first, do not agree in; a former name that a later visit knows is no difference."""
    found = [not _one_name(visits), not _one_birth_date(visits)]
    found += [len({v.client.nhs_number for v in visits} - {None}) > 1, not _one_number_each(visits)]
    return [what for what, differs in zip(AGREED, found, strict=True) if differs]


def surely_one(visits: Sequence[Visit]) -> bool:
    """Whether something besides a name tells that the visits are of one person: a name alone is shared by many."""
    if len(visits) == 1 or all(v.client.number for v in visits):
        return True
    told = [{v.client.birth_date, v.client.nhs_number} - {None} for v in visits]
    return bool(set.intersection(*told))


def name_words(name: Name) -> str:
    """A name without what is only a way of writing it."""
    words = " ".join([*name.given, name.family or ""]).casefold().replace(".", " ").replace("-", " ").replace("’", "'")
    return " ".join(words.split())


def newest_client(visits: Sequence[Visit]) -> Client:
    """The client with the newest that any of the visits, oldest first, says of each thing; former names are kept."""
    newest_first = [v.client for v in reversed(visits)]
    now = newest_first[0]
    with_nhs = next((c for c in newest_first if c.nhs_number), now)
    born = [c.birth_date for c in newest_first if c.birth_date]
    return now.model_copy(
        update={
            **{name: _newest(newest_first, name) for name in _FACTS},
            "former_names": _former_names(newest_first),
            "birth_date": max(born, key=len, default=None),
            "nhs_number": with_nhs.nhs_number,
            "nhs_number_status": with_nhs.nhs_number_status,
            "identifiers": _distinct((i for c in newest_first for i in c.identifiers), _identity),
        }
    )


def as_of(client: Client, visit: Visit) -> Client:
    """The client as known over all visits, with those who speak for them as this visit names them: whom its words
    mean ("mother") is read from its own record alone."""
    return client.model_copy(update={"guardians": visit.client.guardians})


T = TypeVar("T")
_FACTS = ("number", "usual_name", "sex", "address", "phones", "emails", "language")


def _newest(clients: Sequence[Client], field: str) -> Any:
    return next((value for c in clients if (value := getattr(c, field))), getattr(clients[0], field))


def _former_names(newest_first: Sequence[Client]) -> tuple[Name, ...]:
    now = {name_words(newest_first[0].legal_name)}
    every = [n for c in newest_first for n in (*c.former_names, c.legal_name)]
    return _distinct((n for n in every if name_words(n) not in now), name_words)


def _distinct(things: Iterable[T], key: Callable[[T], object]) -> tuple[T, ...]:
    """The first of each."""
    found: dict[object, T] = {}
    for thing in things:
        found.setdefault(key(thing), thing)
    return tuple(found.values())


def _identity(identifier: Identifier) -> tuple[str, str]:
    return identifier.assigner.casefold(), identifier.value


def _one_name(visits: Sequence[Visit]) -> bool:
    known: set[str] = set()
    for visit in visits:
        names = {name_words(n) for n in (visit.client.legal_name, *visit.client.former_names)}
        if known and not known & names:
            return False
        known |= names
    return True


def _one_birth_date(visits: Sequence[Visit]) -> bool:
    """Dates known to different precision agree where one begins with the other."""
    told = sorted({v.client.birth_date for v in visits if v.client.birth_date}, key=len)
    return all(told[-1].startswith(date) for date in told)


def _one_number_each(visits: Sequence[Visit]) -> bool:
    numbers: dict[str, str] = {}
    told = (i for v in visits for i in v.client.identifiers)
    return all(numbers.setdefault(i.assigner.casefold(), i.value) == i.value for i in told)


def moment(when: str, zone: ZoneInfo) -> datetime:
    """For sorting: where only a day, a month or a year is known, its first moment at the clinic."""
    if "T" in when:
        return datetime.fromisoformat(when)
    return datetime.fromisoformat((when + "-01-01")[:10]).replace(tzinfo=zone)
