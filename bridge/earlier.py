"""Keeps the versions of records that a correction replaces until it comes, and nothing of any other record."""

from __future__ import annotations

from collections import Counter

from bridge.visit import Visit

Key = tuple[str, int]


class EarlierVersions:
    """Filled by two readings of the same sources in the same order.

    The first (`scan`) finds out which versions will be asked for; of those it keeps only what stands behind its
    correction. The second (`meet`) keeps the rest, each no longer than until its last correction has taken it.
    """

    def __init__(self) -> None:
        self._awaited: Counter[Key] = Counter()
        self._kept: dict[Key, Visit | None] = {}
        """None for a version that stands twice with different words: nobody can tell which of them went out."""

    def scan(self, visit: Visit) -> None:
        """A visit of the first reading."""
        if _key(visit) in self._awaited:
            self._keep(visit)
        if visit.replaces is not None:
            self._awaited[_key(visit, visit.replaces)] += 1

    def meet(self, visit: Visit) -> None:
        """A visit of the second reading, before anything is made of it."""
        if self._awaited[_key(visit)]:
            self._keep(visit)

    def of(self, visit: Visit) -> Visit | None:
        """The version that this one replaces, as it was read; None for no correction, and where it is not known."""
        if visit.replaces is None:
            return None
        key = _key(visit, visit.replaces)
        found = self._kept.get(key)
        self._awaited[key] -= 1
        if self._awaited[key] <= 0:
            self._kept.pop(key, None)
        return found

    def __len__(self) -> int:
        return len(self._kept)

    def _keep(self, visit: Visit) -> None:
        key = _key(visit)
        known = self._kept.get(key, visit)
        self._kept[key] = visit if known == visit else None


def _key(visit: Visit, version: int | None = None) -> Key:
    return visit.number.casefold(), version or visit.version
