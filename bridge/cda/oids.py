"""OIDs: of published systems by `mappings/cda/oids.csv`, of our own templates, and of systems that have a URI only.

A system without an OID gets one that follows from its URI (2.25 and the UUIDv5 of the URI as a number, ITU-T X.667),
and the URI goes along in words; so any reader finds the system, and two who write it write the same.
"""

from __future__ import annotations

import re
from functools import cache
from uuid import NAMESPACE_URL, UUID, uuid5

from bridge.data import load_csv, table_path

_OURS = UUID("25951c11-4c94-4121-bf62-7766a61d17d9")
"""Made once on 2026-11-26; every template of ours follows from it, so it never changes."""
_OID = re.compile(r"[0-2](\.(0|[1-9][0-9]{0,49})){1,40}")
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


@cache
def template(name: str) -> str:
    """OID of a template or a name space of ours, by its name: `document`, `section`, `observation`."""
    return f"2.25.{uuid5(_OURS, name).int}"


@cache
def _by_uri() -> dict[str, str]:
    return {row["uri"]: row["oid"] for row in load_csv(table_path("cda", "oids.csv")) if not row["only"]}


@cache
def _by_oid() -> dict[str, str]:
    return {row["oid"]: row["uri"] for row in load_csv(table_path("cda", "oids.csv"))}


@cache
def root_of(uri: str) -> tuple[str, str | None]:
    """The OID (or UUID) of a system, and its URI as a name where the OID alone would not tell it."""
    if known := _by_uri().get(uri):
        return known, None
    for start, form in (("urn:oid:", _OID), ("urn:uuid:", _UUID)):
        rest = uri.removeprefix(start)
        if rest != uri and form.fullmatch(rest) and rest not in _by_oid():
            return rest, None
    return f"2.25.{uuid5(NAMESPACE_URL, uri).int}", uri


def uri_of(root: str, name: str | None = None) -> str:
    """The system behind an OID or a UUID; `name` is what stood beside it. What is neither stays as it is."""
    if name and f"2.25.{uuid5(NAMESPACE_URL, name).int}" == root:
        return name
    if known := _by_oid().get(root):
        return known
    small = root.lower()
    return f"urn:uuid:{small}" if is_uuid(small) else f"urn:oid:{root}" if _OID.fullmatch(root) else root


def is_uuid(text: str) -> bool:
    """Whether this is a UUID as we write it, in small letters."""
    return bool(_UUID.fullmatch(text))
