"""B: rules of bundles: addresses of entries, references that lead somewhere, documents, transactions.

Source: https://hl7.org/fhir/R4/bundle.html, documents.html, references.html, http.html.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from bridge.check.look import has, inside, part, parts, text
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

_ABSOLUTE = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:\S+")
_RESTFUL = re.compile(r"(https?://.+/)?([A-Z][A-Za-z]+)/([A-Za-z0-9\-.]{1,64})(?:/_history/([A-Za-z0-9\-.]{1,64}))?")
_NO_FULL_URL = frozenset({"batch", "transaction", "batch-response", "transaction-response", "history"})
_REQUESTS = frozenset({"batch", "transaction"})
_KEPT = frozenset({"Provenance", "Binary"})
"""Types that a document may hold without the Composition leading to them."""


class Target(NamedTuple):
    """Where a reference leads: the resource if it is in the bundle, and its type if that can be told."""

    resource: Json | None
    type: str
    outside: bool
    """True where it leads out of the bundle by an address of its own."""


class Index:
    """Finds what references of one Bundle mean."""

    def __init__(self, bundle: Json) -> None:
        self.entries = [e for e in parts(bundle, "entry") if isinstance(e.get("resource"), dict)]
        self.by_url: dict[str, list[Json]] = {}
        self._base: dict[int, str] = {}
        for entry in self.entries:
            url, resource = text(entry, "fullUrl"), entry["resource"]
            if url:
                self.by_url.setdefault(url, []).append(resource)
            rest = _RESTFUL.fullmatch(url)
            self._base[id(resource)] = rest[1] or "" if rest else ""

    def find(self, reference: str, owner: Json) -> Target:
        """What a reference in `owner` (the outermost resource around it) means."""
        if reference.startswith("#"):
            for contained in [owner] if reference == "#" else parts(owner, "contained"):
                if reference == "#" or text(contained, "id") == reference[1:]:
                    return Target(contained, text(contained, "resourceType"), False)
            return Target(None, "", False)
        plain = reference.partition("#")[0]
        rest = _RESTFUL.fullmatch(plain)
        type = rest[2] if rest and tables.is_resource(rest[2]) else ""
        version = rest[4] if rest else None
        address = plain.partition("/_history/")[0]
        absolute = bool(_ABSOLUTE.fullmatch(address))
        url = address if absolute else self._base.get(id(owner), "") + address
        for resource in self.by_url.get(url, ()):
            if version in (None, text(part(resource, "meta"), "versionId")):
                return Target(resource, text(resource, "resourceType"), False)
        return Target(None, type, absolute and not address.lower().startswith("urn:"))


def check_links(data: Any, nodes: list[Node]) -> Iterator[Issue]:
    """Issues of entries and references; of a single resource only the types that references point to."""
    bundle = data if text(data, "resourceType") == "Bundle" else {}
    index = Index(bundle)
    if bundle:
        yield from _entries(bundle)
    document = bundle.get("type") == "document"
    for node in nodes:
        if node.type == "Reference":
            yield from _reference(node, index, document)
    if document:
        yield from _unreached(bundle, index)


def _entries(bundle: Json) -> Iterator[Issue]:
    type = text(bundle, "type")
    entries = bundle.get("entry")
    for number, entry in enumerate(entries if isinstance(entries, list) else ()):
        if not isinstance(entry, dict):
            continue
        path = f"Bundle.entry[{number}]"
        where = Where(path=f"{path}.fullUrl")
        url, resource = text(entry, "fullUrl"), part(entry, "resource")
        if url and not _ABSOLUTE.fullmatch(url):
            yield issue("B101", "The fullUrl of this entry is not a whole address.", where)
        elif url:
            rest = _RESTFUL.fullmatch(url)
            told = f"{text(resource, 'resourceType')}/{text(resource, 'id')}"
            if rest and has(resource, "id") and tables.is_resource(rest[2]) and f"{rest[2]}/{rest[3]}" != told:
                yield issue("B102", "The fullUrl names another resource than the one in this entry.", where)
        elif resource and type not in _NO_FULL_URL:
            yield issue("B103", "This entry has no fullUrl.", Where(path=path))
        if type in _REQUESTS:
            yield from _request(part(entry, "request"), resource, path)


def _request(request: Json, resource: Json, path: str) -> Iterator[Issue]:
    method, url = text(request, "method"), text(request, "url")
    where = Where(path=f"{path}.request")
    if not method or not url:
        return
    if (method in ("POST", "PUT", "PATCH")) != bool(resource):
        message = f"{method} needs a resource." if not resource else f"{method} must come without a resource."
        yield issue("B112", message, where)
    type, _, rest = url.partition("?")[0].partition("/")
    kind = text(resource, "resourceType")
    if method == "POST" and "$" not in url and tables.is_resource(type) and (rest or (kind and type != kind)):
        yield issue("B111", "POST creates a resource: its url must be just the type of what is in the entry.", where)
    if method in ("PUT", "PATCH", "DELETE"):
        known = tables.is_resource(type) or _ABSOLUTE.fullmatch(url)
        if not known or not (rest or "?" in url):
            yield issue("B111", f"The url of {method} must be a type and an id, or a type and a search.", where)
        elif method == "PUT" and kind and (type != kind or ("?" not in url and rest != text(resource, "id"))):
            yield issue("B111", "The url of PUT names another resource than the one in this entry.", where)
    if has(request, "ifNoneExist"):
        query = text(request, "ifNoneExist")
        if method != "POST":
            yield issue("B113", "ifNoneExist belongs to POST only.", where)
        elif "=" not in query or "?" in query or query.startswith(("http", "/")):
            yield issue("B113", "ifNoneExist must be only the part of a search after the question mark.", where)


def _reference(node: Node, index: Index, document: bool) -> Iterator[Issue]:
    reference = text(node.value, "reference")
    if not reference:
        return
    target = index.find(reference, node.resource)
    told = text(node.value, "type")
    where = Where(path=node.path)
    if document and target.resource is None and not reference.startswith("#"):
        if not target.outside:
            yield issue("B104", "This reference leads to nothing in the document.", where)
        elif node.resource.get("resourceType") == "Composition":
            yield issue("B105", "The Composition leads out of the document; what it names must be inside.", where)
    type = target.type
    if told and type and told != type:
        yield issue("B108", f"This reference says {told[:60]} but leads to {type[:60]}.", where)
    allowed = node.element.targets
    type = type or (told if tables.is_resource(told) else "")
    if allowed and type and type not in allowed and "Resource" not in allowed:
        some = ", ".join(sorted(allowed)) if len(allowed) <= 8 else f"one of {len(allowed)} other types"
        yield issue("B107", f"This leads to {type[:60]}; allowed here: {some}.", where)


def _unreached(bundle: Json, index: Index) -> Iterator[Issue]:
    """Entries that neither the Composition nor a Provenance leads to."""
    reached: set[int] = set()
    waiting = [e["resource"] for e in index.entries[:1]]
    waiting += [e["resource"] for e in index.entries if text(e["resource"], "resourceType") in _KEPT]
    while waiting:
        resource = waiting.pop()
        if id(resource) in reached:
            continue
        reached.add(id(resource))
        for inner in inside(resource):
            reference = text(inner, "reference")
            if reference and (found := index.find(reference, resource).resource) is not None:
                waiting.append(found)
    entries = bundle.get("entry")
    for number, entry in enumerate(entries if isinstance(entries, list) else ()):
        resource = part(entry, "resource")
        if resource and id(resource) not in reached:
            kind = text(resource, "resourceType")[:60]
            yield issue("B106", f"Nothing in the document leads to this {kind}.", Where(path=f"Bundle.entry[{number}]"))
