"""What the visit's model does not accept, in plain words with the cell's place and without the value."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from bridge.ear_words import EARS, STAGES
from bridge.issues import Issue, Where, issue
from bridge.shapes import Reading

_LOOK_UP = "Take it out, or look the field up: `visit-bridge schema` prints all that there are."
_EARS, _STAGES = frozenset[str](EARS), frozenset[str](STAGES)


def path_of(loc: tuple[int | str, ...]) -> str:
    """A field path from pydantic's location."""
    path = ""
    for part in loc:
        path += f"[{part}]" if isinstance(part, int) else f".{part}" if path else str(part)
    return path


def plain_issues(
    error: ValidationError, reading: Reading, failed: set[str], empty: Callable[[str], Where | None]
) -> list[Issue]:
    """One issue for each thing the model refused, at its cell; `empty` gives the cell that should have held what is
    missing. What is missing because its own cell was not understood is not said a second time."""
    found = []
    for detail in error.errors(include_url=False, include_input=False):
        path = path_of(detail["loc"])
        if path == "recorded_at" and path not in reading.places:
            continue  # taken over from the start or the end, where the same is said
        if detail["type"] == "missing" and any(f == path or f.startswith((f"{path}.", f"{path}[")) for f in failed):
            continue
        rule, message, cause = _told(detail, path)
        where = (empty(path) if rule == "R119" else None) or reading.where_of(path)
        do = _LOOK_UP if rule == "R120" and not _near(path) else ""
        found.append(issue(rule, message, where, cause=f"{rule}:{path}:{cause}", help=do))
    return found


def _told(detail: ErrorDetails, path: str) -> tuple[str, str, str]:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "missing":
        return "R119", f"{_named(path)} was not recorded, and the record cannot do without it.", kind
    if kind == "extra_forbidden":
        return "R120", f"There is no field “{path[-60:]}” in a visit.{_near(path)}", kind
    if kind == "value_error":
        return "R118", f"{_named(path)} {context['error']}.", str(context["error"])
    return "R118", f"{_named(path)} {_why(kind, context)}.", kind


def _named(path: str) -> str:
    """A field in a person's words: `left.before.wax.percent` is “wax percent” (left ear, before)."""
    parts = re.sub(r"\[\d+\]", "", path).replace("_", " ").split(".")
    place: list[str] = []
    if parts[0] in _EARS:
        place.append(f"{parts.pop(0)} ear")
        if parts and parts[0] in _STAGES:
            place.append(parts.pop(0))
    what = f"“{' '.join(parts)}”" if any(parts) else "The ear" if place else "The visit"
    return f"{what} ({', '.join(place)})" if place else what


def _near(path: str) -> str:
    from bridge.layout.near import near_fields

    near = near_fields(path)
    return f" Near it: {', '.join(near)}." if near else ""


def _why(kind: str, context: dict[str, Any]) -> str:
    if kind == "literal_error":
        return f"should be one of: {str(context['expected']).replace(chr(39), '').replace(' or ', ', ')}"
    limits = {"greater_than_equal": ("ge", "should be at least"), "less_than_equal": ("le", "should be at most"),
              "greater_than": ("gt", "should be more than"), "less_than": ("lt", "should be less than")}  # fmt: skip
    if kind in limits:
        name, words = limits[kind]
        return f"{words} {context[name]}"
    if kind == "string_too_long" or (kind == "too_long" and context["field_type"] == "Value"):
        return f"is longer than {context['max_length']:,} characters"
    if kind == "too_long":
        return f"holds more than {context['max_length']} things"
    if kind in ("int_parsing", "int_from_float", "int_type"):
        return "is not a whole number"
    if kind.startswith(("decimal_", "float_")) or kind == "finite_number":
        return "is not a number that fits here"
    if kind.startswith("bool_"):
        return "is neither yes nor no"
    if kind in ("string_type", "string_too_short"):
        return "should be words"
    if kind in ("tuple_type", "list_type"):
        return "should be a list"
    if kind.startswith("model_") or kind == "dict_type":
        return "should be a group of “name: value” lines"
    return "does not fit here"
