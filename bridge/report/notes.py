"""The notes of the clinical rules in few lines: what records leave open is for a quiet hour, not for closing time."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator

from bridge.issues import Issue, Severity, rule_of
from bridge.safe_text import plain

HEADING = "What the records leave open"
FEW = 4
"""Causes of which each is told in full all the same."""
MOST = 12
"""Rules that get a line of their own."""
_CLINICAL = re.compile(r"C[2-59]\d\d")
_OF_THE_PRACTICE = re.compile(r"C59[1-9]")
"""What the practice changed of the rules: never folded away, since it is never silent."""

Groups = list[list[Issue]]


def set_aside(groups: Groups, verbose: bool) -> tuple[Groups, Groups]:
    """The groups to tell in full, and the clinical notes that are told together."""
    notes = [group for group in groups if _is_note(group[0])]
    if verbose or len(notes) <= FEW:
        return groups, []
    return [group for group in groups if not _is_note(group[0])], notes


def _is_note(found: Issue) -> bool:
    if found.severity is not Severity.information or found.attention or _OF_THE_PRACTICE.fullmatch(found.rule):
        return False
    return _CLINICAL.fullmatch(found.rule) is not None


def _stands(found: Issue) -> str:
    """How a rule's line begins: what was not decided, or answered, is not taken for something that was found."""
    asks, _, _ = found.cause.removeprefix(f"{found.rule}:").partition(":")
    return {"asks": "not decided: ", "answered": "answered by a reason: "}.get(asks, "")


def together(notes: Groups, width: int) -> Iterator[str]:
    """Heading, how many there are, and a line for each rule: red flags first, then the most frequent."""
    counts: dict[str, int] = {}
    titles: dict[str, str] = {}
    flags = set()
    for group in notes:
        found = group[0]
        page = rule_of(found.rule)
        counts[found.rule] = counts.get(found.rule, 0) + len(group)
        titles.setdefault(found.rule, f"{_stands(found)}{page.title if page else found.message}")
        if page and page.flag:
            flags.add(found.rule)
    yield from (HEADING, "-" * len(HEADING))
    told = (
        f"{sum(counts.values())} notes of {len(counts)} clinical rules ask, or name what could be recorded better. "
        f"--verbose tells each with its place; `visit-bridge explain {next(iter(counts))}` says what a rule means."
    )
    yield from textwrap.wrap(told, width, break_on_hyphens=False)
    yield ""
    order = sorted(counts, key=lambda code: (code not in flags, -counts[code], code))
    for code in order[:MOST]:
        start = f"{code:<6}{counts[code]:>4}  "
        yield from textwrap.wrap(plain(titles[code]), width, initial_indent=start, subsequent_indent=" " * len(start))
    if len(order) > MOST:
        left = sum(counts[code] for code in order[MOST:])
        yield f"      {left:>4}  of {len(order) - MOST} other rules"
