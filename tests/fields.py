"""The fields of a visit: their patterns, the values that a visit records in them, and how to change one.

`pattern` names the row of `mappings/visit-fields.csv` that a field path belongs to.
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BaseModel

from bridge.visit import Measure, Size, Term, Visit

_INDEX = re.compile(r"\[\d+\]")
_STEP = re.compile(r"[^.\[\]]+")
WHOLE = (Term, Measure, Size)
"""Shapes that stand in one row, whatever they are made of."""


def pattern(path: str) -> str:
    """The row's field for a field path: `right.work[0].method` is `{ear}.work[].method`."""
    plain = re.sub(r"^(right|left)\b", "{ear}", _INDEX.sub("[]", path))
    return re.sub(r"^\{ear\}\.(before|after)\b", "{ear}.{stage}", plain)


def plain_type(annotation: Any) -> tuple[Any, bool]:
    """The type of one value, without None and Annotated, and whether the field holds a list of them."""
    origin, args = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (typing.Union, types.UnionType):
        return plain_type(next(a for a in args if a is not type(None)))
    if origin is Annotated:
        return plain_type(args[0])
    if origin is tuple:
        return plain_type(args[0])[0], True
    return annotation, False


def _is_group(of: Any) -> bool:
    return isinstance(of, type) and issubclass(of, BaseModel) and of not in WHOLE


def patterns(model: type[BaseModel] = Visit, path: str = "") -> Iterator[str]:
    """Every field that can hold a value of its own, as the table spells it; some come twice (ears, stages)."""
    for name, field in model.model_fields.items():
        of, many = plain_type(field.annotation)
        here = (f"{path}.{name}" if path else name) + ("[]" if many else "")
        if _is_group(of):
            yield from patterns(of, here)
        else:
            yield pattern(here)


def recorded(value: BaseModel, path: str = "") -> Iterator[tuple[str, Any]]:
    """Path and type of every value that differs from the field's default."""
    for name, field in type(value).model_fields.items():
        of, many = plain_type(field.annotation)
        held = getattr(value, name)
        if held == field.default or held in (None, ()):
            continue
        here = f"{path}.{name}" if path else name
        for index, item in enumerate(held) if many else [(None, held)]:
            at = here if index is None else f"{here}[{index}]"
            if _is_group(of):
                yield from recorded(item, at)
            else:
                yield at, of


def changed(fields: dict[str, Any], path: str, of: Any) -> Iterator[dict[str, Any]]:
    """The fields of a visit with one value replaced, in each way that its type offers."""
    steps: list[str | int] = [int(s) if s.isdigit() else s for s in _STEP.findall(path)]
    for other in _others(_at(fields, steps), of):
        yield _with(fields, steps, other)


def _at(node: Any, steps: list[str | int]) -> Any:
    for step in steps:
        node = node[step]
    return node


def _with(node: Any, steps: list[str | int], value: Any) -> Any:
    if not steps:
        return value
    first, rest = steps[0], steps[1:]
    if isinstance(node, dict):
        return {**node, first: _with(node[first], rest, value)}
    assert isinstance(first, int)
    return [*node[:first], _with(node[first], rest, value), *node[first + 1 :]]


def _others(now: Any, of: Any) -> list[Any]:
    if typing.get_origin(of) is Literal:
        return [v for v in typing.get_args(of) if v != now]
    if of is Term:
        return [{**now, "text": "quite other words"}]
    if of in (Measure, Size):
        return [{**now, "value": Decimal("7.5")}]
    if of is bool:
        return [not now]
    if of is int:
        return [v for v in (1, 2, 3, 9) if v != now]
    if of is Decimal:
        return [Decimal("71")]
    return ["2009", "quite other words", "f" * 64, "9990000018", "2009-04-05T08:07+01:00"]
