"""Whether a client who arrived is one who is there: surely, not at all, or a question for a person."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal

from bridge.numbers import nhs_number_problem
from bridge.same_clinic import folded
from bridge.visit import Client, Clinic, Visit
from bridge.visit.people import Name

Answer = Literal["same", "question", "refused", "new"]


@dataclass(frozen=True, slots=True)
class Match:
    """`same`: on a strong identifier, and nothing contradicts it; `refused`: on one, and something does."""

    answer: Answer
    held: Visit | None = None
    """A visit of the client who is there."""
    why: str = ""
    """What contradicts, or what alone agrees: names of fields, never what stands in them."""


@dataclass(slots=True)
class Held:
    """The clients of a practice, found by what is strong and by what only makes one ask."""

    own: Clinic | None = None
    """The practice itself, whose own numbers are strong where it gave them."""
    _strong: dict[tuple[str, str], Visit] = field(default_factory=dict)
    _alike: dict[tuple[str, str], Visit] = field(default_factory=dict)
    _numbers: dict[str, Visit] = field(default_factory=dict)

    def add(self, visit: Visit) -> None:
        """The first visit that names an identifier stands for its client."""
        for key in self._keys(visit.client, visit.clinic or self.own):
            self._strong.setdefault(key, visit)
        for key in _alike(visit.client):
            self._alike.setdefault(key, visit)
        if visit.client.number:
            self._numbers.setdefault(visit.client.number.casefold(), visit)

    def match(self, visit: Visit) -> Match:
        """The answer for the client of a visit that arrived."""
        found = [self._strong[key] for key in self._keys(visit.client, visit.clinic) if key in self._strong]
        for held in found:
            if why := contradictions(visit.client, held.client):
                return Match("refused", held, ", ".join(why))
        if len({_who(held) for held in found}) > 1:
            return Match("refused", found[0], "identifiers of two clients")
        if found:
            less = next((h for h in found if _names_agree(visit.client, h.client) == "in part"), None)
            return Match("question", less, "an identifier and a part of the name") if less else Match("same", found[0])
        for key in _alike(visit.client):
            if key in self._alike:
                return Match("question", self._alike[key], "name and birth date")
        return Match("new")

    def takes_number(self, visit: Visit) -> bool:
        """Whether the client's number is one that somebody who is there has."""
        return bool(visit.client.number) and (visit.client.number or "").casefold() in self._numbers

    def _keys(self, client: Client, clinic: Clinic | None) -> Iterator[tuple[str, str]]:
        if client.nhs_number and not nhs_number_problem(client.nhs_number):
            yield "nhs", client.nhs_number
        if client.number and clinic:
            for whose in filter(None, (clinic.organisation_code, clinic.name)):
                yield folded(whose), client.number.casefold()
        for one in client.identifiers:
            yield folded(one.assigner), one.value.casefold()


def contradictions(one: Client, other: Client) -> list[str]:
    """Fields that cannot both be right of one person. What is not recorded contradicts nothing."""
    found = []
    if one.nhs_number and other.nhs_number and one.nhs_number != other.nhs_number:
        found.append("NHS number")
    if one.birth_date and other.birth_date:
        size = min(len(one.birth_date), len(other.birth_date))
        if one.birth_date[:size] != other.birth_date[:size]:
            found.append("birth date")
    if _names_agree(one, other) == "no":
        found.append("name")
    return found


def one_person(one: Client, other: Client) -> bool:
    """Whether two are surely one: a number that both have, or name and whole birth date, and no contradiction."""
    if contradictions(one, other):
        return False
    numbers = [{c.number, c.nhs_number, *(i.value for i in c.identifiers)} - {None} for c in (one, other)]
    return bool(numbers[0] & numbers[1]) or not set(_alike(one)).isdisjoint(_alike(other))


def assigner(clinic: Clinic) -> str:
    """Who gave the numbers of a clinic: its code, or its name."""
    return folded(clinic.organisation_code or clinic.name)


def _all_names(client: Client) -> Iterable[Name]:
    return (client.legal_name, *((client.usual_name,) if client.usual_name else ()), *client.former_names)


def _names_agree(one: Client, other: Client) -> Literal["yes", "in part", "no"]:
    """By the first given name and the family name, usual and former names too. Of twins one part agrees, and after a
    marriage; only a person can tell which it is. A part that one of them does not have says nothing."""
    best: Literal["yes", "in part", "no"] = "no"
    for mine in _all_names(one):
        for theirs in _all_names(other):
            parts = ((mine.given[:1], theirs.given[:1]), ((mine.family or "",), (theirs.family or "",)))
            said = [folded(a[0]) == folded(b[0]) for a, b in parts if a and b and a[0] and b[0]]
            if said and all(said):
                return "yes"
            best = "in part" if any(said) else best
    return best


def _alike(client: Client) -> Iterator[tuple[str, str]]:
    if client.birth_date and len(client.birth_date) == 10:
        for name in _all_names(client):
            if name.given and name.family:
                yield f"{folded(name.given[0])} {folded(name.family)}", client.birth_date


def _who(visit: Visit) -> str:
    client = visit.client
    return client.number or client.nhs_number or f"{client.legal_name} {client.birth_date}"
