"""What the audit's pages are put together from, and how a page is filled: one file, no script, nothing asked for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any

from bridge.data import table_path
from bridge.safe_text import plain

if TYPE_CHECKING:
    from jinja2 import Environment


NO_BREAK = "\N{NO-BREAK SPACE}"
_TOGETHER = re.compile(r"(?<=\d) (?=%|of [\d,]+\))|(?<=\d of) (?=[\d,]+\))|(?<=[a-z]) (?=20\d\d\b)")
"""`91.1 %`, `(1,120 of 1,230)`, `May 2026`."""


@dataclass(frozen=True, slots=True)
class Table:
    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = ()
    counts: tuple[int, ...] = ()
    """Which columns hold numbers."""


@dataclass(frozen=True, slots=True)
class Chart:
    key: str
    caption: str
    svg: str
    table: Table | None = None


@dataclass(frozen=True, slots=True)
class Noted:
    """An issue or a pattern as a page tells it."""

    severity: str
    word: str
    values: Mapping[str, Any] = field(default_factory=dict)

    def __getattr__(self, name: str) -> Any:
        try:
            return self.values[name]
        except KeyError:
            raise AttributeError(name) from None


def filled(template: str, **values: Any) -> str:
    """The page as HTML."""
    css = table_path("audit", "page.css").read_text(encoding="utf-8").strip()
    return _environment().get_template(template).render(css=css, **values).lstrip()


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(table_path("audit")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )


def _shown(value: Any) -> Any:
    """Words of records cannot turn the line round or hide, and a number stays with what it counts; what is markup
    already stays."""
    return _TOGETHER.sub(NO_BREAK, plain(value)) if type(value) is str else value
