"""Which words of a client's own copy a person reads first, because others may stand in them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, STAGES
from bridge.fhir.relationships import CLIENT, relation
from bridge.handover.record import ClientRecord
from bridge.issues import Issue, issue
from bridge.visit.base import Term
from bridge.wording import say_number


def to_look_at(record: ClientRecord, of_the_trade: Callable[[str], bool]) -> Iterator[Issue]:
    """D185 for each field with words in which others may stand; D186 with what was left out by itself.

    Words that are one of the trade as a whole, or mean the client, name nobody else."""
    for told in record.visits:
        for path in _fields():
            for place, words in _places(told.visit, path, ""):
                if of_the_trade(words) or relation(words) == CLIENT:
                    continue
                name = _INDEX.sub("", place)
                message = f"Read “{name}” before the client gets their copy: its words may tell of somebody else."
                where = replace(told.where, record=told.visit.number, path=place)
                yield issue("D185", message, where, cause=f"D185:{name}")
    if record.left:
        things = ", ".join(say_number(key, number) for key, number in record.left.items())
        yield issue("D186", f"Left out of the client’s copy as other people’s: {things}.", cause="D186")


_INDEX = re.compile(r"\[\d+\]")


@cache
def _fields() -> tuple[tuple[str, ...], ...]:
    rows = [row["field"] for row in load_csv(table_path("documents", "handover-client.csv")) if row["client"] == "look"]
    return tuple(
        tuple(field.replace("{ear}", ear).replace("{stage}", stage).split("."))
        for field in rows
        for ear in (EARS if "{ear}" in field else ("",))
        for stage in (STAGES if "{stage}" in field else ("",))
    )


def _places(model: Any, path: tuple[str, ...], at: str) -> Iterator[tuple[str, str]]:
    """Where in a model the path leads to something: `right.work[0].note`, and its words."""
    name = path[0].removesuffix("[]")
    value, here = getattr(model, name), f"{at}.{name}" if at else name
    several = isinstance(value, tuple)
    for index, item in enumerate(value if several else (value,)):
        place = f"{here}[{index}]" if several else here
        if item is not None and path[1:]:
            yield from _places(item, path[1:], place)
        elif item is not None:
            yield place, item.text if isinstance(item, Term) else str(item)
