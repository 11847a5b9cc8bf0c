"""Several documents of one visit: which holds all of another, which most, and what numbers of two clinics clash."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel

from bridge.receive.matching import assigner
from bridge.same_clinic import folded
from bridge.visit import Visit
from bridge.visit.people import Identifier


def facts(visit: Visit) -> frozenset[tuple[str, str]]:
    """All that a visit says, codes too, by its place; without the digest of the source."""
    found: set[tuple[str, str]] = set()
    _walk(visit.model_copy(update={"source_sha256": None}), "", found)
    return frozenset(found)


def _walk(value: Any, path: str, found: set[tuple[str, str]]) -> None:
    if isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            inner = getattr(value, name)
            if inner is not None and inner != () and inner != field.default:
                _walk(inner, f"{path}.{name}", found)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            _walk(item, f"{path}[{index}]", found)
    else:
        found.add((path, str(value)))


def contained(visits: Sequence[Visit]) -> dict[int, int]:
    """Of visits with one number and version: which is wholly in which other, that is in none itself.

    Of equal ones the first is kept.
    """
    told = [facts(visit) for visit in visits]
    found: dict[int, int] = {}
    for one, mine in enumerate(told):
        for other, theirs in enumerate(told):
            if one != other and mine <= theirs and (mine != theirs or other < one):
                found[one] = other
                break
    return {one: _last(found, other) for one, other in found.items()}


def _last(found: dict[int, int], at: int) -> int:
    while at in found:
        at = found[at]
    return at


def fullest(visits: Sequence[Visit]) -> int:
    """The place of the one that says most; of several the first."""
    sizes = [len(facts(visit)) for visit in visits]
    return sizes.index(max(sizes))


def numbered_apart(visit: Visit) -> Visit:
    """The visit under a number that says whose it is, for where another clinic's visit has the same."""
    if visit.clinic is None:
        return visit
    whose = assigner(visit.clinic).replace(" ", "-").upper()[:40]
    return visit.model_copy(update={"number": f"{whose}-{visit.number}"[:200]})


def client_apart(visit: Visit, number: str | None) -> Visit:
    """The client under our `number` (None: under none), theirs kept as an identifier with who gave it."""
    client = visit.client
    if not client.number or client.number == number:
        return (
            visit
            if number is None
            else visit.model_copy(update={"client": client.model_copy(update={"number": number})})
        )
    whose = visit.clinic.name if visit.clinic else "another clinic"
    theirs = Identifier(value=client.number, assigner=whose)
    known = {(one.value, folded(one.assigner)) for one in client.identifiers}
    more = () if (theirs.value, folded(whose)) in known else (theirs,)
    changed = client.model_copy(update={"number": number, "identifiers": (*client.identifiers, *more)})
    return visit.model_copy(update={"client": changed})
