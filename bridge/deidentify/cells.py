"""Which combinations are so rare among the clients that somebody could be known again by them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bridge.visit import Visit, terms_of

_FINDINGS = ("findings[", ".history[", ".impressions[", ".symptoms[", "cautions[")


@dataclass(frozen=True, slots=True)
class Cells:
    """How many combinations of these things there are, and how many of them hold too few clients."""

    what: tuple[str, ...]
    all: int
    small: int
    least: int
    """Clients in the smallest."""
    clients: int
    """Clients who stand in at least one small combination."""


def small_cells(visits: Iterable[Visit], small: int) -> list[Cells]:
    """Of age band and sex, and of these with month and finding, those with fewer than `small` clients.

    The month (or year) is that of the visit as it now stands.
    """
    who: dict[tuple[str, ...], set[str]] = defaultdict(set)
    what: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for visit in visits:
        key = visit.client.number or ""
        person = (_band(visit), visit.client.sex or "")
        who[person].add(key)
        for finding in {*_findings(visit)}:
            what[(*person, visit.start[:7], finding)].add(key)
    told = (("age band", "sex"), who), (("age band", "sex", "month", "finding"), what)
    return [found for names, cells in told if (found := _counted(names, cells, small)).small]


def _counted(names: tuple[str, ...], cells: dict[tuple[str, ...], set[str]], small: int) -> Cells:
    rare = [clients for clients in cells.values() if len(clients) < small]
    return Cells(names, len(cells), len(rare), min(map(len, rare), default=0), len(set().union(*rare)))


def _band(visit: Visit) -> str:
    """Ten years of age, as far as years tell; nothing where the birth year is not there."""
    if not visit.client.birth_date:
        return ""
    return str((int(visit.start[:4]) - int(visit.client.birth_date[:4])) // 10 * 10)


def _findings(visit: Visit) -> Iterator[str]:
    for path, term in terms_of(visit):
        if any(part in path for part in _FINDINGS) and term.assertion != "absent":
            yield term.codings[-1].code if term.codings else term.text.casefold()
