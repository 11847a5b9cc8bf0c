"""`--months FIRST..LAST`: which records of the sources are looked at."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Command

if TYPE_CHECKING:
    from bridge.audit.shapes import Entry
    from bridge.issues import Issue

_MONTHS = re.compile(r"(\d{4}-(?:0[1-9]|1[0-2]))\.\.(\d{4}-(?:0[1-9]|1[0-2]))", re.ASCII)


def months_option(command: Command) -> Command:
    return click.option("--months", metavar="FIRST..LAST", help="Only these months, such as 2026-01..2026-03.")(command)


def period(months: str | None) -> tuple[str, str] | None:
    """First and last month. Raises UsageError."""
    if months is None:
        return None
    found = _MONTHS.fullmatch(months)
    if found is None or found[1] > found[2]:
        raise click.UsageError("--months wants the first and the last month, such as 2026-01..2026-03.")
    return found[1], found[2]


class Within:
    """Answers whether a record is of the months, and counts those that do not say of which month they are."""

    def __init__(self, months: tuple[str, str] | None) -> None:
        self._months = months
        self.undated = 0
        self._within = self._other = 0

    def __call__(self, entry: Entry) -> bool:
        if self._months is None:
            return True
        self.undated += not entry.month
        within = self._months[0] <= entry.month <= self._months[1]
        self._within += within
        self._other += bool(entry.month) and not within
        return within

    def told(self) -> list[Issue]:
        """A253 where there were such, A254 where none of the others is of these months."""
        from bridge.issues import issue

        found = []
        if self.undated:
            records = "1 record does" if self.undated == 1 else f"{self.undated} records do"
            found.append(issue("A253", f"{records} not say of which month, and stayed out."))
        if self._other and not self._within:
            records = "The only record is" if self._other == 1 else f"All {self._other} records are"
            found.append(issue("A254", f"{records} of other months than those that were asked for."))
        return found
