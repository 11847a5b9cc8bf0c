"""Bundles at the gate: entries with addresses of their own, and references that all lead to one of them."""

from __future__ import annotations

import re
from typing import Any

from bridge.check.gate.plan import Seen
from bridge.check.requests import check_requests
from bridge.shapes import Json

_RESTFUL = re.compile(r"(https?://[^\s#?|]+/)([A-Z][A-Za-z]+/[A-Za-z0-9\-.]{1,64})")
_KEYS = {
    "document": {"fullUrl", "resource"},
    "collection": {"fullUrl", "resource"},
    "transaction": {"fullUrl", "resource", "request"},
}
"""What an entry has in the types of bundle that are looked at here: just this."""
_ROOTS = frozenset({"Provenance"})
"""What a document may hold though the Composition does not lead to it."""


def holds_together(bundle: Json, seen: list[Seen]) -> bool:
    """Whether every entry has an address and every reference is answered; `seen`: what was met in each entry.

    A bundle in which anything is less plain than that is looked at with care.
    """
    entries: list[Json] = bundle.get("entry", [])
    keys = _KEYS.get(bundle["type"])
    if keys is None or "total" in bundle or next(check_requests(bundle), None):
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
    links = [_answers(looked, base, found, entries) for looked, base in zip(seen, bases, strict=True)]
    if any(link is None for link in links):
        return False
    return bundle["type"] != "document" or _all_reached(entries, links)


def _answers(looked: Seen, base: str, found: dict[str, int], entries: list[Json]) -> set[int] | None:
    """Numbers of the entries that the references of one lead to; None where one leads elsewhere or to a wrong type."""
    answers = set()
    for reference, targets in looked.references:
        number = found.get(reference)
        if number is None:
            number = found.get(f"{base}{reference}") if base else None
            if number is None:
                return None
        if targets and "Resource" not in targets and entries[number]["resource"]["resourceType"] not in targets:
            return None
        answers.add(number)
    return answers


def _all_reached(entries: list[Json], links: list[Any]) -> bool:
    waiting = [0, *(n for n, entry in enumerate(entries) if entry["resource"]["resourceType"] in _ROOTS)]
    reached = set(waiting)
    while waiting:
        new = links[waiting.pop()] - reached
        reached |= new
        waiting += new
    return len(reached) == len(entries)
