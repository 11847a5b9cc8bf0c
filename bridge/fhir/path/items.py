"""What FHIRPath walks over: items of JSON data with their types, and the steps from one to the next.

Source: https://hl7.org/fhir/R4/fhirpath.html (types, choices, extensions of simple values).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, NamedTuple

from bridge.fhir import tables
from bridge.fhir.path.undecided import UndecidedError
from bridge.shapes import Json

Item = tuple[Any, str, Any]
"""A value, its type (`Patient`, `string`, `Observation.component`, `System.Boolean`), and for a simple value the object
with its id and extensions. The value is None where only these are there."""
Items = list[Item]

MAX_WORK = 1_000_000
"""Items that one evaluation looks at before it gives up."""

TRUE: Items = [(True, "System.Boolean", None)]
FALSE: Items = [(False, "System.Boolean", None)]
AWAY = object()
"""The value of a resource of which only the type is known, by the reference to it."""


class Env(NamedTuple):
    """What stands around the focus: its resource, the one that contains that, and how to follow a reference."""

    resource: Any
    root: Any
    resolve: Callable[[str, Any], Json | None]
    extension: Any = None
    """The extension whose context is looked at; for `contextInvariant` alone."""
    left: list[int] | None = None
    """How many items all evaluations together may still look at, where that is bounded."""


class Run:
    """One evaluation: its surroundings, what `$this` is now, and how much may still be looked at."""

    __slots__ = ("env", "focus", "index", "left", "this", "total")

    def __init__(self, env: Env, focus: Items) -> None:
        self.env = env
        self.focus = focus
        self.this = focus
        self.index: int | None = None
        self.total: Items | None = None
        self.left = MAX_WORK if env.left is None else min(MAX_WORK, env.left[0])

    def spend(self, count: int) -> None:
        """Raises UndecidedError when too much was looked at."""
        self.left -= count
        if self.env.left is not None:
            self.env.left[0] -= count
        if self.left < 0:
            raise UndecidedError


class _Plan(NamedTuple):
    """The properties that a step by one name may lead to: their types, and whether each is simple."""

    keys: dict[str, tuple[str, bool]]
    only: str


@cache
def _plan(type: str, name: str) -> _Plan:
    """Type as in the tables; a choice goes by its name (`value`), or by that of one type (`valueQuantity`)."""
    found = tables.elements(type)
    keys = {k: (e.type, e.primitive) for k, e in found.items() if k == name or e.choice == f"{name}[x]"}
    keys |= {f"_{k}": of for k, of in keys.items() if of[1]}
    return _Plan(keys, name if len(keys) == 1 and name in keys else "")


_PLANS: dict[tuple[str, str], _Plan] = {}


def step(items: Items, name: str) -> Items:
    """What stands under a name in each item."""
    out: Items = []
    for value, type, beside in items:
        if value.__class__ is not dict:
            if value is AWAY:
                raise UndecidedError
            if beside is None:
                continue
            value, type = beside, "Element"
        if not isinstance(value, dict):
            continue
        plan = _PLANS.get((type, name)) or _remember(type, name)
        if plan.only:
            inner = value.get(name)
            if inner is not None:
                _add(out, inner, None, plan.keys[name])
            continue
        keys = plan.keys
        if len(keys) <= len(value):
            there = [key for key in keys if key in value]
        else:
            there = [key for key in value if key in keys]
        for key in there:
            if key[0] != "_":
                _add(out, value[key], value.get("_" + key), keys[key])
            elif key[1:] not in value:
                _add(out, None, value[key], keys[key])
    return out


def _remember(type: str, name: str) -> _Plan:
    plan = _plan(type, name) if tables.knows(type) else _plan("Element", name)
    if len(_PLANS) > 20_000:
        _PLANS.clear()
    return _PLANS.setdefault((type, name), plan)


def _add(out: Items, inner: Any, beside: Any, of: tuple[str, bool]) -> None:
    type, simple = of
    if inner.__class__ is list or beside.__class__ is list:
        many = inner if isinstance(inner, list) else ()
        extra = beside if isinstance(beside, list) else ()
        for n in range(max(len(many), len(extra))):
            one = many[n] if n < len(many) else None
            more = extra[n] if n < len(extra) else None
            if one.__class__ is not list and more.__class__ is not list:
                _add(out, one, more, of)
    elif simple:
        more = beside if isinstance(beside, dict) else None
        if isinstance(inner, dict):
            inner = None
        if inner is not None or more is not None:
            out.append((inner, type, more))
    elif isinstance(inner, dict):
        out.append((inner, type_of(inner) if type == tables.RESOURCE else type, None))


def type_of(resource: Any) -> str:
    """The type that a resource says it is, where the tables know it; else `Resource`."""
    type = resource.get("resourceType") if isinstance(resource, dict) else None
    return type if isinstance(type, str) and tables.is_resource(type) else tables.RESOURCE


def whole(resource: Any) -> Items:
    """The collection of one resource."""
    return [(resource, type_of(resource), None)] if isinstance(resource, dict) else []


@cache
def names(type: str) -> tuple[str, ...]:
    """The names of all that may stand right under a type."""
    found = tables.elements(type if tables.knows(type) else "Element")
    return tuple(dict.fromkeys(e.choice[:-3] or e.name for e in found.values()))


def children(items: Items, run: Run) -> Items:
    out: Items = []
    for item in items:
        value, type, beside = item
        there = value if isinstance(value, dict) else beside
        if isinstance(there, dict):
            run.spend(len(there) + 1)
            for name in names(type if there is value else "Element") if len(there) > 8 else _met(there, type):
                out += step([item], name)
    return out


def _met(there: Json, type: str) -> list[str]:
    """The names that are there, for small objects."""
    found = tables.elements(type if tables.knows(type) else "Element")
    met: dict[str, None] = {}
    for key in there:
        element = found.get(key) or (found.get(key[1:]) if isinstance(key, str) else None)
        if element is not None:
            met[element.choice[:-3] or element.name] = None
    return list(met)


def descendants(items: Items, run: Run) -> Items:
    out: Items = []
    waiting = children(items, run)
    while waiting:
        out += waiting
        waiting = children(waiting, run)
    return out
