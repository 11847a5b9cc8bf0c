"""Limits of simple values and of quantities: maxLength, minValue, maxValue.

Source: https://hl7.org/fhir/R4/elementdefinition-definitions.html#ElementDefinition.minValue_x_ and .maxLength.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bridge.check.invariants.values import above, number
from bridge.check.profiles.part import Item, Part
from bridge.check.profiles.words import named
from bridge.issues import Issue
from bridge.moments import later

if TYPE_CHECKING:
    from bridge.check.profiles.run import Run


def check(run: Run, part: Part, item: Item, out: list[Issue]) -> None:
    """Tells a value that is too long, too small or too large; what cannot be compared is let through."""
    value, path = item[0], item[2]
    if part.length is not None and isinstance(value, str) and len(value) > part.length:
        told = f"{named(part)} has {part.length} characters at the most."
        run.tell(out, "P109", path, told, part.id)
    if part.least is not None and _more(part.least[1], value):
        run.tell(out, "P109", path, f"This is less than {named(part)} allows.", part.id)
    if part.most is not None and _more(value, part.most[1]):
        run.tell(out, "P109", path, f"This is more than {named(part)} allows.", part.id)


def _more(high: Any, low: Any) -> bool:
    """Whether the first is surely more than the second."""
    if isinstance(high, dict) and isinstance(low, dict):
        return above(high, low)
    first, second = number(high), number(low)
    if isinstance(first, Decimal) and isinstance(second, Decimal):
        return first > second
    return isinstance(high, str) and isinstance(low, str) and later(high, low)
