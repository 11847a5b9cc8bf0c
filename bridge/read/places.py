"""Where each field of a record came from, made into a place only when somebody asks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from bridge.issues import Where


class Places(Mapping[str, Where]):
    """Field path to place. Holds two numbers for each field; `make` turns them into a Where."""

    __slots__ = ("_make", "spots")

    def __init__(self, make: Callable[[int, int], Where]) -> None:
        self.spots: dict[str, tuple[int, int]] = {}
        self._make = make

    def __getitem__(self, path: str) -> Where:
        return replace(self._make(*self.spots[path]), path=path)

    def __iter__(self) -> Iterator[str]:
        return iter(self.spots)

    def __len__(self) -> int:
        return len(self.spots)

    def __contains__(self, path: object) -> bool:
        return path in self.spots
