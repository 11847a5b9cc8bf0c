"""Simple values as XML writes them, in an attribute: the same values as in JSON (https://hl7.org/fhir/R4/json.html)."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from bridge.fhir.read_json import MAX_DIGITS

NUMBERS = frozenset({"decimal", "integer", "positiveInt", "unsignedInt"})
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?P<part>\.[0-9]+)?(?:[eE][+-]?0*(?P<exponent>[0-9]+))?")
_BOOLEANS = {"true": True, "false": False}
_MAX_INT = 18
_MAX_EXPONENT = 300


class TooLongError(ValueError):
    """A number with more digits than can be meant."""


def value_of(type: str, text: str) -> Any:
    """The value; a text that is no number, or neither true nor false, stays one. Raises TooLongError."""
    if type == "boolean":
        return _BOOLEANS.get(text, text)
    if type not in NUMBERS or not (found := _NUMBER.fullmatch(text)):
        return text
    exponent = found["exponent"]
    if len(text) > MAX_DIGITS or (exponent and (len(exponent) > 3 or int(exponent) > _MAX_EXPONENT)):
        raise TooLongError
    whole = not exponent and not found["part"] and len(text) <= _MAX_INT and text != "-0"
    return int(text) if whole else Decimal(text)
