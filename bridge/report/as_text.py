"""A report for a person, 80 columns wide: each cause told once with its places, worst first, figures last."""

from __future__ import annotations

import re
import textwrap
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TextIO

from bridge.issues import Issue, Report, Severity, Where, rule_of
from bridge.report.caution import caution
from bridge.report.notes import set_aside, together
from bridge.report.tree import tree
from bridge.safe_text import plain

WIDTH = 80
INDENT = " " * 15
FIRST_FEW = 5
"""Places of one cause that are listed before the rest is only counted."""

WORDS = {
    Severity.fatal: ("Fatal", "\x1b[1;31m"),
    Severity.error: ("Error", "\x1b[1;31m"),
    Severity.warning: ("Warning", "\x1b[1;33m"),
    Severity.information: ("Note", "\x1b[1;36m"),
}
PLAIN_AGAIN = "\x1b[0m"
ONE_OF = {
    "need you": "needs you",
    "visit summaries": "visit summary",
    "client summaries": "client summary",
    "copies for clients": "copy for a client",
    "records that are no visit": "record that is no visit",
    "FHIR files left as they are": "FHIR file left as it is",
}
"""Figures that say one of their kind in another way than without the s of their first or second word."""
TOTALS = frozenset({"visits", "documents looked at", "documents checked", "answers"})
"""Figures of which those after them are parts."""


def write_report(report: Report, stream: TextIO, verbose: bool = False, colour: bool = False) -> None:
    """Writes the groups of issues, then the summary; a report without either says that nothing was found.

    Where a clinical rule spoke, the caution that belongs to it stands last.
    """
    if report.explained:
        stream.writelines(f"{line}\n" for line in tree(report.explained))
        stream.write("\n")
    full, notes = set_aside(list(report.by_cause()), verbose)
    for heading, groups in _parts(full):
        if heading:
            stream.write(
                f"{heading}\n{'-' * len(heading)}\n{_counts(found for group in groups for found in group)}\n\n"
            )
        for group in groups:
            stream.writelines(f"{line}\n" for line in _told(group, verbose, colour))
            stream.write("\n")
    if notes:
        stream.writelines(f"{line}\n" for line in together(notes, WIDTH))
        stream.write("\n")
    if verbose and (report.outcomes or report.left_alone):
        stream.writelines(f"{line}\n" for line in (*_outcomes(report), *_left_alone(report)))
        stream.write("\n")
    stream.writelines(f"{line}\n" for line in summary(report))
    if said := caution(report):
        stream.writelines(f"{line}\n" for line in ("", *_wrapped(said)))


def summary(report: Report) -> list[str]:
    """The closing lines: the run's figures, then how many issues there are of each severity."""
    lines = []
    if report.figures:
        (total, *rest) = [
            _figure(name, n) for name, n in report.figures.items() if n or name == next(iter(report.figures))
        ]
        joined = ": " if next(iter(report.figures)) in TOTALS else ", "
        lines += _wrapped(f"{total}{joined}{', '.join(rest)}" if rest else total)
    if told := _counts(report.issues):
        causes = len(list(report.by_cause()))
        among = f" ({_counted(causes, 'cause')})" if causes < len(report.issues) else ""
        lines += _wrapped(f"{told}{among}")
    elif not report.figures:
        lines.append("Nothing was found that needs you.")
    return lines


def _outcomes(report: Report) -> Iterator[str]:
    """Which records are ready, and which are not, by their numbers."""
    by_state: dict[str, list[str]] = {}
    for outcome in report.outcomes:
        by_state.setdefault(outcome.state, []).append(plain(outcome.record or str(outcome.where)))
    for state, numbers in by_state.items():
        yield from _wrapped(f"{state.capitalize()}: {', '.join(numbers)}", "", "  ")


