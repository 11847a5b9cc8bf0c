"""Where the elements of an XML file begin, by the paths that issues name."""

from __future__ import annotations

from bridge.fhir.read_json import MAX_BYTES
from bridge.fhir.read_xml import build
from bridge.fhir.xml_marks import Marks
from bridge.fhir.xml_text import Places, xml_bytes


def locate_xml(content: bytes, paths: set[str]) -> dict[str, tuple[int, int]]:
    """Line and column, from 1, of the start tag of each path; of the nearest one around it where there is none.

    A path that has no element around it either is left out. Attributes stand in the tag of their element.
    """
    text, _ = xml_bytes(content, "", MAX_BYTES)
    if text is None:
        return {}
    builder, _ = build(text, {part for path in paths for part in _around(path)})
    found = Marks(text, set(builder.noted.values())).found
    lines = Places(text)
    marked = sorted((found[mark], path) for path, mark in builder.noted.items() if mark in found)
    places = {path: lines.at(at) for at, path in marked}
    nearest = ((path, next((places[p] for p in _around(path) if p in places), None)) for path in paths)
    return {path: place for path, place in nearest if place}


def _around(path: str) -> list[str]:
    """The path, then each that it is part of, outwards; `_birthDate` is told where `birthDate` is."""
    found = [path]
    while (cut := max(path.rfind("."), path.rfind("["))) > 0:
        path = path[:cut]
        found.append(path)
    return found
