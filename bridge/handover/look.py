"""Which words of a client's own copy a person reads first, because others may stand in them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, STAGES
from bridge.handover.record import ClientRecord
from bridge.issues import Issue, issue
from bridge.wording import say_number


def to_look_at(record: ClientRecord) -> Iterator[Issue]:
    """D185 for each field with words in which others may stand; D186 with what was left out by itself."""
    for told in record.visits:
        for path in _fields():
            for place in _places(told.visit, path, ""):
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


def _places(model: Any, path: tuple[str, ...], at: str) -> Iterator[str]:
    """Where in a model the path leads to something: `right.work[0].note`."""
    name = path[0].removesuffix("[]")
    value, here = getattr(model, name), f"{at}.{name}" if at else name
    if value is None or value == ():
        return
    if not isinstance(value, tuple):
        yield from _places(value, path[1:], here) if path[1:] else (here,)
        return
    for index, item in enumerate(value):
        yield from _places(item, path[1:], f"{here}[{index}]") if path[1:] else (f"{here}[{index}]",)
