"""One piece of work beside the main one, for what does not need the whole interpreter: PDF is set by compiled code."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class Aside(Generic[T]):
    """Begins at once; what it gives, or raises, is had from `result`. It does not keep the program from ending."""

    def __init__(self, work: Callable[[], T]) -> None:
        self._work = work
        self._given: list[T] = []
        self._raised: BaseException | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def result(self) -> T:
        """Waits for the end of it."""
        self._thread.join()
        if self._raised is not None:
            raise self._raised
        return self._given[0]

    def _run(self) -> None:
        try:
            self._given.append(self._work())
        except BaseException as error:  # it is raised where the result is asked for
            self._raised = error
