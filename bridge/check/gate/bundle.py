"""Bundles at the gate: entries with addresses of their own, and references that all lead to one of them."""

from __future__ import annotations

import re
from typing import Any

from bridge.check.gate.plan import Seen
from bridge.check.requests import check_requests
from bridge.fhir import tables
from bridge.fhir.forms import ID, UUID
from bridge.shapes import Json

_RESTFUL = re.compile(rf"(https?://[^\s#?|]+/)([A-Z][A-Za-z]+/{ID})")
_LITERAL = re.compile(rf"(https?://[^\s#?|]+/)?([A-Z][A-Za-z]+)/{ID}|{UUID}")
_KEYS = {
    "document": {"fullUrl", "resource"},
    "collection": {"fullUrl", "resource"},
    "transaction": {"fullUrl", "resource", "request"},
}
"""What an entry has in the types of bundle that are looked at here: just this."""
_ROOTS = frozenset({"Provenance"})
"""What a document may hold though the Composition does not lead to it, if it leads into the document itself."""
Link = tuple[str, frozenset[str]]
"""A literal reference, and the types it may lead to (none: any)."""


def holds_together(bundle: Json, seen: list[Seen]) -> bool:
    """Whether every entry has an address and every reference is answered; `seen`: what was met in each entry.

    A bundle in which anything is less plain than that is looked at with care.
    """
    entries: list[Json] = bundle.get("entry", [])
    type = bundle["type"]
    keys = _KEYS.get(type)
    if keys is None or "total" in bundle:
        return False
    found: dict[str, int] = {}
    names: set[tuple[str, str]] = set()
    bases: list[str] = []
    for number, entry in enumerate(entries):
        if entry.keys() != keys:
            return False
        url, resource = entry["fullUrl"], entry["resource"]
        kind, id, base = resource["resourceType"], resource.get("id"), ""
        if not url.startswith("urn:uuid:"):
            address = _RESTFUL.fullmatch(url)
            if address is None or address[2] != f"{kind}/{id}":
                return False
            base = address[1]
        if url in found:
            return False
        if id is not None:
            if (kind, id) in names:
                return False
            names.add((kind, id))
        found[url] = number
        bases.append(base)
    links = [_answers(looked, base, found, entries, type) for looked, base in zip(seen, bases, strict=True)]
    if None in links:
        return False
    if type == "document":
        return _all_reached(entries, links)
    return type != "transaction" or next(check_requests(bundle), None) is None


def leads_well(link: Link) -> bool:
    """Whether a reference that nothing at hand answers is well written, and says a type that it may lead to."""
    reference, targets = link
    found = _LITERAL.fullmatch(reference)
    if found is None:
        return False
    type = found[2]
    return type is None or (tables.is_resource(type) and (not targets or type in targets or "Resource" in targets))


def _answers(looked: Seen, base: str, found: dict[str, int], entries: list[Json], type: str) -> set[int] | None:
    """Numbers of the entries that the references of one lead to; None where one leads where it must not, or may not."""
    answers = set()
    for link in looked.references:
        reference, targets = link
        number = found.get(reference)
        if number is None and base:
            number = found.get(base + reference)
        if number is None:
            out = reference.startswith("http") if type == "collection" else type == "transaction"
            if not out or reference.startswith("urn:") or not leads_well(link):
                return None
        elif targets and "Resource" not in targets and entries[number]["resource"]["resourceType"] not in targets:
            return None
        else:
            answers.add(number)
    return answers


def _all_reached(entries: list[Json], links: list[Any]) -> bool:
    waiting = [n for n, e in enumerate(entries) if n == 0 or (links[n] and e["resource"]["resourceType"] in _ROOTS)]
    reached = set(waiting)
    while waiting:
        new = links[waiting.pop()] - reached
        reached |= new
        waiting += new
    return len(reached) == len(entries)
