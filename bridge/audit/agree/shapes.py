"""What agreement between the coders of a sheet and the record comes to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bridge.audit.sample.key import Given
from bridge.audit.shapes import Agreement, Rate
from bridge.fhir.systems import OWN, short_name
from bridge.issues import Issue


def named(system: str, code: str) -> str:
    """`sct:18070006`; the whole address of a system that has no short name here."""
    return f"{short_name(system) or system}:{code}"


Error = Literal[
    "missing code", "other meaning", "less specific", "more specific", "other kind", "no meaning fits", "other side",
    "other certainty",
]  # fmt: skip
ERRORS: dict[Error, str] = {
    "missing code": "A220",
    "other meaning": "A221",
    "less specific": "A222",
    "more specific": "A223",
    "other side": "A224",
    "other kind": "A225",
    "other certainty": "A226",
    "no meaning fits": "A227",
}
"""Types of difference, from the record's side, each with its rule."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One line that the record has otherwise than some coders, who say the same."""

    error: Error
    given: Given
    has: str
    """What the record has, as a label or a code; empty for no code."""
    chosen: str
    coders: tuple[str, ...]
    of: int
    """How many coders answered the line."""
    same_code: bool = False
    """Whether both meanings go out under one and the same external code."""
    chosen_codes: tuple[str, ...] = ()
    """The codes of others that the chosen meaning goes out under (`sct:18070006`)."""

    @property
    def codes(self) -> tuple[str, ...]:
        """Those that the record has."""
        return tuple(named(coding.system, coding.code) for coding in self.given.codings if coding.system != OWN)


@dataclass(frozen=True, slots=True)
class Share:
    """How far the record is as its second coders have it, for one coder or for one group of lines."""

    name: str
    lines: int
    """Lines looked at."""
    same: Rate
    """Answers with the record's meaning, of those that tell one."""
    right: Rate
    """Those with the same meaning, no other ear and no other certainty."""
    kappa: float | None = None
    interval: tuple[float, float] | None = None
    """95 percent, around `same`; None where several answers are about one line, and where lines of several groups were
    not drawn in their proportion."""
    errors: dict[Error, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Coder:
    name: str
    answered: int
    cannot_tell: int
    of: int


@dataclass(frozen=True, slots=True)
class TwoWays:
    """Words that one coder answered in more than one way in the same field."""

    coder: str
    field: str
    words: str
    meanings: tuple[str, ...]


@dataclass(slots=True)
class Agreed:
    """Everything that is told of filled sheets."""

    sheet: str
    seed: str
    of: int
    """Things that the sample was drawn from."""
    by: str
    lines: int
    coders: tuple[Coder, ...] = ()
    with_record: tuple[Share, ...] = ()
    """For each coder."""
    weighted: float | None = None
    """Share with the record's meaning over everything the sample was drawn from, where it was spread over groups."""
    between: tuple[Agreement, ...] = ()
    """Coders with each other: each pair, then all of them where there are more than two."""
    everyone: Agreement | None = None
    """Coders and the record, as one more coder."""
    kinds: tuple[Share, ...] = ()
    practitioners: tuple[Share, ...] = ()
    differences: tuple[Difference, ...] = ()
    two_ways: tuple[TwoWays, ...] = ()
    issues: list[Issue] = field(default_factory=list)
