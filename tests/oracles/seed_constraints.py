"""Resources that break one published constraint each (class 8): seeds/constraints*.yaml."""

from __future__ import annotations

from collections.abc import Iterator

from tests.oracles.seed_definitions import Json, spellings, table
from tests.oracles.seed_fault import Fault


def rows() -> list[Json]:
    found: list[Json] = [*table("constraints"), *table("constraints-of-definitions")]
    return found


def faults(data: Json) -> Iterator[Fault]:
    type = data["resourceType"]
    for row in rows():
        if row["type"] == type:
            places = frozenset(f"{type}{where}" for where in row.get("at", [""]))
            kind, put, severity = f"{row['key']} ({type})", row["put"], row.get("severity", 2)
            yield Fault(8, kind, type, places, lambda put=put: merged(data, put), severity)  # type: ignore[misc]


def merged(data: Json, put: Json) -> Json:
    """The resource with some elements put in and others taken out, their `_x` as well; `value[x]` is every choice."""
    out = frozenset(key for name in put for key in spellings(name))
    kept = {key: value for key, value in data.items() if key.removeprefix("_") not in out}
    return {**kept, **{key: value for key, value in put.items() if value is not None}}
