"""Which columns of a draft want a place that holds one thing only, and what an answer may therefore not be."""

from __future__ import annotations

from bridge.drafting.shapes import ASK, IGNORE, Draft, Guess
from bridge.layout import find_field
from bridge.layout.fields import Field

_LISTS = ("Allergies", "Medicines")


def field_of(path: str, rows: str) -> Field | None:
    """The field of a path in sheets of that kind; None for `ask` and `ignore`."""
    return None if path in (ASK, IGNORE) else find_field(path, "ear" if rows == "ear" else "visit")


def single(field: Field) -> bool:
    """Whether only one column can fill it: lists and notes take several."""
    listed = field.many or (field.model is not None and field.model.__name__ in _LISTS)
    return not listed and not field.path.endswith("note")


def rival(draft: Draft, guess: Guess, path: str) -> str:
    """The heading of another column that fills this field, where it holds one thing; empty where there is none."""
    wanted = field_of(path, draft.rows)
    if wanted is None or not single(wanted):
        return ""
    place = (wanted.scope, wanted.path, wanted.part)
    for other in draft.guesses:
        found = field_of(other.field, draft.rows)
        if other is not guess and found and (found.scope, found.path, found.part) == place:
            return other.heading
    return ""


def share_lists(draft: Draft) -> None:
    """Lists that several columns fill are lists in each of them."""
    seen: set[str] = set()
    for guess in draft.guesses:
        field = field_of(guess.field, draft.rows)
        if field is None or field.many or single(field) or field.path.endswith("note"):
            continue
        if guess.field in seen:
            guess.settings.setdefault("list", ";")
        seen.add(guess.field)
