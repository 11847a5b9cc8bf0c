"""Where each named constraint is noted under its published key and the types it stands on."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from bridge.check.node import Node
from bridge.shapes import Json

Holds = Callable[[Json, Node], bool]
Broken = Callable[[Json, Node], Iterator[str]]
RULES: dict[str, list[tuple[str, str, Holds]]] = {}
"""Type (`Observation`, `Observation.referenceRange`, `Period`) to (rule code, published keys, function)."""
_PLACES: dict[Holds, Broken] = {}


def invariant(code: str, key: str, *types: str) -> Callable[[Holds], Holds]:
    """Note a function that answers whether an object of one of these types holds to the constraint.

    `key` is the published key, or several with commas between them where one function answers for all.
    """

    def note(function: Holds) -> Holds:
        for type in types:
            RULES.setdefault(type, []).append((code, key, function))
        return function

    return note


def each(code: str, key: str, *types: str) -> Callable[[Broken], Holds]:
    """The same for a function that yields every place below the object where the constraint is broken: `.entry[2]`."""

    def note(function: Broken) -> Holds:
        def holds(node: Json, at: Node) -> bool:
            return next(function(node, at), None) is None

        _PLACES[holds] = function
        return invariant(code, key, *types)(holds)

    return note


def places(holds: Holds, node: Node) -> Iterator[str]:
    """Where below an object a constraint is broken that does not hold; an empty text is the object itself."""
    found = _PLACES.get(holds)
    return found(node.value, node) if found else iter(("",))
