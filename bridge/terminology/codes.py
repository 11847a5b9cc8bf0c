"""Questions to one compiled code system: is there such a code, what is it, what does it stand under."""

from __future__ import annotations

from functools import cached_property

from bridge.shapes import Json
from bridge.terminology.answers import YES, Found, named

MOST_ABOVE = 5_000
"""Codes that one may stand under and still be looked at."""


class Codes:
    """A code system as `compile_code_system` keeps it. Codes are had in their own spelling."""

    def __init__(self, table: Json) -> None:
        self._displays: dict[str, str] = table["codes"]
        self._parents: dict[str, list[str]] = table.get("parents", {})
        self._others: dict[str, list[str]] = table.get("others", {})
        self._properties: dict[str, dict[str, list[str]]] = table.get("properties", {})
        self._case = table.get("case")
        self.complete: bool = table.get("content") == "complete"
        self.usable: bool = table.get("content") in {"complete", "fragment", "example"}
        """A supplement holds no codes of its own; of one that is not present nothing is known."""
        self.is_a_known = table.get("meaning", "is-a") == "is-a" and self.usable
        self.version: str = table.get("version", "")
        self.inactive: frozenset[str] = frozenset(table.get("inactive", ()))
        self.abstract: frozenset[str] = frozenset(table.get("abstract", ()))
        self._under: tuple[str, set[str]] = "", set()

    def code(self, asked: str) -> str | None:
        """The code as the system spells it. Where the system does not say whether case matters, any case is accepted
        (CodeSystem.caseSensitive in later editions: Postel's law)."""
        if asked in self._displays:
            return asked
        return None if self._case else self._any_case.get(asked.casefold())

    @cached_property
    def _any_case(self) -> dict[str, str]:
        return {code.casefold(): code for code in reversed(self._displays)}

    def same(self, one: str, other: str) -> bool:
        """Whether both mean the same code."""
        return one == other or (not self._case and one.casefold() == other.casefold())

    def has(self, asked: str) -> Found:
        """Whether the system has the code; of one that is only partly at hand, yes alone is certain."""
        if not self.usable:
            return Found(None, "the codes of its system are not at hand")
        if self.code(asked) is not None:
            return YES
        if self.complete:
            return Found(False, f"its system has no code {named(asked)}")
        return Found(None, "only a part of its system is at hand")

    def terms(self, asked: str) -> list[str]:
        """What the code may be called: the display and other terms; nothing where none is known."""
        code = self.code(asked)
        found = [self._displays.get(code, ""), *self._others.get(code, ())] if code is not None else []
        return [term for term in found if term]

    def values(self, code: str, name: str) -> list[str]:
        """What a property of the code says, as texts."""
        return self._parents.get(code, []) if name == "parent" else self._properties.get(code, {}).get(name, [])

    def under(self, code: str) -> set[str]:
        """Everything that the code stands under, without itself unless it stands in a ring; of very many, some."""
        if self._under[0] == code:
            return self._under[1]
        found: set[str] = set()
        left = list(self._parents.get(code, ()))
        while left and len(found) <= MOST_ABOVE:
            parent = left.pop()
            if parent not in found:
                found.add(parent)
                left += self._parents.get(parent, ())
        self._under = code, found
        return found
