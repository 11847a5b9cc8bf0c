"""Clauses of a sentence, said once where they hold for both ears."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.ear_words import Ear
from bridge.wording import say, say_number


@dataclass(frozen=True, slots=True)
class Clause:
    """A key of the catalogue with `.one` and `.other` forms, and what is put in beside the ear."""

    key: str
    values: tuple[tuple[str, str], ...] = ()
    part: str = ""
    """The part of the ear that `{where}` names: `the right ear canal`."""


def clause(key: str, reason: str = "", part: str = "", **values: str) -> Clause:
    """`key.why` where there is a reason."""
    if reason:
        return Clause(f"{key}.why", tuple({**values, "reason": reason}.items()), part)
    return Clause(key, tuple(values.items()), part)


def spoken(told: Clause, ear: Ear | None) -> str:
    """The clause of one ear, or of both."""
    places = {"where": say(f"brief.where.{told.part}.{ear or 'both'}")} if told.part else {}
    if ear is None:
        return say_number(told.key, 2, **places, **dict(told.values))
    places |= {name: say(f"brief.{name}.{ear}") for name in ("ear", "in_ear", "on_ear")}
    return say_number(told.key, 1, **places, **dict(told.values))


def both_ears(right: list[Clause], left: list[Clause]) -> list[str]:
    """What both ears share, then the right one's, then the left one's, each in its own order."""
    shared = [told for told in right if told in left]
    return [
        *(spoken(told, None) for told in shared),
        *(spoken(told, "right") for told in right if told not in shared),
        *(spoken(told, "left") for told in left if told not in shared),
    ]
