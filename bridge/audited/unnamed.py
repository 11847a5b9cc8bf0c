"""An entry without words that may tell who somebody is: what an audit shows goes to whoever reads it."""

from __future__ import annotations

from dataclasses import replace

from bridge.audit.shapes import Entry, Item
from bridge.coding import TermMaps
from bridge.telling_words import NOT_SHOWN, may_tell_who, telling_in, unquoted

MOST = 10_000


class Unnamed:
    """Words that are not shown keep a number of their own, so that other words are never taken for the same."""

    def __init__(self, maps: TermMaps) -> None:
        self._maps = maps
        self._numbers: dict[str, int] = {}

    def of(self, entry: Entry) -> Entry:
        """The entry, with what its word lists do not know looked through for names and numbers of its people."""
        unknown = any(item.text and not item.meant for item in entry.items)
        quoting = any("“" in found.message for found in entry.issues)
        if not unknown and not quoting:
            return entry
        names = telling_in(entry.visit) if entry.visit is not None else set(entry.names)
        return replace(
            entry,
            items=tuple(self._item(item, names) for item in entry.items),
            issues=tuple(unquoted(found, names, self._maps.of_the_trade) for found in entry.issues),
        )

    def _item(self, item: Item, names: set[str]) -> Item:
        if item.meant or not item.text or not may_tell_who(item.text, names, self._maps.of_the_trade):
            return item
        number = self._numbers.get(item.text)
        if number is None and len(self._numbers) < MOST:
            number = self._numbers[item.text] = len(self._numbers) + 1
        return replace(item, text=f"{NOT_SHOWN[:-1]} {number})" if number else NOT_SHOWN)
