"""Which of two moments is later, as far as both are known."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import lru_cache


@lru_cache(1024)
def later(first: str, second: str) -> bool:
    """Whether the first is surely after the second: days as far as both are known, times only with their zones.

    Takes the moments of a visit and FHIR dates alike; texts that are no moments are never later.
    """
    if not first or not second:
        return False
    if "T" in first and "T" in second:
        try:
            one, two = datetime.fromisoformat(first), datetime.fromisoformat(second)
            return one.tzinfo is not None and two.tzinfo is not None and one.astimezone(UTC) > two.astimezone(UTC)
        except (ValueError, OverflowError):
            return False
    size = min(len(first.partition("T")[0]), len(second.partition("T")[0]))
    return first[:size] > second[:size]
