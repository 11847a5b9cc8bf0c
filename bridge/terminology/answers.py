"""What can be said of a code: whether it is in a value set or a code system, and what else was seen of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["in", "out", "unknown"]


@dataclass(frozen=True, slots=True)
class Answer:
    """`unknown` means that neither yes nor no is certain."""

    verdict: Verdict
    reason: str = ""
    """In plain words; quotes no more than names of systems, value sets and codes."""
    display_wrong: str = ""
    """The right display, where the one given is known to be wrong."""
    inactive: bool = False
    """Whether the code is there, and is not to be used any more."""


@dataclass(frozen=True, slots=True)
class Found:
    """Three-valued: yes, no, or not known (None); and why it is no or not known."""

    yes: bool | None
    why: str = ""


YES = Found(True)


def every(found: list[Found]) -> Found:
    """All of them: one no is a no; otherwise one unknown is an unknown."""
    return next((f for f in found if f.yes is False), None) or next((f for f in found if f.yes is None), YES)


def either(found: list[Found], none: str) -> Found:
    """Any of them: one yes is a yes; otherwise one unknown is an unknown. `none`: why it is no where all say no."""
    return next((f for f in found if f.yes), None) or next((f for f in found if f.yes is None), Found(False, none))


def named(text: str) -> str:
    """A name of a system, value set or code, short enough for a message."""
    return text if len(text) <= 60 else f"{text[:59]}…"
