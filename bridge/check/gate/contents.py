"""Contained resources at the gate: each right by itself, named by an id, and pointed to from within its container."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bridge.check.gate.plan import CONTAINED, Seen, look
from bridge.shapes import Json


def holds_contents(container: Json, seen: Seen, is_valid: Callable[[Any], bool]) -> bool:
    """Whether that is so; `is_valid` tells of a resource whether its shape is right.

    Afterwards `seen` holds what was met in the contained resources too, without the references that lead to them.
    """
    ids: dict[str, str] = {}
    for contained in container["contained"]:
        type = contained["resourceType"]
        plain = contained.keys().isdisjoint(("contained", "meta")) and type != "Bundle"
        if not plain or not is_valid(contained) or contained["id"] in ids:
            return False
        if not look(contained, type, CONTAINED, container, seen):
            return False
        ids[contained["id"]] = type
    inside = [(reference[1:], targets) for reference, targets in seen.references if reference[0] == "#"]
    for id, targets in inside:
        if id not in ids or (targets and "Resource" not in targets and ids[id] not in targets):
            return False
    seen.references[:] = [link for link in seen.references if link[0][0] != "#"]
    return ids.keys() == {id for id, _ in inside}
