"""Which fields of a visit the documents carry, from `mappings/visit-fields.csv`."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from pydantic import BaseModel

from bridge.data import load_csv, table_path
from bridge.issues import Issue, Where, issue
from bridge.visit import Visit

_INDEX = re.compile(r"\[\d+\]")


@cache
def _later() -> tuple[str, ...]:
    """Fields that are not carried yet, as prefixes up to the outermost group that is wholly left out."""
    rows = list(load_csv(table_path("visit-fields.csv")))
    carried = {row["field"] for row in rows if row["status"] == "carried"}
    groups = set()
    for row in rows:
        if row["status"] == "later":
            field = row["field"]
            parts = field.split(".")
            heads = [".".join(parts[: n + 1]) for n in range(len(parts))]
            groups.add(next(h for h in heads if not any(c == h or c.startswith(f"{h}.") for c in carried)))
    return tuple(sorted(groups))


def pattern(path: str) -> str:
    """The row's field for a field path: `right.work[0].method` is `{ear}.work[].method`."""
    plain = _INDEX.sub("[]", path)
    plain = re.sub(r"^(right|left)\b", "{ear}", plain)
    return re.sub(r"^\{ear\}\.(before|after)\b", "{ear}.{stage}", plain)


def is_carried(path: str) -> bool:
    field = pattern(path)
    return not any(field == g or field.startswith((f"{g}.", f"{g}[")) or g.startswith(f"{field}[") for g in _later())


def not_carried(visit: Visit) -> list[Issue]:
    """D111 for each group of recorded fields that no document holds yet."""
    found: dict[str, str] = {}
    for path in _recorded(visit, ""):
        if not is_carried(path):
            top = path.split(".")
            group = ".".join(top[:2]) if top[0] in ("right", "left") else top[0]
            found.setdefault(_INDEX.sub("", group), path)
    return [
        issue("D111", f"{_name(group)} is recorded but not yet in the document.", Where(path=path), cause=_name(group))
        for group, path in found.items()
    ]


def _name(group: str) -> str:
    words = group.split(".")[-1].replace("_", " ")
    return f"“{words}”"


def _recorded(value: Any, path: str) -> Iterator[str]:
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            inner = getattr(value, name)
            if inner is not None and inner != ():
                here = f"{path}.{name}" if path else name
                yield here
                yield from _recorded(inner, here)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _recorded(item, f"{path}[{index}]")
