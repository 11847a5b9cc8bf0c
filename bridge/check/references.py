"""Where the references of a Bundle lead, and how a literal reference must be written.

Source: https://hl7.org/fhir/R4/references.html#literal and bundle.html#references.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from bridge.check.look import part, parts, text
from bridge.check.primitives import uri_problem
from bridge.fhir import tables
from bridge.fhir.forms import ID
from bridge.shapes import Json

ABSOLUTE = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:\S+")
RESTFUL = re.compile(rf"(https?://.+/)?([A-Z][A-Za-z]+)/({ID})(?:/_history/({ID}))?")
"""Base, type, id and version of the address of a resource on a server."""
_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")


class Target(NamedTuple):
    """Where a reference leads: the resource if it is in the bundle, and its type if that can be told."""

    resource: Json | None
    type: str
    outside: bool
    """True where it leads out of the bundle by an address of its own."""
    several: bool = False
    """True where more than one entry has this address and nothing tells which is meant."""


class Index:
    """Finds what references of one Bundle mean."""

    def __init__(self, bundle: Json) -> None:
        self.entries = [e for e in parts(bundle, "entry") if isinstance(e.get("resource"), dict)]
        self.by_url: dict[str, list[Json]] = {}
        self._base: dict[int, str] = {}
        self._versions: dict[str, dict[str, Json]] = {}
        self._container: tuple[Json, dict[str, Json]] = {}, {}
        for entry in self.entries:
            url, resource = text(entry, "fullUrl"), entry["resource"]
            if url:
                self.by_url.setdefault(url, []).append(resource)
            rest = RESTFUL.fullmatch(url)
            self._base[id(resource)] = rest[1] or "" if rest else ""

    def find(self, reference: str, owner: Json) -> Target:
        """What a reference in `owner` (the outermost resource around it) means."""
        plain_ones = self.by_url.get(reference, []) if reference[:9] == "urn:uuid:" else []
        if len(plain_ones) == 1:
            return Target(plain_ones[0], text(plain_ones[0], "resourceType"), False)
        if reference.startswith("#"):
            contained = owner if reference == "#" else self._contained(owner).get(reference[1:])
            return Target(contained, text(contained, "resourceType"), False)
        plain = reference.partition("#")[0]
        rest = RESTFUL.fullmatch(plain)
        type = rest[2] if rest and tables.is_resource(rest[2]) else ""
        version = rest[4] if rest else None
        address = plain.partition("/_history/")[0]
        absolute = bool(ABSOLUTE.fullmatch(address))
        url = address if absolute else self.base(owner) + address
        found = self.by_url.get(url, [])
        resource = self._of_version(url, found).get(version) if version else next(iter(found), None)
        if resource is not None:
            return Target(resource, text(resource, "resourceType"), False, version is None and len(found) > 1)
        return Target(None, type, absolute and not address.lower().startswith("urn:"))

    def _contained(self, owner: Json) -> dict[str, Json]:
        """What a resource contains, by id; mostly asked again of the same one."""
        if self._container[0] is not owner:
            found: dict[str, Json] = {}
            for contained in parts(owner, "contained"):
                found.setdefault(text(contained, "id"), contained)
            self._container = owner, found
        return self._container[1]

    def _of_version(self, url: str, found: list[Json]) -> dict[str, Json]:
        """The resources of one address by their version."""
        known = self._versions.get(url)
        if known is None:
            known = self._versions[url] = {}
            for resource in found:
                known.setdefault(text(part(resource, "meta"), "versionId"), resource)
        return known

    def base(self, owner: Json) -> str:
        """Address of the server that short references in an entry's resource belong to; empty where there is none."""
        return self._base.get(id(owner), "")


def form_problem(reference: str, searches: bool) -> str:
    """What is wrong with the writing of a literal reference; empty where nothing is.

    `searches`: whether it may be a search that finds one resource, as in a transaction
    (https://hl7.org/fhir/R4/http.html#trules). What a reference to a contained resource leads to is V104's matter.
    """
    if reference.startswith("#"):
        return ""
    if _SCHEME.match(reference):
        return uri_problem(reference) or ""
    path, question, query = reference.partition("?")
    if question and tables.is_resource(path):
        if "=" not in query:
            return "is a search for nothing"
        return "" if searches else "is a search, which only a transaction can answer"
    rest = RESTFUL.fullmatch(reference.partition("#")[0])
    if rest is None:
        return "is neither a whole address nor a type and an id, like Patient/1"
    return "" if tables.is_resource(rest[2]) else "names no kind of resource that FHIR R4 has"


def address_after_type(reference: str) -> bool:
    """Whether a whole address was put where the id of a short reference belongs (`Organization/https://...`)."""
    type, _, rest = reference.partition("/")
    return tables.is_resource(type) and "://" in rest and ABSOLUTE.fullmatch(rest) is not None


def leads_into_another(reference: str) -> bool:
    """Whether it means something contained in another resource, which nothing outside of that can refer to."""
    path, sign, _ = reference.partition("#")
    rest = RESTFUL.fullmatch(path) if path and sign else None
    return rest is not None and tables.is_resource(rest[2])
