"""As many issues as anybody reads: hostile data could make millions of them, and a large file says one thing often."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from bridge.issues import Issue, Severity, Where, issue

MAX_ERRORS = 5_000
"""Errors after which nothing more is looked at."""
MAX_ALIKE = 1_000
"""Warnings of one rule that are told; those after them are counted."""


class EnoughError(Exception):
    """There is more than is looked at; the words say more of what."""


class Told:
    """Issues as far as they are told, in their order."""

    def __init__(self) -> None:
        self.issues: list[Issue] = []
        self._errors = 0
        self._doubts: Counter[str] = Counter()

    def add(self, found: Issue) -> None:
        """Raises EnoughError once there are too many errors; of warnings the later ones of a rule are only counted."""
        if found.severity >= Severity.error:
            if self._errors >= MAX_ERRORS:
                raise EnoughError(f"{MAX_ERRORS:,} errors")
            self._errors += 1
        else:
            self._doubts[found.rule] += 1
            if self._doubts[found.rule] > MAX_ALIKE:
                return
        self.issues.append(found)

    def whole(self, where: Where, too_many: str = "") -> list[Issue]:
        """All of them, and what is left out. `too_many`: more than what there was, where that ended the looking."""
        more = [issue("S118", _more(rule, n), where) for rule, n in self._doubts.items() if n > MAX_ALIKE]
        if too_many:
            more.append(issue("S117", f"More than {too_many}; the rest was not looked at.", where))
        return [*self.issues, *more]


def enough(issues: Iterable[Issue], where: Where) -> list[Issue]:
    """The issues as far as they are told; where there are more, S117 or S118 says so. `where`: the data as a whole."""
    told = Told()
    try:
        for found in issues:
            told.add(found)
    except EnoughError as error:
        return told.whole(where, str(error))
    return told.whole(where)


def _more(rule: str, met: int) -> str:
    return f"{met - MAX_ALIKE:,} more of {rule} are not told."
