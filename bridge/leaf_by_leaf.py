"""Two sets of resources of ours leaf by leaf: what one says otherwise, whatever practice numbered them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from bridge.fhir.systems import OWN
from bridge.shapes import Json

_OF_FILING = frozenset({"id", "meta"})
_OWN = re.compile(r"urn:oid:2\.25\.|(?:[a-z-]+/)?[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\Z")
_LOCAL, _DAY = frozenset({"occurrencePeriod.end"}), 10
"""Moments that end with a day of the practice's own time zone."""
_FIRST_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)T00:00:00[+-]\d\d:\d\d")
"""How an instant is written of which the day alone is known."""

Find = Callable[[Json], Json | None]
"""The resource that a reference leads to."""
Leaf = tuple[str, str, str]
"""Path, the same without numbers of lists, and value."""


class Differing(NamedTuple):
    """What a resource says otherwise than visit-bridge would."""

    other: list[str]
    """Leaves that it would not write."""
    lacking: list[str]
    """Places, without numbers of lists, in which it would write more."""

    @property
    def size(self) -> int:
        return len(self.other) + len(self.lacking)


def compared(resources: Mapping[int, Json], whose: Find, again: Sequence[Json], theirs: Find) -> dict[int, Differing]:
    """What each resource says otherwise than its like of `again`, by its number; nothing for those that agree.

    `whose`, `theirs`: where references lead among the ones and the others.
    """
    made: dict[tuple[str, ...], list[Counter[tuple[str, str]]]] = {}
    for resource in again:
        made.setdefault(_known_as(resource), []).append(Counter(leaf[1:] for leaf in leaves(resource, theirs)))
    found = {}
    for number, resource in resources.items():
        mine = list(leaves(resource, whose))
        tried = [_against(mine, one) for one in made.get(_known_as(resource), ())]
        least = min(tried, key=lambda one: one.size, default=Differing([path for path, _, _ in mine], []))
        if least.size:
            found[number] = least
    return found


def around(data: Json, made: Json) -> Differing:
    """What a document or collection of ours says of itself."""
    told: Json = {key: data[key] for key in ("identifier", "timestamp") if key in data and key in made}
    ours = {key: made[key] for key in told}
    return _against(list(leaves(told)), Counter(leaf[1:] for leaf in leaves(ours)))


def _against(mine: Sequence[Leaf], made: Counter[tuple[str, str]]) -> Differing:
    left, other = made.copy(), []
    for path, place, value in mine:
        if left[place, value] > 0:
            left[place, value] -= 1
        else:
            other.append(path)
    return Differing(other, sorted({place for place, _ in left.elements()}))


def _known_as(resource: Json) -> tuple[str, ...]:
    """Type and numbers: those of observations tell what they observe."""
    told = resource.get("identifier", ()) if resource.get("resourceType") != "Patient" else ()
    values = [one.get("value") for one in told if isinstance(one, dict)]
    return (str(resource.get("resourceType")), *sorted(str(v) for v in values if not _made_of_namespace(v)))


def leaves(resource: Json, find: Find = lambda reference: None) -> Iterator[Leaf]:
    """Every value but ids and filing; of a reference what it leads to is known as, and numbers that a practice gave are
    left empty."""
    waiting: list[tuple[str, str, Any]] = [(k, k, v) for k, v in resource.items() if k not in _OF_FILING]
    while waiting:
        path, place, node = waiting.pop()
        if isinstance(node, dict):
            waiting += [(f"{path}.{k}", f"{place}.{k}", v) for k, v in node.items() if k not in ("id", "reference")]
            if "reference" in node:
                led = find(node)
                yield f"{path}.reference", f"{place}.reference", " ".join(_known_as(led)) if led else ""
        elif isinstance(node, list):
            waiting += [(f"{path}[{at}]", place, item) for at, item in enumerate(node)]
        else:
            said = "" if _made_of_namespace(node) else _spelt(node)
            yield path, place, said[:_DAY] if place in _LOCAL or _FIRST_MOMENT.fullmatch(said) else said


def _made_of_namespace(value: Any) -> bool:
    return isinstance(value, str) and value != OWN and bool(_OWN.match(value))


def _spelt(value: Any) -> str:
    if isinstance(value, (str, bool)) or value is None:
        return str(value)
    return str(Decimal(str(value)).normalize())
