"""Two editions for a person: 80 columns, what asks for a look first."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.audit.changes.shapes import GROUPS, STATES, Changed, TermChange
from bridge.audit.report.lines import Line, heading, table, wrapped

FIRST = 15
CAUTION = (
    "Nothing is sent again because a mapping changed: what was sent stays as it was, with the edition that it was "
    "coded by. Where a record was wrong and it matters, correct the record; its new version goes out as a correction."
)


def told(changed: Changed, *, verbose: bool = False) -> Iterator[Line]:
    records = sum(changed.records.values())
    yield Line("Two editions of the term maps", "head")
    yield from wrapped(f"old: {changed.old}")
    yield from wrapped(f"new: {changed.new}")
    if changed.unread:
        yield from wrapped(f"Not read as a visit, and so in no count: {changed.unread}.")
    if not records:
        yield from wrapped("No record could be read, so there is nothing to compare.")
        return
    yield from heading(f"Of {records} records or documents, and of the words in them")
    rows = [
        (name, str(sum(changed.records[s] for s in states)), str(sum(changed.uses[s] for s in states)))
        for name, states in GROUPS.items()
    ]
    yield from table(("would read", "records", "words"), rows)
    for name, states in GROUPS.items():
        if len(states) > 1 and any(changed.records[s] for s in states):
            parts = ", ".join(f"{changed.records[s]} {s}" for s in states if changed.records[s])
            yield from wrapped(f"{name}: {parts}", first="  ", rest="    ")
    if changed.terms:
        yield from heading("Words that change")
        for term in changed.terms if verbose else changed.terms[:FIRST]:
            yield from _term(term)
        if not verbose and len(changed.terms) > FIRST:
            yield Line(f"  and {len(changed.terms) - FIRST} more; --verbose tells them all, --csv writes them down.")
    if changed.not_listed:
        yield from wrapped(f"{changed.not_listed} more uses of other words changed and are not listed one by one.")
    yield from _numbers(changed)
    yield Line()
    yield from wrapped(CAUTION)


def _term(term: TermChange) -> Iterator[Line]:
    words = f"“{term.words}”" if term.words else "words that are not shown"
    times = f"{term.uses} times" if term.uses > 1 else "once"
    why = f" ({term.why})" if term.why else ""
    yield from wrapped(f"{words}, {term.field}: {term.state}, {times}{why}", first="  ", rest="    ")
    yield from wrapped(f"{term.old} -> {term.new}", first="    ", rest="      ")
    yield from wrapped(f"first: {'; '.join(map(str, term.places))}", first="    ", rest="      ", style="faint")


def _numbers(changed: Changed) -> Iterator[Line]:
    worst = [state for state in reversed(STATES) if state in ("was wrong", "different", "no longer coded")]
    for state in worst:
        if numbers := changed.numbers.get(state):
            more = changed.records[state] - len(numbers)
            yield from heading(f"Records: {state}")
            yield from wrapped(f"{', '.join(numbers)}{f' and {more} more' if more else ''}", first="  ", rest="  ")
