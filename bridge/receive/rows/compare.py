"""A visit and what was read of its row: what is said otherwise, and what the row does not hold."""

from __future__ import annotations

import re
from typing import Any

from pydantic import BaseModel

from bridge.visit import Term, Visit

_LESS_SAID = (".standing", ".safety_net", ".no_register", ".accompanied")
"""Fields that are true where somebody said so, and else say nothing: a row may leave them so."""
_KEYS = {"family_doctor.key": "family_doctor.practice", "referral.recipient.key": "referral.recipient.name"}
"""A cell names a practice by its key or its name, and is read as the key; what the visit has may be the name."""


_MOMENT = re.compile(r"\d{4}-\d\d-\d\d(T|$)")


def without_seconds(moment: str) -> str:
    """The same moment as precise as a clock without seconds tells it."""
    return re.sub(r"(T\d\d:\d\d):\d\d(\.\d+)?", r"\1", moment)


def leaves(visit: Visit, *, usual: bool) -> dict[str, Any]:
    """Every value by its path; a term is its words. `usual`: also values that are as when nobody says anything."""
    found: dict[str, Any] = {}
    _walk(visit, "", found, usual)
    found.pop("source_sha256", None)
    return found


def _walk(value: Any, path: str, found: dict[str, Any], usual: bool) -> None:
    if isinstance(value, Term):
        found[path] = value.text
    elif isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            inner = getattr(value, name)
            if inner is not None and inner != () and (usual or inner != field.default):
                _walk(inner, f"{path}.{name}" if path else name, found, usual)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            _walk(item, f"{path}[{index}]", found, usual)
    else:
        found[path] = value


def said_otherwise(read: Visit, meant: Visit) -> list[str]:
    """Paths of what a row says that the visit does not, or says in another way."""
    there, here = leaves(meant, usual=True), leaves(read, usual=True)
    found = []
    for path, value in here.items():
        if there.get(path, _Nothing) == value or _less(path, value, here, there):
            continue
        found.append(path)
    return found


class _Nothing:
    """Equal to no value."""


def _less(path: str, value: Any, here: dict[str, Any], there: dict[str, Any]) -> bool:
    if path.endswith(_LESS_SAID):
        return value is False
    if path == "recorded_at" and value in (here.get("end"), here["start"]):
        return True
    if isinstance(value, str) and _MOMENT.match(value) and isinstance(meant := there.get(path), str):
        day, _, clock = value.partition("T")
        return meant.startswith(f"{day}T") and (not clock or without_seconds(meant) == value)
    return path in _KEYS and path not in there and there.get(_KEYS[path]) == value


def lost(read: Visit, meant: Visit) -> list[str]:
    """Paths of what the visit says and the row does not, in the visit's order."""
    here = leaves(read, usual=True)
    renamed = {_KEYS[path] for path in _KEYS if path in here}
    return [
        path for path, value in leaves(meant, usual=False).items()
        if here.get(path, _Nothing) != value and path not in renamed
    ]  # fmt: skip


def alike(path: str) -> str:
    """A field without the numbers of the things in its lists."""
    return re.sub(r"\[\d+\]", "", path)
