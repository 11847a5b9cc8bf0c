"""Our own JSON: same data, same bytes."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import orjson


def dumps(resource: Any) -> bytes:
    """JSON in UTF-8, two blanks per level, a line end at the end, keys in the order they were built.

    Decimals are written with the digits they have (`1.50` stays `1.50`). Raises TypeError for what
    JSON cannot say: NaN, infinities, text that is not Unicode.
    """
    return orjson.dumps(resource, default=_decimal, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)


def compact(resource: Any) -> bytes:
    """The same on one line."""
    return orjson.dumps(resource, default=_decimal, option=orjson.OPT_APPEND_NEWLINE)


def _decimal(value: Any) -> orjson.Fragment:
    if isinstance(value, Decimal) and value.is_finite():
        return orjson.Fragment(str(value))
    raise TypeError(f"{type(value).__name__} is not a value of FHIR")
