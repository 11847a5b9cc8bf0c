"""How much work something is, counted and not timed, so that a busy machine changes nothing."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any


def work(do: Callable[[], Any]) -> int:
    """Lines of Python that are run, the same line as often as it is run. What C does for them is not counted."""
    count = 0

    def trace(frame: FrameType, event: str, argument: Any) -> Any:
        nonlocal count
        count += event == "line"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        do()
    finally:
        sys.settrace(before)
    return count
