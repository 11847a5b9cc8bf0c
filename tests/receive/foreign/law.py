"""The law that nothing is lost, judged from the raw input alone. Imports nothing of `bridge`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any


def walk(node: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf; an object or list without anything in it is one."""
    if isinstance(node, dict) and node:
        for key, value in node.items():
            yield from walk(value, f"{path}.{key}" if path else str(key))
    elif isinstance(node, list) and node:
        for number, value in enumerate(node):
            yield from walk(value, f"{path}[{number}]")
    else:
        yield path, node


def texts(visit: Any) -> set[str]:
    """Every value of a visit (its plain data) as text."""
    return {str(value) for _, value in walk(visit) if value is not None}


def lost(bundle: dict[str, Any], visits: dict[str, Any], kept: list[Any], lines: list[Any]) -> list[str]:
    """Leaves of a bundle that are neither in the visit that is named for them, nor kept and named."""
    found = []
    account = {line.path: line for line in lines}
    held = {number: texts(data) for number, data in visits.items()}
    joined = {number: "\n".join(sorted(values)) for number, values in held.items()}
    waiting = list(kept)
    for number, entry in enumerate(bundle.get("entry", [])):
        resource, path = entry["resource"], f"Bundle.entry[{number}].resource"
        line = account.get(path)
        if line is None:
            found.append(f"{path}: no line in the account")
            continue
        is_kept = bool(waiting) and waiting[0] is resource
        if is_kept:
            waiting.pop(0)
        named = set(line.elements)
        for leaf, value in walk(resource):
            if leaf in named and is_kept:
                continue
            inside = isinstance(value, str) and value in joined.get(line.visit, "")
            if not inside and str(value) not in held.get(line.visit, set()):
                found.append(f"{path}.{leaf}")
    if waiting:
        found.append("kept: in another order, or something that was not in the bundle")
    around = {**bundle, "entry": [{k: v for k, v in e.items() if k != "resource"} or None for e in bundle["entry"]]}
    parcel = account.get("Bundle")
    named = set(parcel.elements) if parcel else set()
    found += [f"Bundle.{leaf}" for leaf, value in walk(around) if value is not None and leaf not in named]
    return found
