"""The definitions that are shipped: FHIR R4 itself, the International Patient Summary, UK Core."""

from __future__ import annotations

from functools import cache

from bridge.data import table_path
from bridge.fhir import tables
from bridge.profiles.shelf import Shelf
from bridge.profiles.versions import split
from bridge.shapes import Json

CORE = "http://hl7.org/fhir/StructureDefinition/"
FILES = ("r4-types.shelf", "r4-profiles.shelf", "r4-terminology.shelf", "ips.shelf", "uk-core.shelf")


@cache
def shipped() -> tuple[Shelf, ...]:
    """Their shelves. Raises MappingError where one is missing from the installation."""
    return tuple(Shelf(table_path("profiles", name)) for name in FILES)


def is_core(url: str) -> bool:
    """Whether this is a type of FHIR R4 itself, which no package may define otherwise."""
    return url.startswith(CORE) and tables.knows(url.removeprefix(CORE))


def shipped_structure(canonical: str) -> Json | None:
    """A structure by its address, in the version that is shipped."""
    url = split(canonical)[0]
    for shelf in shipped():
        for version, _ in shelf.versions("structures", url):
            return shelf.get("structures", url, version)
    return None
