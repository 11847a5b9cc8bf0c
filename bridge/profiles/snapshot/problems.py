"""What is wrong in a definition, and how much may be made of it."""

from __future__ import annotations

MOST_PROBLEMS = 100
MOST_NODES = 100_000
"""Elements that are made for one snapshot; a definition that slices slices of slices could ask for any number."""


class TooMuchError(Exception):
    """A definition asks for more elements than any real one has."""


class Problems:
    """Plain sentences, each once, and the count of elements that were made."""

    __slots__ = ("_told", "made")

    def __init__(self) -> None:
        self._told: dict[str, None] = {}
        self.made = 0

    def tell(self, sentence: str) -> None:
        if len(self._told) < MOST_PROBLEMS:
            self._told[sentence] = None

    def count(self) -> None:
        self.made += 1
        if self.made > MOST_NODES:
            raise TooMuchError

    def all(self) -> list[str]:
        return list(self._told)
