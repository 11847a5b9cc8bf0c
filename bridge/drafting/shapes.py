"""What drafting works on and what it makes: a sheet's columns, a guess for each, the draft as a whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from dataclasses import field as made
from typing import Any, Literal, Protocol

from bridge.layout import told_apart

ASK = "ask"
"""Stands in a layout where a person has to answer first."""

IGNORE = "ignore"
YOURS = "your answer"
"""Why a column is what the person said."""
BEFORE = "your layout says so"
"""Why a column is what a layout that is there already says."""
Sure = Literal["sure", "likely", "unsure"]
Rows = Literal["visit", "ear"]

KEPT_ROWS = 2_000
"""First rows whose cells are kept in order."""

MOST_DISTINCT = 20_000
"""Different cells of one column that are kept; more of them say nothing new about how the column is written."""


class Terms(Protocol):
    """The term maps, as far as drafting asks them."""

    @property
    def kinds(self) -> Mapping[str, Any]: ...

    def find(self, kind: str, words: str) -> Any | None: ...

    def kind_of(self, path: str) -> Any | None: ...


@dataclass(slots=True)
class Column:
    """One column: its heading, and how often each of its cells stands there."""

    at: int
    heading: str
    cells: Counter[str] = made(default_factory=Counter)
    filled: int = 0
    first: list[str] = made(default_factory=list)
    """The cells of the first rows in their order, blank ones too."""
    codes: dict[str, str] = made(default_factory=dict)
    """What the heading itself says that its cells mean: `1=R 2=L`."""

    def share(self, test: Callable[[str], bool]) -> float:
        """How many of the filled cells pass a test, between 0 and 1."""
        return sum(n for cell, n in self.cells.items() if test(cell)) / self.filled if self.filled else 0.0


@dataclass(slots=True)
class Sheet:
    """A table to propose a layout for."""

    name: str
    headings: list[str]
    rows: int = 0
    typed: bool = False
    settings: dict[str, Any] = made(default_factory=dict)
    """How the file is opened (sheet, query, encoding, delimiter), written into the layout as it is."""
    joined: tuple[str, ...] = ()
    """How tables of a database belong together, where it does not say so itself."""
    columns: list[Column] = made(default_factory=list)
    remarks: list[str] = made(default_factory=list)

    def take(self, rows: Iterable[list[str]]) -> None:
        """Counts the cells of the rows of visits."""
        self.columns = [Column(at, heading) for at, heading in enumerate(told_apart(self.headings))]
        for cells in rows:
            for column in self.columns:
                text = cells[column.at].strip() if column.at < len(cells) else ""
                if self.rows < KEPT_ROWS:
                    column.first.append(text)
                if text:
                    column.filled += 1
                    if len(column.cells) < MOST_DISTINCT or text in column.cells:
                        column.cells[text] += 1
            self.rows += 1


@dataclass(slots=True)
class Place:
    """What a column could be. More than one field: it is asked which."""

    fields: list[str]
    sure: Sure
    why: str
    rank: int
    """How good the reason is, for two columns that want the same field: 3 exact words ... 0 the cells alone."""


@dataclass(slots=True)
class Guess:
    """What one column is taken for. Its cells stay with it, for the questions."""

    column: Column
    field: str
    sure: Sure
    why: str
    options: list[str] = made(default_factory=list)
    """Fields it could be, where that is asked."""
    settings: dict[str, str] = made(default_factory=dict)
    """list, unit, scale, name, optional; `ask` where the sheet does not tell."""
    choices: dict[str, list[str]] = made(default_factory=dict)
    """Possible answers of the settings that are asked."""
    words: dict[str, str] = made(default_factory=dict)
    """Words of cells and what they mean here; `ask` where it could be more than one thing."""
    meanings: list[str] = made(default_factory=list)
    """What a word may mean in this field."""
    unit: str = ""
    """The unit that the heading gives."""
    eye: str = ""
    """A Latin mark of an ear in the heading that means an eye to others."""
    others: tuple[str, ...] = ()
    """Further fields of the same column, from a layout that is there already."""
    kept: Any = None
    """What that layout says of the column, where it says more than a draft would."""
    marks: str = ""
    """The heading's side and stage as they were found, for the reason."""

    @property
    def heading(self) -> str:
        return self.column.heading


@dataclass(slots=True)
class Draft:
    """A proposed layout."""

    sheet: Sheet
    rows: str
    rows_why: str
    language: str
    guesses: list[Guess]
    terms: Terms | None = None
    dates: list[str] = made(default_factory=list)
    dates_why: str = ""
    date_choices: list[str] = made(default_factory=list)
    """Where the order of day and month is not proven: the formats it could be."""
    times: list[str] = made(default_factory=list)
    two_digit_years: str = ""
    years_why: str = ""
    latest_year: int = 0
    """Of the visits; 0 where no date of a visit is known."""
    blank_cells: list[str] = made(default_factory=list)
    blank_asked: list[str] = made(default_factory=list)
    """Marks that may say nothing, met where an answer could be meant."""
    latin: str = ""
    """What the person said of Latin marks in the headings: yes or no; empty where nobody was asked."""
    missing: list[str] = made(default_factory=list)
    """What every visit needs and no column gives, in plain words."""
    constants: dict[str, str] = made(default_factory=dict)
    """What the person said holds for every row."""
    own: dict[str, Any] = made(default_factory=dict)
    """The layout that is there already, as it was written."""
    kept_words: dict[str, dict[str, str]] = made(default_factory=dict)
    """Words that it explains, by pattern of fields."""

    def guess_of(self, heading: str) -> Guess:
        return next(g for g in self.guesses if g.heading == heading)
