"""A visit whose every word of its own is written in Greek letters, so that no word of the program can pass for one."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from bridge.visit import Visit

_LATIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_GREEK = "αβξδεφγηιςκλμνοπθρστυωχψζϐΑΒΞΔΕΦΓΗΙϚΚΛΜΝΟΠΘΡΣΤΥΩΧΨΖϷ"
_TABLE = str.maketrans(_LATIN, _GREEK)
_CODES = frozenset({"system", "code", "display", "version", "unit", "scale"})
"""Members that are no words."""


def greek(text: str) -> str:
    return text.translate(_TABLE)


def in_greek(visit: Visit) -> Visit:
    """What the model does not allow to be any word (an answer out of a list, a moment) stays as it was."""
    raw = visit.model_dump(mode="json", exclude_none=True)
    changed = _changed(raw)
    for _ in range(20):
        try:
            return Visit.model_validate(changed)
        except ValidationError as error:
            for wrong in error.errors(include_url=False):
                _restore(changed, raw, list(wrong["loc"]))
    raise AssertionError("this visit cannot be written in Greek")


def _changed(value: Any, key: str = "") -> Any:
    if isinstance(value, dict):
        return {k: v if k in _CODES else _changed(v, k) for k, v in value.items()}
    if isinstance(value, list):
        return [_changed(v, key) for v in value]
    return greek(value) if isinstance(value, str) else value


def _restore(changed: Any, raw: Any, path: list[Any]) -> None:
    """Puts back what stood at the place of an error, or the nearest thing around it that is there."""
    while len(path) > 1 and isinstance(raw, dict | list) and _has(raw, path[0]) and _has(raw[path[0]], path[1]):
        changed, raw, path = changed[path[0]], raw[path[0]], path[1:]
    if path and _has(raw, path[0]):
        changed[path[0]] = raw[path[0]]


def _has(value: Any, part: Any) -> bool:
    return (isinstance(value, dict) and part in value) or (
        isinstance(value, list) and isinstance(part, int) and part < len(value)
    )
