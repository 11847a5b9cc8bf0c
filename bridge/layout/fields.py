"""The fields of a visit as layouts name them, derived from the visit's own models.

`right.before.wax.amount`, `client.birth_date`, `start.date`, `work[1].method`. An index left out in the
middle of a path means the first. `ear.` in front (it may be left out where no field of the visit itself has the
name) leaves the side to the row, or to the cell.
"""

from __future__ import annotations

import re
import types
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import AfterValidator, BaseModel

from bridge.visit import EarRecord, Visit
from bridge.visit.base import Measure, Size, Term, check_when

Step = tuple[str, int | None]
Scope = Literal["visit", "right", "left", "ear"]

_STEP = re.compile(r"([a-z][a-z0-9_]*)(?:\[(\d{1,2})\])?")


@dataclass(frozen=True, slots=True)
class Field:
    """One field that a column can fill."""

    path: str
    """As a visit spells it, with every index; without the ear where `scope` is ear."""
    scope: Scope
    steps: tuple[Step, ...]
    """Without the ear where the scope is right, left or ear."""
    kind: str
    """words, choice, whole, percent, number, yes-no, when, term, measure, size, model, side."""
    many: bool
    """Whether the field holds a list."""
    model: type[BaseModel] | None = None
    choices: tuple[str, ...] = ()
    part: str = ""
    """date or time, where only that of a moment is meant."""

    @property
    def pattern(self) -> str:
        """What the layout's word patterns are matched with: the path without indexes."""
        return re.sub(r"\[\d+\]", "", self.path if self.scope != "ear" else f"ear.{self.path}")

    @property
    def identity(self) -> bool:
        """Whether a value of this field must never be quoted."""
        return self.path.startswith(("client.", "family_doctor", "note")) or self.path.endswith(".note")

    @property
    def takes_words(self) -> bool:
        return self.kind != "model" or takes_words(self.model)


def takes_words(model: type[BaseModel] | None) -> bool:
    """Whether the model can be made from a plain string."""
    return hasattr(model, "_from_words") or hasattr(model, "_from_key")


@cache
def hints(model: type[BaseModel]) -> dict[str, Any]:
    """Types of a model's own fields, with their annotations."""
    found = get_type_hints(model, include_extras=True)
    return {name: found[name] for name in model.model_fields}


def core(annotation: Any) -> tuple[Any, bool]:
    """The type inside `X | None`, `tuple[X, ...]`, and whether it was a list."""
    origin = get_origin(annotation)
    if origin in (Union, types.UnionType):
        return core(next(a for a in get_args(annotation) if a is not type(None)))
    if origin is tuple:
        return core(get_args(annotation)[0])[0], True
    return annotation, False


def kind_of(annotation: Any, name: str = "") -> tuple[str, tuple[str, ...]]:
    """The kind of a single value and its choices."""
    if get_origin(annotation) is Annotated:
        inner, *extras = get_args(annotation)
        if any(isinstance(e, AfterValidator) and e.func is check_when for e in extras):
            return "when", ()
        return kind_of(inner, name)
    if get_origin(annotation) is Literal:
        options = get_args(annotation)
        return ("choice" if isinstance(options[0], str) else "whole"), tuple(str(o) for o in options)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        special = {Term: "term", Measure: "measure", Size: "size"}
        return special.get(annotation, "model"), ()
    if annotation is int:
        return ("percent" if name == "percent" else "whole"), ()
    return {bool: "yes-no", Decimal: "number"}.get(annotation, "words"), ()


def find_field(path: str, rows: Literal["visit", "ear"]) -> Field | None:
    """The field that a layout names, or None."""
    text = path.strip()
    if text == "ear":
        return Field("ear", "visit", (), "side", False) if rows == "ear" else None
    scope, steps = _split(text)
    if steps is None or (rows == "ear" and scope in ("right", "left")):
        return None
    return _walk(EarRecord if scope != "visit" else Visit, steps, scope)


def _split(text: str) -> tuple[Scope, tuple[Step, ...] | None]:
    steps: list[Step] = []
    for piece in text.split("."):
        found = _STEP.fullmatch(piece)
        if not found:
            return "visit", None
        steps.append((found[1], int(found[2]) if found[2] else None))
    first = steps[0]
    scopes: dict[str, Scope] = {"right": "right", "left": "left", "ear": "ear"}
    if first[1] is None and first[0] in scopes:
        return scopes[first[0]], tuple(steps[1:])
    if first[0] not in Visit.model_fields and first[0] in EarRecord.model_fields:
        return "ear", tuple(steps)
    return "visit", tuple(steps)


def _walk(model: type[BaseModel], steps: tuple[Step, ...], scope: Scope) -> Field | None:
    if not steps:
        return Field(scope, scope, (), "model", False, model)
    done: list[Step] = []
    current: type[BaseModel] | None = model
    for at, (name, index) in enumerate(steps):
        if current is None or name not in current.model_fields:
            return None
        annotation, many = core(hints(current)[name])
        kind, choices = kind_of(annotation, name)
        last = at == len(steps) - 1
        if index is not None and not many:
            return None
        if kind == "when" and not last and steps[at + 1 :] in ((("date", None),), (("time", None),)):
            done.append((name, None))
            return _field(scope, done, "when", many, None, (), steps[at + 1][0])
        done.append((name, index if last or not many else index or 0))
        current = annotation if isinstance(annotation, type) and issubclass(annotation, BaseModel) else None
    return _field(scope, done, kind, many and index is None, current, choices)


def _field(
    scope: Scope, steps: list[Step], kind: str, many: bool, model: type[BaseModel] | None, choices: tuple[str, ...],
    part: str = "",
) -> Field:  # fmt: skip
    path = spell(tuple(steps))
    return Field(
        f"{scope}.{path}" if scope in ("right", "left") else path, scope, tuple(steps), kind, many, model, choices, part
    )


@lru_cache(8192)
def spell(steps: tuple[Step, ...]) -> str:
    return ".".join(name if index is None else f"{name}[{index}]" for name, index in steps)


@cache
def all_paths(rows: Literal["visit", "ear"]) -> tuple[str, ...]:
    """Every path a layout of that kind can name, without indexes."""
    ears = tuple(_paths(EarRecord, ""))
    own = tuple(p for p in _paths(Visit, "") if not p.startswith(("right", "left")))
    if rows == "ear":
        return (*own, "ear", *(f"ear.{p}" for p in ears))
    return (*own, "right", "left", *(f"{side}.{p}" for side in ("right", "left", "ear") for p in ears))


def _paths(model: type[BaseModel], front: str) -> Iterator[str]:
    for name, annotation in hints(model).items():
        inner, _ = core(annotation)
        path = front + name
        kind, _ = kind_of(inner, name)
        yield path
        if kind == "when":
            yield from (f"{path}.date", f"{path}.time")
        elif kind == "model" and inner is not EarRecord:
            yield from _paths(inner, f"{path}.")


def nearest_paths(path: str, rows: Literal["visit", "ear"]) -> list[str]:
    """Up to three paths that look most like the one given, or that end as it does."""
    import difflib

    options = all_paths(rows)
    bare = re.sub(r"\[\d+\]", "", path.strip())
    ends = [p for p in options if p.endswith("." + bare)]
    return (ends or difflib.get_close_matches(bare, options, 3, 0.6))[:3]
