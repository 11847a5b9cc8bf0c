"""Where the references of a received bundle lead: by full URL, by type and id, by identifier, or into `contained`."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TypeVar

from bridge.receive.foreign.nodes import Node, root
from bridge.receive.foreign.sources import Source

Key = TypeVar("Key", bound=Hashable)


class Addresses:
    """Resources by what a reference may call them. What two resources are called leads nowhere."""

    def __init__(self, found: list[Source]) -> None:
        self._by_url: dict[str, Source | None] = {}
        self._by_name: dict[str, Source | None] = {}
        self._by_identifier: dict[tuple[str, str, str], Source | None] = {}
        self._inside: dict[int, dict[str, Node | None]] = {}
        self.twice: set[int] = set()
        """Numbers of the sources whose address another one has too."""
        for source in found:
            node = root(source)
            name = f"{source.type}/{node.text('id')}" if node.text("id") else ""
            taken = _put(self._by_url, source.url, source) if source.url else None
            same = _put(self._by_name, name, source) if name else None
            if taken or (same and (not source.url or not same.url or source.url == same.url)):
                self.twice |= {s.number for s in (source, taken or same) if s}
            for identifier in node.each("identifier"):
                if identifier.text("value"):
                    key = (source.type, identifier.text("system"), identifier.text("value"))
                    _put(self._by_identifier, key, source)

    def find(self, reference: Node) -> Node | None:
        """The resource that a reference leads to, in the bundle or contained; None where it leads nowhere surely."""
        told = reference.text("reference").partition("/_history/")[0]
        if told.startswith("#"):
            return self._contained(reference.source).get(told[1:])
        found = self._told(told, reference.source) if told else self._identified(reference)
        return root(found) if found else None

    def _contained(self, source: Source) -> dict[str, Node | None]:
        """What is contained in a resource by its id; None where two have the same."""
        if source.number not in self._inside:
            found: dict[str, Node | None] = {}
            for node in root(source).each("contained"):
                found[node.text("id")] = None if node.text("id") in found else node
            self._inside[source.number] = found
        return self._inside[source.number]

    def _told(self, told: str, source: Source) -> Source | None:
        if told in self._by_url:
            return self._by_url[told]
        if "?" in told:
            return self._conditional(told)
        base = source.url.rsplit("/", 2)[0] if source.url.startswith("http") else ""
        if base and f"{base}/{told}" in self._by_url:
            return self._by_url[f"{base}/{told}"]
        return self._by_name.get(told)

    def _conditional(self, told: str) -> Source | None:
        type, _, query = told.partition("?")
        name, _, token = query.partition("=")
        system, _, value = token.rpartition("|")
        return self._by_identifier.get((type, system, value)) if name == "identifier" else None

    def _identified(self, reference: Node) -> Source | None:
        identifier = reference.at("identifier")
        value = identifier.text("value")
        if not value or not identifier.text("system"):
            return None
        types = [reference.text("type")] if reference.text("type") else _TYPES
        found = [self._by_identifier.get((type, identifier.text("system"), value)) for type in types]
        known = [source for source in found if source]
        return known[0] if len(known) == 1 else None


_TYPES = ["Patient", "Practitioner", "PractitionerRole", "Organization", "Encounter", "RelatedPerson", "Location"]


def _put(table: dict[Key, Source | None], key: Key, source: Source) -> Source | None:
    """Notes the source under the key; the other one where there is one, and then the key leads nowhere."""
    if key in table:
        other = table[key]
        table[key] = None
        return other or source
    table[key] = source
    return None
