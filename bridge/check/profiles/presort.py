"""Which slices a value can be in at all, found by one look into a table.

A slicing by type or profile is looked up by the type of the value, one by code or address by the codes that the value
has. What is in the table is certain to be in no other slice; whether it is in this one is still to be tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from bridge.check.look import parts
from bridge.check.profiles.marks import Mark, codes_in, marked_otherwise
from bridge.check.profiles.part import Part
from bridge.check.profiles.steps import Met, Step, follow
from bridge.fhir import tables

MOST_KNOWN = 5_000
"""Sorts of values that are kept in mind."""
Slices = Sequence[tuple[int, Part]]


class Presort:
    """The slices of one slicing, with their numbers, by a key that a value must have."""

    def __init__(
        self, named: list[Part], way: tuple[Step, ...] = (), keys: Sequence[Iterable[Any] | None] = ()
    ) -> None:
        """`keys`: for each slice what its values must have one of; None where it cannot be said."""
        self.all: Slices = list(enumerate(named))
        self._way = way
        self._table: dict[Any, list[int]] = {}
        self._free = [n for n, key in enumerate(keys) if key is None]
        self._useful = len(named) > 1 and len(self._free) < len(named) and bool(keys)
        for number, key in enumerate(keys):
            for one in key or ():
                self._table.setdefault(one, []).append(number)
        self._known: dict[Any, Slices] = {}
        self._marked: Sequence[Sequence[Mark]] = ()
        self._mark_keys: tuple[str, ...] = ()

    def by_marks(self, marked: Sequence[Sequence[Mark]]) -> Presort:
        """The same, where the profile of each slice has marks that a resource in it must have."""
        self._marked = marked
        self._mark_keys = tuple(dict.fromkeys(mark.key for marks in marked for mark in marks))
        return self

    def among(
        self, met: Met, followed: dict[tuple[Step, ...], list[Met]], in_set: Callable[[str, str, str], bool]
    ) -> Slices:
        """The slices to try, in their order. `in_set`: whether a value set may have a code."""
        if not self._useful:
            return self.all
        if self._way not in followed:
            followed[self._way] = follow([met], self._way)
        values = followed[self._way]
        given: tuple[tuple[tuple[str, str], ...], ...] = ()
        if self._mark_keys and len(values) == 1:
            given = tuple(codes_in(values[0][0][0], key) for key in self._mark_keys)
        keys = frozenset(key for item, _ in values for key in keys_of(item[0], item[1])), given
        if keys not in self._known:
            numbers = sorted({*self._free, *(n for key in keys[0] for n in self._table.get(key, ()))})
            if given:
                codes = dict(zip(self._mark_keys, given, strict=True))
                numbers = [n for n in numbers if not marked_otherwise(self._marked[n], codes, in_set)]
            if len(self._known) > MOST_KNOWN:
                self._known.clear()
            self._known[keys] = [self.all[n] for n in numbers]
        return self._known[keys]


def keys_of(value: Any, type: str) -> Iterable[Any]:
    """What a value can be found by: the kinds of thing that its type is, its codes, or itself."""
    if isinstance(value, dict):
        found: list[Any] = [("type", one) for one in tables.lineage(type)]
        if type == "CodeableConcept":
            found += [_pair(coding) for coding in parts(value, "coding")]
        elif type == "Coding":
            found.append(_pair(value))
        return found
    return (("type", type), value) if isinstance(value, str) else [("type", one) for one in tables.lineage(type)]


def key_of_pattern(value: Any) -> Any:
    """One key that whatever fits the pattern must have; None where it has none."""
    if isinstance(value, str):
        return value
    if not isinstance(value, dict):
        return None
    coding = next(iter(parts(value, "coding")), None) if "coding" in value else value
    if coding is None or not isinstance(coding.get("system"), str) or not isinstance(coding.get("code"), str):
        return None
    return _pair(coding) if "coding" in value or value.keys() <= {"system", "code", "display"} else None


def _pair(coding: Any) -> tuple[str, Any, Any]:
    system, code = coding.get("system"), coding.get("code")
    return "code", system if isinstance(system, str) else None, code if isinstance(code, str) else None
