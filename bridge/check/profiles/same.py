"""Whether a value is the fixed one, or fits a pattern.

Source: https://hl7.org/fhir/R4/elementdefinition-definitions.html#ElementDefinition.fixed_x_ and .pattern_x_.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any


def fixed(wanted: Any, value: Any) -> bool:
    """Whether the value is exactly the fixed one: nothing more, nothing less, lists in the same order."""
    if isinstance(wanted, dict):
        return (
            isinstance(value, dict)
            and wanted.keys() == value.keys()
            and all(fixed(inner, value[key]) for key, inner in wanted.items())
        )
    if isinstance(wanted, list):
        return (
            isinstance(value, list)
            and len(wanted) == len(value)
            and all(fixed(one, other) for one, other in zip(wanted, value, strict=True))
        )
    return _equal(wanted, value)


def fits(wanted: Any, value: Any) -> bool:
    """Whether the value has all that the pattern has; each entry of a list somewhere in the list."""
    if isinstance(wanted, dict):
        return isinstance(value, dict) and all(
            key in value and fits(inner, value[key]) for key, inner in wanted.items()
        )
    if isinstance(wanted, list):
        return isinstance(value, list) and all(any(fits(one, other) for other in value) for one in wanted)
    return _equal(wanted, value)


def _equal(wanted: Any, value: Any) -> bool:
    if isinstance(wanted, bool) or isinstance(value, bool):
        return wanted is value
    if isinstance(wanted, int | float | Decimal) and isinstance(value, int | float | Decimal):
        return _number(wanted) == _number(value)
    return type(wanted) is type(value) and bool(wanted == value)


def _number(value: float | Decimal) -> Decimal | float:
    return Decimal(str(value)) if isinstance(value, float) else value
