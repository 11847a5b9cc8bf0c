"""B: what a batch or transaction asks for, entry by entry, and that no two entries change one resource.

Source: https://hl7.org/fhir/R4/http.html#transaction, #trules, #concurrency, #patch and #ccreate,
bundle-definitions.html#Bundle.entry.request.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from bridge.check.entries import PATCHES
from bridge.check.look import has, numbered, part, text
from bridge.check.references import ABSOLUTE, RESTFUL
from bridge.fhir import tables
from bridge.fhir.forms import ID
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

_REQUESTS = frozenset({"batch", "transaction"})
_CHANGES = frozenset({"PUT", "PATCH", "DELETE"})
_SENDS = frozenset({"POST", "PUT", "PATCH"})
_ON_SERVER = frozenset({"metadata", "_history", "_search"})
"""What follows the address of a server beside a type or an operation."""
_ID = re.compile(ID)
_QUERY = re.compile(r"[A-Za-z0-9_.:\-]+=.*", re.DOTALL)
_TAG = re.compile(r'(?:W/)?"[^"]*"')


class Url(NamedTuple):
    """A request's address in parts."""

    type: str
    rest: str
    """What follows the type and a slash: an id in most cases."""
    query: str | None
    """None where there is no question mark."""


def check_requests(bundle: Json, path: str = "Bundle") -> Iterator[Issue]:
    """Issues of the requests; nothing for bundles that ask for nothing."""
    if text(bundle, "type") not in _REQUESTS:
        return
    changed: set[str] = set()
    for number, entry in numbered(bundle, "entry"):
        request, resource, place = part(entry, "request"), part(entry, "resource"), f"{path}.entry[{number}]"
        method, url = text(request, "method"), text(request, "url")
        if not method or not url:
            continue
        yield from _body(method, url, resource, place)
        if problem := _url_problem(method, split(url), resource):
            yield issue("B111", problem, Where(path=f"{place}.request.url"))
        yield from _conditions(method, request, f"{place}.request")
        named = _identity(method, split(url))
        if named and named in changed:
            yield issue("B144", "Another entry changes the same resource.", Where(path=f"{place}.request"))
        elif named:
            changed.add(named)


def split(url: str) -> Url:
    """A relative address, or a whole one on any server, in parts; a type that is none stays what it is."""
    path, question, query = url.partition("?")
    rest = RESTFUL.fullmatch(path) if ABSOLUTE.fullmatch(path) else None
    if rest and rest[1]:
        path = path[len(rest[1]) :]
    type, _, tail = path.removeprefix("/").partition("/")
    return Url(type, tail, query if question else None)


def _identity(method: str, url: Url) -> str:
    if method not in _CHANGES:
        return ""
    return f"{url.type}/{url.rest}" if url.query is None else f"{url.type}?{url.query}"


def _asks(url: Url) -> bool:
    """Whether it calls an operation or a search, which take anything or nothing."""
    return "$" in f"{url.type}/{url.rest}" or url.type == "_search" or url.rest.endswith("_search")


def _body(method: str, url: str, resource: Json, place: str) -> Iterator[Issue]:
    if method in _SENDS and not resource and not (method == "POST" and _asks(split(url))):
        yield issue("B112", f"{method} needs a resource.", Where(path=place))
    elif resource and method not in _SENDS:
        yield issue("B112", f"{method[:60]} must come without a resource.", Where(path=f"{place}.resource"))
    elif resource and method == "PATCH" and text(resource, "resourceType") not in PATCHES:
        yield issue("B152", "A patch is sent as Binary or as Parameters.", Where(path=f"{place}.resource"))


def _url_problem(method: str, url: Url, resource: Json) -> str:
    if ABSOLUTE.match(url.type):  # an address that is no server's: what it means there cannot be told
        return ""
    known, kind = tables.is_resource(url.type), text(resource, "resourceType")
    if method == "POST":
        plain = known and not url.rest and url.query is None and kind in ("", url.type)
        return "" if plain or _asks(url) else "POST creates a resource: its url must be just the type of that."
    if method in _CHANGES:
        if not known or not (url.query or _ID.fullmatch(url.rest)):
            return f"The url of {method} must be a type and an id, or a type and a search."
        same = kind in ("", url.type) and (url.query is not None or url.rest == text(resource, "id"))
        return "" if same or method != "PUT" else "The url of PUT names another resource than the one in this entry."
    known = known or _asks(url) or url.type in _ON_SERVER or (not url.type and bool(url.query))
    return "" if known else f"The url of {method[:60]} names no kind of resource that FHIR R4 has."


def _conditions(method: str, request: Json, place: str) -> Iterator[Issue]:
    if has(request, "ifNoneExist"):
        where, query = Where(path=f"{place}.ifNoneExist"), text(request, "ifNoneExist")
        if method != "POST":
            yield issue("B113", "ifNoneExist belongs to POST only.", where)
        elif query and not _QUERY.fullmatch(query):
            yield issue("B113", "ifNoneExist must be only the part of a search after the question mark.", where)
    for name in ("ifMatch", "ifNoneMatch"):
        tag = text(request, name)
        if tag and tag != "*" and not all(_TAG.fullmatch(one.strip()) for one in tag.split(",")):
            yield issue("B145", f'{name} is not written like W/"3".', Where(path=f"{place}.{name}"))
