"""What every kind of sheet looks like behind its door: rows of text cells, numbered as a person counts them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from bridge.issues import Issue


@dataclass(frozen=True, slots=True)
class Raw:
    """One row as it stands. `broken`: its quotation marks are not in order, most often one is never closed."""

    number: int
    """As the person's own program counts it, from 1."""
    cells: list[str]
    """Text as the person sees or would write it."""
    broken: bool = False


class Table(Protocol):
    """One sheet of a file. Its rows are never held whole, and may be read again."""

    file: str
    """Its name as told in messages."""
    sheet: str
    """Worksheet, table or query; empty where the file has one only."""
    issues: list[Issue]
    typed: bool
    """Whether the cells come from a format with real dates: ISO dates are right whatever the layout says."""

    def rows(self) -> Iterator[Raw]:
        """Every row from the top, blank ones too."""