def _left_alone(report: Report) -> Iterator[str]:
    """Which rows are no records, by why they are none."""
    by_why: dict[str, list[Where]] = {}
    for one in report.left_alone:
        by_why.setdefault(one.why, []).append(one.where)
    for why, wheres in by_why.items():
        yield from _wrapped(f"Left alone ({plain(why)}): {'; '.join(places(wheres, None))}", "", "  ")


def _parts(groups: list[list[Issue]]) -> Iterator[tuple[str, list[list[Issue]]]]:
    """What needs attention now, then the groups with a heading each; without headings where only one family occurs."""
    first = [group for group in groups if group[0].attention]
    trade = [group for group in groups if _is_trade(group[0]) and not group[0].attention]
    other = [group for group in groups if not (_is_trade(group[0]) or group[0].attention)]
    if first:
        yield "Needs attention now", first
    if trade and other:
        yield "Reading and the standard", other
        yield "The trade: sides, identity, what a record should hold", trade
    elif rest := trade or other:
        yield "Everything else" if first else "", rest


def _is_trade(found: Issue) -> bool:
    page = rule_of(found.rule)
    return page is not None and page.trade


def _told(group: list[Issue], verbose: bool, colour: bool) -> Iterator[str]:
    first = group[0]
    word, ink = WORDS[first.severity]
    label = f"{word:<8} {first.rule:<6}"
    shown = f"{ink}{word}{PLAIN_AGAIN}{label[len(word) :]}" if colour else label
    message = _wrapped(plain(first.message), INDENT)
    yield f"{shown}{message[0][len(label) :]}"
    yield from message[1:]
    for place in places([one.where for one in group], None if verbose else FIRST_FEW):
        yield from _wrapped(place, INDENT, INDENT + "  ")
    if first.help:
        yield from _wrapped(f"Do: {plain(first.help)}", INDENT, INDENT + "    ")


def places(wheres: Iterable[Where], most: int | None) -> list[str]:
    """The places in few words: rows of one column together, the first `most` of them and then the count."""
    columns: dict[tuple[str, ...], dict[str, None]] = {}
    for where in wheres:
        if where.unseen and where.record:
            columns.setdefault((where.file, where.sheet, where.heading, "visit"), {})[plain(where.record)] = None
        elif where.row is not None and (where.heading or not where.column):
            columns.setdefault((where.file, where.sheet, where.heading, "row"), {})[str(where.row)] = None
        elif text := plain(str(where)):
            columns.setdefault((text,), {})
    lines, left, unsaid = [], most, 0
    for key, rows in columns.items():
        size = max(len(rows), 1)
        if left == 0:
            unsaid += size
            continue
        told = list(rows)[:left]
        lines.append(_place(key, told))
        if left is not None:
            left -= max(len(told), 1)
        unsaid += len(rows) - len(told)
    if unsaid:
        lines[-1] += f" and {unsaid} more (all with --verbose)"
    return lines


def _place(key: tuple[str, ...], rows: list[str]) -> str:
    if len(key) == 1:
        return key[0]
    file, sheet, heading, what = (plain(part) for part in key)
    names = [file, f"sheet {sheet}" if sheet else "", f"column “{heading}”" if heading else ""]
    return (
        f"{', '.join(filter(None, names))}{': ' if any(names) else ''}{what}{'s' * (len(rows) > 1)} {', '.join(rows)}"
    )


def _figure(name: str, n: int) -> str:
    words = name.replace("_", " ")
    if n == 1:
        words = ONE_OF.get(words) or re.sub(r"^((?:\w+ )?\w+)s\b", r"\1", words)
    return f"{n} {words}"


def _counts(issues: Iterable[Issue]) -> str:
    """How many there are of each severity: `2 errors, 1 note`; empty where there are none."""
    met = Counter(found.severity for found in issues)
    return ", ".join(_counted(met[level], WORDS[level][0].lower()) for level in reversed(Severity) if met[level])


def _counted(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 or word == "fatal" else f"{n} {word}s"


def _wrapped(text: str, indent: str = "", later: str | None = None) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent if later is None else later,
        break_on_hyphens=False,
    ) or [indent]
