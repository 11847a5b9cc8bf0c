"""A: what the resources of one bundle show beside each other: both ears twice, dates, long notes."""

from __future__ import annotations

from array import array
from collections.abc import Iterator
from typing import NamedTuple

from bridge.audit.bundle_items import dicts, pairs_of, sites_of, str_of
from bridge.hash_table import short_hash
from bridge.issues import Issue, Where, issue
from bridge.phrases.fold import fold
from bridge.shapes import Json

_LONG = 80
"""Letters from which a note is long, as in C580."""
_SLOTS = 1 << 20
_DATED = ("effectiveDateTime", "performedDateTime")


class Sided(NamedTuple):
    """One entry that names ears by its body site."""

    path: str
    ears: frozenset[str]
    codes: tuple[object, ...]
    """Type, system and code of each of its codings."""


def sided(resources: list[tuple[str, Json]]) -> list[Sided]:
    found = []
    for path, resource in resources:
        if ears := sites_of(resource):
            kind = str_of(resource, "resourceType")
            codes = (pair for one in dicts(resource, "code") for pair in pairs_of(one) if pair[1])
            found.append(Sided(path, ears, tuple((kind, *pair) for pair in codes)))
    return found


def both_ears_twice(entries: list[Sided]) -> Iterator[Issue]:
    """A105: one entry of both ears and one of a single ear with the same code."""
    both = [one for one in entries if len(one.ears) == 2]
    single = {code for one in entries if len(one.ears) == 1 for code in one.codes} if both else set()
    for one in both:
        if single.intersection(one.codes):
            told = "This is told of both ears, and once more of a single one."
            yield issue("A105", told, Where(path=one.path), cause="A105")


def ways_of_both(entries: list[Sided]) -> tuple[list[str], list[str]]:
    """Paths of entries that hold both ears at once, and of the later of two entries that hold one ear each."""
    at_once, apart = [], []
    first: dict[object, frozenset[str]] = {}
    for one in entries:
        if len(one.ears) == 2:
            at_once.append(one.path)
        elif one.codes and first.setdefault(one.codes[0], one.ears) != one.ears:
            apart.append(one.path)
    return at_once, apart


def outside_of_visit(resources: list[tuple[str, Json]]) -> Iterator[Issue]:
    """A120: an observation or an act dated on a day before or after the only visit of the bundle."""
    visits = [r for _, r in resources if r.get("resourceType") == "Encounter"]
    period = visits[0].get("period") if len(visits) == 1 else None
    first, last = _day(str_of(period, "start")), _day(str_of(period, "end"))
    if not first:
        return
    for path, resource in resources:
        if resource.get("resourceType") in ("Observation", "Procedure") and resource.get("encounter"):
            for element in _DATED:
                day = _day(str_of(resource, element))
                if day and not first <= day <= (last or first):
                    where = Where(path=f"{path}.{element}")
                    yield issue(
                        "A120", "This is dated on another day than the visit that it belongs to.", where, cause="A120"
                    )


def _day(moment: str) -> str:
    return moment[:10] if len(moment) >= 10 else ""


class LongNotes:
    """Long notes by their hashes, in a table of a fixed size: of very many, the oldest are forgotten (A133)."""

    def __init__(self) -> None:
        self._met = array("Q", bytes(8 * _SLOTS))

    def enter(self, number: str, resources: list[tuple[str, Json]]) -> Iterator[Issue]:
        """Issues of the notes that an earlier bundle holds too, word for word."""
        seen: set[int] = set()
        for path, resource in resources:
            for at, note in enumerate(dicts(resource, "note")):
                words = fold(str_of(note, "text"))
                if len(words) < _LONG or (key := short_hash(words)) in seen:
                    continue
                seen.add(key)
                slot = key % _SLOTS
                if self._met[slot] == key:
                    where = Where(path=f"{path}.note[{at}].text")
                    yield issue("A133", "The same long note stands in another record.", where, cause="A133")
                self._met[slot] = key
