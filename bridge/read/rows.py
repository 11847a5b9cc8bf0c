"""What every kind of sheet looks like behind its door: rows of text cells, numbered as a person counts them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple, Protocol

from bridge.issues import Issue
from bridge.read.fault import Fault


@dataclass(frozen=True, slots=True)
class Raw:
    """One row as it stands. `broken`: its quotation marks are not in order, most often one is never closed."""

    number: int
    """As the person's own program counts it, from 1."""
    cells: list[str]
    """Text as the person sees or would write it."""
    broken: bool = False
    faults: tuple[tuple[int, Fault], ...] = ()
    """Columns, from 1, whose cell holds no value that can be used, and why; column 0 is the row as a whole."""

    @property
    def blank(self) -> bool:
        return not any(map(str.strip, self.cells))


class Span(NamedTuple):
    """Cells merged into one, whose value stands in the first; rows and columns from 1."""

    top: int
    left: int
    bottom: int
    right: int


class Table(Protocol):
    """One sheet of a file. Its rows are never held whole, and may be read again."""

    file: str
    """Its name as told in messages."""
    sheet: str
    """Worksheet, table or query; empty where the file has one only."""
    title: str
    """The sheet's own name, also where it is the only one."""
    issues: list[Issue]
    typed: bool
    """Whether the cells come from a format with real dates: ISO dates are right whatever the layout says."""
    hidden: bool
    """Whether the person does not see this sheet."""
    names: list[str] | None
    """Headings that the format itself keeps apart from the rows; None where they are one of the rows."""
    epoch: int
    """First year of the day numbers that dates are kept as: 1900 or 1904."""

    def rows(self) -> Iterator[Raw]:
        """Every row from the top, blank ones too."""

    def spans(self) -> Sequence[Span]:
        """Cells that are merged."""
