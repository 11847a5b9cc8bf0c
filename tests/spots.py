"""Every place of some data, for tests that put something else there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any


def spots(node: Any) -> Iterator[tuple[Any, Any]]:
    """Every value in the data, by what holds it and under which key; what holds others comes before them."""
    rows = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in rows:
        yield node, key
        yield from spots(value)
