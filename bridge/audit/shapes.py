"""What goes into the audit, record by record, and what comes out of it.

Nothing here holds a client's name, number or birth date, or free text: evidence names records by their own number and
place, and quotes only words of the trade that were met in fields of terms.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

from bridge.issues import Issue, Severity, Where
from bridge.visit import Visit
from bridge.visit.base import Coding

Side = Literal["right", "left", "both", "unknown", ""]
"""As the structure of the record says; "unknown" where a side is due and none is told, empty where none is due."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing in a record that a code is due for."""

    path: str
    """`right.before.wax.amount` in a visit, `Condition.code` in a resource."""
    kind: str
    """The path without ear and index, the same for the same kind of thing: `before.wax.amount`, `work.method`."""
    text: str
    """The local words, as written; empty where there is a code only."""
    codings: tuple[Coding, ...] = ()
    resource: str = ""
    """`Condition`, `Observation`, `Procedure` and so on: what it is, or is to be, sent as."""
    side: Side = ""
    assertion: str = ""
    """`present`, `suspected`, `absent`, `past`, or empty where nothing is told."""
    where: Where = Where()
    due: bool = True
    """Whether a code is expected: not where any words are usual, as for medicines or advice."""
    meant: str = ""
    """The practice's own concept for these words, whatever they were coded as; empty where they have none."""
    said: str = ""
    """What its words say by themselves: `suspected`, `absent`, `past`, or empty."""
    note: str = ""
    """Running text beside it. Never told, only looked through."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One record, or one bundle."""

    number: str
    month: str = ""
    """`2026-05`; empty where the record does not say."""
    practitioner: str = ""
    """The key by which the practice knows them; empty where the record does not say."""
    client: bytes = b""
    """An opaque keyed digest, to tell visits of one client from those of another within one run."""
    items: tuple[Item, ...] = ()
    issues: tuple[Issue, ...] = ()
    """What reading, coding and checking found in this record."""
    visit: Visit | None = None
    where: Where = Where()
    source: Literal["visit", "ours", "bundle"] = "visit"
    """`ours`: a bundle that this program made and can read back; `bundle`: one of another maker."""
    place: Callable[[str], Where] | None = field(default=None, compare=False)
    """The cell or line of a field of the visit, where it is known."""
    names: frozenset[str] = frozenset()
    """Parts of the names of people in a bundle that no visit could be read from, in small letters. Never told."""

    def at(self, path: str) -> Where:
        """Where something in this record stands."""
        found = self.place(path) if self.place else replace(self.where, path=path)
        return replace(found, record=self.number) if found.record != self.number else found


@dataclass(frozen=True, slots=True)
class Rate:
    """So many of so many. `share` is None where there is nothing to take a share of."""

    count: int
    of: int

    @property
    def share(self) -> float | None:
        return self.count / self.of if self.of else None


@dataclass(frozen=True, slots=True)
class CodeUse:
    system: str
    code: str
    display: str
    count: int


@dataclass(frozen=True, slots=True)
class TermUse:
    """One local term (folded words of one kind) and what it was coded as."""

    kind: str
    text: str
    """As it was written most often."""
    count: int
    codes: tuple[CodeUse, ...]
    """Most used first; uses without a code are the rest of `count`."""
    consistency: float
    """Share of its most used code among its coded uses; 1 where none is coded."""
    entropy: float
    """In bits, over the codes used for it; 0 is consistent."""
    about: str = ""
    """What keeps these uses apart from others of the same words: how it was said, and of a code of one ear its ear."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """Two or more who coded the same things."""

    coders: tuple[str, ...]
    things: int
    """How many things at least two of them coded."""
    percent: float | None
    kappa: float | None
    """Cohen's, for two coders; None for more, or where it is not defined (everything under one code)."""
    alpha: float | None
    """Krippendorff's, nominal."""


@dataclass(frozen=True, slots=True)
class Group:
    """Rates of the records of one practitioner, or of one month."""

    name: str
    records: int
    coded: Rate
    sided: Rate
    text_only: Rate
    unspecific: Rate
    conflicts: Rate


@dataclass(frozen=True, slots=True)
class PatternFound:
    """One pattern of inconsistency that the data show, or one of which they cannot show anything."""

    pattern: str
    """`I01` to `I33`."""
    title: str
    rules: tuple[str, ...]
    severity: Severity
    records: Rate
    """Records that show it, of those that could have."""
    evidence: tuple[Issue, ...] = ()
    """The first few, each with its place; never more than the limit."""
    do: str = ""
    not_shown: str = ""
    """Why these data cannot show it; then there is no evidence, and that means nothing."""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Local words that are nearly one: to be written one way, or to get one meaning."""

    kind: str
    words: tuple[tuple[str, int], ...]
    """Each with how often it occurs, the most frequent first."""
    why: str


@dataclass(frozen=True, slots=True)
class Worst:
    """A record with much to mend."""

    number: str
    where: Where
    issues: tuple[Issue, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What was read and does not count, so that each visit counts once."""

    known: int = 0
    """Documents whose visits were counted already."""
    earlier: int = 0
    """Records and documents of a version, of which a newer one counts."""


@dataclass(slots=True)
class Audited:
    """Everything that the audit of one clinic's records says."""

    records: int = 0
    first_month: str = ""
    last_month: str = ""
    completeness: Rate = Rate(0, 0)
    sided: Rate = Rate(0, 0)
    text_only: Rate = Rate(0, 0)
    unspecific: Rate = Rate(0, 0)
    retired: Rate = Rate(0, 0)
    conflicts: Rate = Rate(0, 0)
    consistency: float | None = None
    """Mean of the terms' own, weighted by their coded uses."""
    entropy: float | None = None
    terms: tuple[TermUse, ...] = ()
    """Those used most first, and never more than the limit."""
    practitioners: tuple[Group, ...] = ()
    months: tuple[Group, ...] = ()
    agreement: tuple[Agreement, ...] = ()
    """All together first, then each pair."""
    patterns: tuple[PatternFound, ...] = ()
    suggestions: tuple[Suggestion, ...] = ()
    worst: tuple[Worst, ...] = ()
    """Up to ten."""
    left_out: LeftOut = LeftOut()
    issues: list[Issue] = field(default_factory=list)
    """What was found in sources and settings as a whole."""
