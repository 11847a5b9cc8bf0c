"""Codes of a document of ours whose name is not the one that visit-bridge writes beside them: one was changed."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.fhir.own import verified
from bridge.fhir.systems import OWN
from bridge.shapes import Json

_OURS = (("observations.csv", "kind"), ("own-codes.csv", "code"))


def misnamed(resource: Json) -> list[str]:
    """Paths of the codes whose display is another one's, or none of theirs, as far as our tables know either."""
    return [path for path, coding in _codings(resource, "") if _wrong(coding)]


def _wrong(coding: Json) -> bool:
    system, code, display = (str(coding.get(key, "")) for key in ("system", "code", "display"))
    if not display:
        return False
    if known := _names().get((system, code)):
        return display not in known
    return system != OWN and (system, display) in _named()


def _codings(value: Any, path: str) -> Iterator[tuple[str, Json]]:
    if isinstance(value, dict):
        if "code" in value and "system" in value:
            yield path, value
        for key, inner in value.items():
            yield from _codings(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _codings(inner, f"{path}[{index}]")


@cache
def _names() -> dict[tuple[str, str], set[str]]:
    """By system and code what we call it; an own concept may have one name in each of its term maps."""
    found: dict[tuple[str, str], set[str]] = {}
    for one in verified().values():
        found.setdefault((one["system"], one["code"]), set()).add(one["display"])
    for table, column in _OURS:
        for row in load_csv(table_path(table)):
            found.setdefault((OWN, row[column]), set()).add(row["label"])
    for path in sorted(table_path("terms").glob("*.csv")):
        for row in load_csv(path):
            if row.get("concept"):
                found.setdefault((OWN, row["concept"]), set()).add(row["label"])
    return found


@cache
def _named() -> set[tuple[str, str]]:
    return {(system, name) for (system, _), names in _names().items() for name in names}
