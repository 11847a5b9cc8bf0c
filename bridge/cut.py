"""The recipient's cut: what of a visit a kind of letter lets through, by mappings/documents/cut.csv."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, STAGES
from bridge.visit import Visit
from bridge.visit.base import Filled, Model

KEPT = ("yes", "look")
"""With which a field stays; `look`: a person looks at it first, because others may stand in it."""
Rules = tuple[tuple[tuple[str, ...], frozenset[str], str], ...]
"""What may have to go: the field's path, the scopes that let it through, how the letter names it."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A visit as a letter may hold it, and what of it stayed behind."""

    visit: Visit
    left: Mapping[str, int]
    """How many things of each kind the letter names as kept by the clinic: keys of the catalogue."""


def cut(visit: Visit, letter: str) -> Cut:
    """The visit for the reader of a letter (`summary`, `referral`, `client`), otherwise unchanged."""
    return _cut(visit, _rules("cut.csv", letter))


def own_copy(visit: Visit) -> Cut:
    """The visit as the client gets it with their whole record, without what is other people's
    (mappings/documents/handover-client.csv)."""
    return _cut(visit, _rules("handover-client.csv", "client"))


def _cut(visit: Visit, rules: Rules) -> Cut:
    scopes = frozenset(visit.sharing.scope if visit.sharing else ())
    left: Counter[str] = Counter()
    for path, allowed, told in rules:
        if not allowed & scopes:
            visit, removed = _without(visit, path)
            if told and removed:
                left[told] += removed
    return Cut(visit, left)


def told_as_left(letter: str) -> tuple[str, ...]:
    """By which keys of the catalogue a letter may name what it left; none for what is cut by no such table."""
    rows = load_csv(table_path("documents", "cut.csv"))
    return tuple(dict.fromkeys(r["told"] for r in rows if r["told"] and r.get(letter, KEPT[0]) not in KEPT))


def as_shown(earlier: Visit, visit: Visit, letter: str) -> Visit:
    """The version that a letter of `visit` replaces, cut as that letter is: by the consent that holds now."""
    shown = cut(earlier.model_copy(update={"sharing": visit.sharing}), letter).visit
    return shown.model_copy(update={"sharing": earlier.sharing})


@cache
def _rules(table: str, letter: str) -> Rules:
    rows = load_csv(table_path("documents", table))
    return tuple(
        (path, frozenset() if row[letter] == "no" else frozenset(row[letter].split(" or ")), row["told"])
        for row in rows
        if row[letter] not in KEPT
        for path in _paths(row["field"])
    )


def _paths(field: str) -> Iterator[tuple[str, ...]]:
    for ear in EARS if "{ear}" in field else ("",):
        for stage in STAGES if "{stage}" in field else ("",):
            yield tuple(field.replace("{ear}", ear).replace("{stage}", stage).split("."))


def _without(model: Any, path: tuple[str, ...]) -> tuple[Any, int]:
    """The model without what the path names, and how many things went; the same object where nothing did."""
    name, inner = path[0].removesuffix("[]"), path[1:]
    value = getattr(model, name)
    if value is None or value == ():
        return model, 0
    if not inner:
        return _with(model, name, () if isinstance(value, tuple) else None), len(value) if isinstance(
            value, tuple
        ) else 1
    if isinstance(value, tuple):
        pairs = [_without(item, inner) for item in value]
        removed = sum(n for _, n in pairs)
        return (_with(model, name, tuple(i for i, _ in pairs if i is not None)), removed) if removed else (model, 0)
    changed, removed = _without(value, inner)
    return (_with(model, name, changed), removed) if removed else (model, 0)


def _with(model: Model, name: str, value: Any) -> Model | None:
    """A copy with another value; None for a group of which nothing is left."""
    made = model.model_copy(update={name: value})
    empty = isinstance(made, Filled) and all(getattr(made, field) in (None, ()) for field in type(made).model_fields)
    return None if empty else made
