"""Every leaf of a resource with its path, without recursion, so that no depth can hurt."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any


def leaves(node: Any, skip: str = "") -> Iterator[tuple[str, Any]]:
    """Path and value of each leaf, in order; an empty object or list is a leaf. `skip` is a key of the outermost object."""
    waiting: list[tuple[str, Any]] = [("", node)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, dict) and value:
            inner = [(f"{path}.{key}" if path else str(key), child) for key, child in value.items()]
            if not path and skip:
                inner = [pair for pair in inner if pair[0] != skip]
            waiting += reversed(inner)
        elif isinstance(value, list) and value:
            waiting += [(f"{path}[{number}]", value[number]) for number in range(len(value) - 1, -1, -1)]
        else:
            yield path, value
