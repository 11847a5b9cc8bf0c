"""A set of hashes in memory that never grows: what was met in a run, for as many as there is room."""

from __future__ import annotations

from array import array

_SLOTS = 1 << 19
_STEPS = 1_024
"""Places in which a hash is looked for; with all of them taken, the first is given away."""


class Met:
    """Holds 400,000 hashes of eight bytes exactly; of more than half a million, some are forgotten."""

    __slots__ = ("_slots", "forgotten")

    def __init__(self) -> None:
        self._slots = array("Q", bytes(8 * _SLOTS))
        self.forgotten = 0

    def __contains__(self, key: int) -> bool:
        return self._slots[self._place(key or 1)] == (key or 1)

    def add(self, key: int) -> bool:
        """Whether it was not there before."""
        key = key or 1
        at = self._place(key)
        held = self._slots[at]
        if held == key:
            return False
        self.forgotten += bool(held)
        self._slots[at] = key
        return True

    def _place(self, key: int) -> int:
        slots, first = self._slots, key % _SLOTS
        for step in range(_STEPS):
            at = (first + step) % _SLOTS
            if slots[at] in (0, key):
                return at
        return first
