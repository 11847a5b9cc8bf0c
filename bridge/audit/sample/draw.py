"""Draws things at random by the order of their digests: the same records and seed give the same sample everywhere."""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable
from dataclasses import dataclass, field
from hashlib import sha256

from bridge.audit.shapes import Entry, Item

BY = ("practitioner", "month", "kind")
"""What a sample can be spread over."""
MOST = 5_000
"""Lines of one sheet."""
MOST_GROUPS = 500


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing of one record, and the kind of terms whose meanings its words can have."""

    entry: Entry
    item: Item
    kind: str


@dataclass(slots=True)
class Drawn:
    """The sample in its order, which is random, and what it was drawn from."""

    things: list[Thing] = field(default_factory=list)
    of: int = 0
    groups: dict[str, int] = field(default_factory=dict)
    """How many things each group had that could be drawn; one group without a name where it is spread over nothing."""
    too_many_groups: bool = False
    """Whether there were more groups than are kept apart; the rest were taken as one."""


def draw(things: Iterable[Thing], number: int, seed: str, by: str = "") -> Drawn:
    """`number` things, or all where there are fewer; with `by` as many of each group as of another, while they last.

    A thing's rank is the SHA-256 of seed, number and version of the record, path, and words; the lowest ranks are
    drawn. Every thing is as likely as any other of its group, whatever the order of the sources. Keeps no more than
    `number` things of each group.
    """
    drawn = Drawn()
    kept: dict[str, list[tuple[bytes, int, Thing]]] = {}
    for at, thing in enumerate(things):
        drawn.of += 1
        group = _group(thing, by)
        if group not in kept and len(kept) >= MOST_GROUPS:
            drawn.too_many_groups, group = True, ""
        drawn.groups[group] = drawn.groups.get(group, 0) + 1
        lowest = kept.setdefault(group, [])
        rank = _rank(thing, seed)
        if len(lowest) < number or rank < lowest[-1][0]:
            insort(lowest, (rank, at, thing), key=lambda one: one[:2])
            del lowest[number:]
    turns = sorted((turn, rank, at, thing) for found in kept.values() for turn, (rank, at, thing) in enumerate(found))
    drawn.things = [thing for _, _, _, thing in sorted(turns[:number], key=lambda one: one[1:3])]
    return drawn


def _rank(thing: Thing, seed: str) -> bytes:
    visit = thing.entry.visit
    parts = (seed, thing.entry.number, str(visit.version if visit else ""), thing.item.path, thing.item.text)
    return sha256("\0".join(parts).encode("utf-8", "replace")).digest()


def _group(thing: Thing, by: str) -> str:
    if by == "practitioner":
        return thing.entry.practitioner
    if by == "month":
        return thing.entry.month
    return thing.kind if by == "kind" else ""
