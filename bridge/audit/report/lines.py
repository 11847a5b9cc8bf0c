"""Lines of a text report: wrapped to 80 columns, safe to show, with colour where it is wanted."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import TextIO

from bridge.audit.report.words import SEVERITY
from bridge.issues import Issue
from bridge.safe_text import plain, shown

WIDTH = 80
STYLES = {
    "head": "\x1b[1m",
    "fatal": "\x1b[1;31m",
    "error": "\x1b[1;31m",
    "warning": "\x1b[1;33m",
    "information": "\x1b[1;36m",
    "faint": "\x1b[2m",
}
PLAIN_AGAIN = "\x1b[0m"


@dataclass(frozen=True, slots=True)
class Line:
    text: str = ""
    style: str = ""


def wrapped(text: str, *, first: str = "", rest: str = "", style: str = "") -> Iterator[Line]:
    """The text in lines of at most 80 columns; only its first line is styled, unless it is faint.

    A number and its % stay together.
    """
    whole = plain(text).replace(" %", "\N{NO-BREAK SPACE}%")
    told = textwrap.wrap(whole, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)
    for at, line in enumerate(told):
        yield Line(line.replace("\N{NO-BREAK SPACE}%", " %"), style if at == 0 or style == "faint" else "")


def heading(text: str) -> Iterator[Line]:
    yield Line()
    yield Line(text, "head")


def write_lines(lines: Iterable[Line], stream: TextIO, colour: bool) -> None:
    for line in lines:
        text = shown(line.text)
        start = STYLES.get(line.style, "") if colour and text else ""
        stream.write(f"{start}{text}{PLAIN_AGAIN if start else ''}\n")


def issues_told(issues: Iterable[Issue]) -> Iterator[Line]:
    """The severest first; what to do once for those of one rule."""
    ordered = sorted(issues, key=lambda one: (-one.severity, one.rule))
    for _, same in groupby(ordered, key=lambda one: (one.rule, one.help)):
        for found in (group := list(same)):
            start, place = f"  {SEVERITY[found.severity]:<8} {found.rule:<5} ", str(found.where)
            told = f"{place + ': ' if place else ''}{found.message}"
            yield from wrapped(told, first=start, rest=" " * 17, style=found.severity.name)
        if group[0].help:
            yield from wrapped(f"To do: {group[0].help}", first=" " * 17, rest=" " * 17)


def table(headings: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> Iterator[Line]:
    """The first column takes what the others leave of 80 columns; the others stand to the right."""
    given = [tuple(plain(cell) for cell in row) for row in rows]
    widths = [max(len(row[at]) for row in (headings, *given)) for at in range(len(headings))]
    room = WIDTH - 2 - sum(width + 2 for width in widths[1:])
    widths[0] = max(min(widths[0], room), 8)
    for style, row in (("faint", headings), *(("", row) for row in given)):
        cells = [f"{cell:>{width}}" for cell, width in zip(row[1:], widths[1:], strict=True)]
        yield Line("  " + "  ".join([f"{cut(row[0], widths[0]):<{widths[0]}}", *cells]).rstrip(), style)


def cut(text: str, most: int = 40) -> str:
    """At most so many characters, the last an ellipsis where there were more."""
    safe = plain(text)
    return safe if len(safe) <= most else f"{safe[: most - 1]}…"
