"""A guard against hanging: what goes on for a minute is ended with an error. It measures nothing."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

MINUTE = 60


@contextmanager
def no_hang() -> Iterator[None]:
    """Raises TimeoutError in what has not come to its end by then; where the system has no alarm it does nothing."""
    if not hasattr(signal, "SIGALRM"):
        yield
        return

    def ends(number: int, frame: Any) -> None:
        raise TimeoutError("this hangs")

    before = signal.signal(signal.SIGALRM, ends)
    signal.alarm(MINUTE)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
