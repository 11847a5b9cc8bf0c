"""Which profile and slice each element was held against, as a tree of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from bridge.issues import Explained, Severity, rule_of
from bridge.safe_text import plain

WIDTH = 80
LEFT = 34
ONLY_BASE = "FHIR R4 only"


def tree(explained: Iterable[Explained]) -> Iterator[str]:
    """Lines: the element, indented by what it stands in; beside it each profile with its slice, and rules broken."""
    file = None
    for one in explained:
        if one.file != file:
            file = one.file
            yield plain(file)
        yield from _lines(one)


def _lines(one: Explained) -> Iterator[str]:
    name = one.path.rpartition(".")[2] if one.depth else f"line {one.row}: {one.path}" if one.row else one.path
    left = "  " * one.depth + plain(name) + (f" ({one.type})" if one.type and one.type != one.path else "")
    told = _told(one.held) or [ONLY_BASE]
    told += _found(one.rules)
    right = [line for text in told for line in textwrap.wrap(plain(text), WIDTH - LEFT, subsequent_indent="  ")]
    if len(left) >= LEFT:
        yield left
        left = ""
    for line in right:
        yield f"{left:<{LEFT}}{line}"
        left = ""


def _found(codes: Iterable[str]) -> Iterator[str]:
    """What does not hold, and apart from it what is only noted, such as that something was not decided."""
    noted = {code: (page := rule_of(code)) is not None and page.severity <= Severity.information for code in codes}
    for words, which in (("does not hold", False), ("noted", True)):
        if found := [code for code, only in noted.items() if only == which]:
            yield f"{words}: {', '.join(found)}"


def _told(held: Iterable[tuple[str, str, str]]) -> list[str]:
    """Each profile once for each slice of it that the element is in or inside of; without one where it is in none."""
    slices: dict[str, dict[str, None]] = {}
    for profile, element, _ in held:
        known = slices.setdefault(profile, {})
        names = [step.partition(":")[2] for step in element.split(".") if ":" in step]
        if names:
            known[", ".join(names)] = None
    return [f"{p}, slice {name}" if name else p for p, names in slices.items() for name in (names or {"": None})]
