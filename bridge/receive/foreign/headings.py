"""Which resources a document's sections, or a list, call past, somebody else's, or taken off."""

from __future__ import annotations

from bridge.fhir.systems import LOINC
from bridge.receive.foreign.addresses import Addresses
from bridge.receive.foreign.nodes import Node, root
from bridge.receive.foreign.sources import Source
from bridge.receive.foreign.tables import sections

DEEPEST = 12


def not_today(found: list[Source], addresses: Addresses) -> dict[int, str]:
    """`past` or `other` by the number of each such source; `other` where two headings differ."""
    told: dict[int, str] = {}
    for source in found:
        if source.type == "Composition":
            for section in root(source).each("section"):
                _section(section, "", told, addresses, 0)
        elif source.type == "List":
            node = root(source)
            retired = node.text("status") != "current"
            for entry in node.each("entry"):
                if retired or entry.at("deleted").data is True:
                    _note(entry.at("item"), "other", told, addresses)
                else:
                    _note(entry.at("item"), _meaning(node.at("code")), told, addresses)
    return told


def _section(section: Node, above: str, told: dict[int, str], addresses: Addresses, depth: int) -> None:
    meaning = _meaning(section.at("code")) or above
    for entry in section.each("entry"):
        _note(entry, meaning, told, addresses)
    if depth < DEEPEST:
        for inner in section.each("section"):
            _section(inner, meaning, told, addresses, depth + 1)


def _meaning(code: Node) -> str:
    return sections().get(code.code(LOINC), "")


def _note(reference: Node, meaning: str, told: dict[int, str], addresses: Addresses) -> None:
    found = addresses.find(reference) if meaning else None
    if found:
        before = told.get(found.source.number, meaning)
        told[found.source.number] = meaning if before == meaning else "other"
