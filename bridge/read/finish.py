"""Turns the gathered data of one visit into a visit, or into the issues for which it cannot be one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from typing import Any

from pydantic import ValidationError

from bridge.ear_words import EARS
from bridge.issues import Issue, Severity, Where
from bridge.read.accepted_ears import AcceptedEars
from bridge.read.ledger import Ledger
from bridge.read.places import Places
from bridge.read.plain import plain_issues
from bridge.shapes import Reading
from bridge.visit import Visit

REPEATED = "repeated row"
"""Why a record is left alone that says word for word what one before it said."""


def finish(
    data: dict[str, Any],
    issues: list[Issue],
    places: Places,
    where: Where,
    failed: set[str],
    ledger: Ledger,
    *,
    ears: AcceptedEars | None = None,
    made: bool = False,
    empty: Callable[[str], Where | None] = lambda path: None,
) -> Reading:
    """A reading with all issues of the record together; its visit is None where any of them is an error.

    `failed`: paths whose cells were not understood; `ears`: those of records before; `empty`: the cell that could have
    filled a path.
    """
    number = str(data.get("number", ""))
    where = where if not number else replace(where, heading="", path="", record=number)
    reading = Reading(None, issues, places, where, empty=empty)
    told: dict[str, str] = {ear: repr(data[ear]) for ear in EARS if ear in data}
    try:
        visit = Visit.model_validate({**data, **ears.of(told)} if ears else data)
    except ValidationError as error:
        issues.extend(plain_issues(error, reading, failed, empty))
        visit = None
    except RecursionError:  # pragma: no cover - depth is bounded before
        visit = None
    if visit is not None:
        if ears:
            ears.keep(told, visit)
        if ledger.repeats(visit, where):
            return Reading(None, [], where=where, left_alone=REPEATED)
        whole = not made and all(i.severity < Severity.error for i in issues)
        rest = {k: v for k, v in data.items() if k not in ("number", "source_sha256", *EARS)}
        said = repr((rest, told)) if whole else ""
        for found in ledger.enter(visit, where, made=made, said=said):
            path = found.where.path
            issues.append(replace(found, where=reading.where_of(path)) if path else found)
    reading.issues = [i.at(record=number) for i in issues]
    reading.visit = None if any(i.severity >= Severity.error for i in issues) else visit
    if reading.visit is None:
        reading.says = {key: data[key] for key in ("number", "version", "client") if key in data}
    return reading


def made_number(*parts: str) -> str:
    """A visit number made of date, time and client, for sheets that never had one: the same every time."""
    return "v-" + sha256("\x1f".join(" ".join(p.casefold().split()) for p in parts).encode()).hexdigest()[:16]
