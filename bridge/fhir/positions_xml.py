"""Where the elements of an XML file begin, by the paths that issues name."""

from __future__ import annotations

from bridge.fhir.read_xml import build


def locate_xml(content: bytes, paths: set[str]) -> dict[str, tuple[int, int]]:
    """Line and column, from 1, of the start tag of each path; of the nearest one around it where there is none.

    A path that has no element around it either is left out. Attributes stand in the tag of their element.
    """
    wanted = {part for path in paths for part in _around(path)}
    builder, _ = build(content, wanted=wanted)
    if builder is None:
        return {}
    places = {path: builder.lines.at(at) for path, at in sorted(builder.found.items(), key=lambda item: item[1])}
    found = ((path, next((places[p] for p in _around(path) if p in places), None)) for path in paths)
    return {path: place for path, place in found if place}


def _around(path: str) -> list[str]:
    """The path, then each that it is part of, outwards; `_birthDate` is told where `birthDate` is."""
    found = [path]
    while (cut := max(path.rfind("."), path.rfind("["))) > 0:
        path = path[:cut]
        found.append(path)
    return found
