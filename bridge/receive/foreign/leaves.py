"""Every leaf of a resource with its path, without recursion, so that no depth can hurt."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any


def leaves(node: Any) -> Iterator[tuple[str, Any]]:
    """Path and value of each leaf, in order; an empty object or list is a leaf."""
    waiting: list[tuple[str, Any]] = [("", node)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, dict) and value:
            waiting += [(f"{path}.{key}" if path else str(key), value[key]) for key in reversed(value)]
        elif isinstance(value, list) and value:
            waiting += [(f"{path}[{number}]", value[number]) for number in range(len(value) - 1, -1, -1)]
        else:
            yield path, value
