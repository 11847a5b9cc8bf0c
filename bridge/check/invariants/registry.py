"""Where each named constraint is noted under its published key and the types it stands on."""

from __future__ import annotations

from collections.abc import Callable

from bridge.check.node import Node
from bridge.shapes import Json

Holds = Callable[[Json, Node], bool]
RULES: dict[str, list[tuple[str, str, Holds]]] = {}
"""Type (`Observation`, `Observation.referenceRange`, `Period`) to (rule code, published keys, function)."""


def invariant(code: str, key: str, *types: str) -> Callable[[Holds], Holds]:
    """Note a function that answers whether an object of one of these types holds to the constraint.

    `key` is the published key, or several with commas between them where one function answers for all.
    """

    def note(function: Holds) -> Holds:
        for type in types:
            RULES.setdefault(type, []).append((code, key, function))
        return function

    return note
