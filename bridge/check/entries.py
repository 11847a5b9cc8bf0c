"""B: addresses of entries.

Source: https://hl7.org/fhir/R4/bundle-definitions.html#Bundle.entry.fullUrl and bundle.html#bundle-unique.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.look import has, numbered, part, text
from bridge.check.references import ABSOLUTE, RESTFUL
from bridge.fhir import tables
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

_FREE = frozenset({"batch", "transaction", "batch-response", "transaction-response"})
"""Bundles whose entries may be without an address."""

PATCHES = frozenset({"Binary", "Parameters"})
"""How a patch is sent: the entry's address is then that of what it changes, not its own."""


def check_entries(bundle: Json, path: str = "Bundle") -> Iterator[Issue]:
    """Issues of the entries' addresses. `path`: where the Bundle itself stands."""
    type = text(bundle, "type")
    for number, entry in numbered(bundle, "entry"):
        url, resource = text(entry, "fullUrl"), part(entry, "resource")
        request, place = part(entry, "request"), f"{path}.entry[{number}]"
        method, searched = text(request, "method"), "?" in text(request, "url")
        created = method == "POST" or (method == "PUT" and searched)
        patched = method == "PATCH" and text(resource, "resourceType") in PATCHES
        if url:
            yield from _address(url, {} if patched else resource, created, place)
        elif resource and not created and not (type in _FREE or has(entry, "fullUrl") or _nameless(resource)):
            yield issue("B103", "This entry has no fullUrl.", Where(path=place))


def _nameless(resource: Json) -> bool:
    """Whether it is one that tells of a request, and lives nowhere."""
    return text(resource, "resourceType") == "OperationOutcome"


def _address(url: str, resource: Json, created: bool, place: str) -> Iterator[Issue]:
    where = Where(path=f"{place}.fullUrl")
    if not ABSOLUTE.fullmatch(url):
        yield issue("B101", "The fullUrl of this entry is not a whole address.", where)
        return
    rest = RESTFUL.fullmatch(url)
    if rest is None or not resource or not tables.is_resource(rest[2]):
        return
    if rest[2] != text(resource, "resourceType") or (has(resource, "id") and rest[3] != text(resource, "id")):
        yield issue("B102", "The fullUrl names another resource than the one in this entry.", where)
    elif not has(resource, "id") and not created:
        message = "The fullUrl is an address on a server, and the resource lacks the id at its end."
        yield issue("B140", message, Where(path=f"{place}.resource"))
