"""A table from hashes of eight bytes to numbers in about 27 bytes an entry, for millions of visits in one run."""

from __future__ import annotations

from array import array
from hashlib import blake2b

_EMPTY = 0


def short_hash(*parts: str) -> int:
    """A hash of eight bytes."""
    return int.from_bytes(blake2b("\x1f".join(parts).encode("utf-8", "replace"), digest_size=8).digest(), "big")


class HashTable:
    """Keys and values are whole numbers from 0 to 2^64 - 1; a key of 0 is kept as 1."""

    __slots__ = ("_keys", "_mask", "_size", "_values")

    def __init__(self) -> None:
        self._size, self._mask = 0, 1023
        self._keys, self._values = array("Q", bytes(8 * 1024)), array("Q", bytes(8 * 1024))

    def __len__(self) -> int:
        return self._size

    def _slot(self, key: int) -> int:
        keys, mask = self._keys, self._mask
        slot = key & mask
        while keys[slot] not in (_EMPTY, key):
            slot = (slot + 1) & mask
        return slot

    def get(self, key: int, default: int = 0) -> int:
        slot = self._slot(key or 1)
        return self._values[slot] if self._keys[slot] else default

    def set(self, key: int, value: int) -> None:
        key = key or 1
        slot = self._slot(key)
        if not self._keys[slot]:
            if (self._size + 1) * 5 > (self._mask + 1) * 3:
                self._grow()
                slot = self._slot(key)
            self._keys[slot] = key
            self._size += 1
        self._values[slot] = value

    def setdefault(self, key: int, value: int) -> int:
        """The value of the key, set first where there was none."""
        slot = self._slot(key or 1)
        if self._keys[slot]:
            return self._values[slot]
        self.set(key, value)
        return value

    def _grow(self) -> None:
        old = zip(self._keys, self._values, strict=True)
        size = (self._mask + 1) * 2
        self._mask = size - 1
        self._keys, self._values = array("Q", bytes(8 * size)), array("Q", bytes(8 * size))
        for key, value in old:
            if key:
                slot = self._slot(key)
                self._keys[slot], self._values[slot] = key, value
