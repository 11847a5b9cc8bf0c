"""Work for a few threads at once, whose results come in the order in which it was given."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import Future, ThreadPoolExecutor

T = TypeVar("T")
WORKERS = max(1, min(4, os.cpu_count() or 1))


class InTurn(Generic[T]):
    """Takes calls and hands out their results; no more than a few wait, so that memory stays as it is."""

    def __init__(self, workers: int = WORKERS) -> None:
        self._workers = workers
        self._waiting: deque[Future[T]] = deque()
        self._pool: ThreadPoolExecutor | None = None

    def give(self, call: Callable[[], T]) -> Iterator[T]:
        """Results of earlier calls that have had their time. What a call raises is raised here, in its turn."""
        if self._pool is None:
            from concurrent.futures import ThreadPoolExecutor

            self._pool = ThreadPoolExecutor(self._workers)
        self._waiting.append(self._pool.submit(call))
        while len(self._waiting) > 2 * self._workers:
            yield self._waiting.popleft().result()

    def rest(self) -> Iterator[T]:
        """The results that are still to come."""
        while self._waiting:
            yield self._waiting.popleft().result()
        if self._pool is not None:
            self._pool.shutdown()
            self._pool = None
