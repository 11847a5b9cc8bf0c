"""What a layout says, checked and ready for reading."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from bridge.layout.fields import Field
from bridge.layout.formats import Format


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """One field that one column fills, and how its cells are to be understood."""

    field: Field
    words: Mapping[str, str]
    """Folded local word to what it means in this field."""
    blank: str = ""
    separator: str = ""
    unit: str = ""
    """UCUM code of bare numbers; `fraction`: 0.8 is 80 percent."""
    scale: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """One heading. No targets: known and not wanted."""

    heading: str
    targets: tuple[Target, ...]
    optional: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """How one sheet's columns line up with a visit."""

    name: str
    rows: Literal["visit", "ear"]
    columns: tuple[Column, ...]
    encoding: str = "auto"
    delimiter: str = "auto"
    """auto, or the character itself."""
    sheet: tuple[str, ...] = ()
    """Names or patterns of the worksheets or tables that hold the visits; none: those whose headings fit."""
    query: str = ""
    """What to ask a database for."""
    heading_rows: int = 0
    """Rows that hold the headings; 0: found out."""
    start_from: date | None = None
    dates: tuple[Format, ...] = ()
    serial: int = 0
    """First year of the day numbers that bare numbers in columns of dates are; 0: they are none."""
    times: tuple[Format, ...] = ()
    two_digit_years: int | None = None
    """First year of the hundred that two digits mean; None refuses them."""
    blank_cells: frozenset[str] = frozenset()
    yes: frozenset[str] = frozenset()
    no: frozenset[str] = frozenset()
    constants: tuple[tuple[Target, str], ...] = ()
    file: str = ""
    known: Mapping[str, Container[str]] = field(default_factory=dict)
    """Folded words of the practice's own term maps, by kind: known, besides the shipped ones, where a cell is taken
    apart."""

    def targets(self) -> list[Target]:
        return [target for column in self.columns for target in column.targets]

    def fills(self, path: str) -> bool:
        """Whether a column fills this field or a part of it."""
        return any(t.field.path == path or t.field.path.startswith(f"{path}.") for t in self.targets())
