"""Issues of a received file at their lines and columns: found again in the file, and only when there are issues."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from bridge.fhir.ndjson import Lines, at_line
from bridge.issues import Issue


def placed(issues: Iterable[Issue], content: bytes, file: str = "", read: Any = None) -> list[Issue]:
    """The same issues with file, line and column, and with their location as FHIRPath.

    `content` are the bytes of the file and `read` what was read from them (None where nothing could be). Issues that
    know their column already keep it; what is missing is told where the nearest thing around it stands.
    """
    found = list(issues)
    if not found:
        return []
    from bridge.fhir.fhirpath_of import with_expressions  # who finds nothing needs none of it
    from bridge.fhir.positions_json import locate_json
    from bridge.fhir.xml_text import is_xml

    if isinstance(read, Lines):
        found = _in_lines(list(at_line(read, with_expressions(found, read))), content)
    else:
        found = with_expressions(found, read)
        paths = {one.where.path for one in found if one.where.path and one.where.row is None}
        if is_xml(content):
            from bridge.fhir.positions_xml import locate_xml

            places = locate_xml(content, paths) if paths else {}
        else:
            places = locate_json(content, paths) if paths else {}
        found = [_at(one, places.get(one.where.path)) if one.where.row is None else one for one in found]
    return [one.at(file=file) for one in found]


def _at(found: Issue, place: tuple[int, int] | None) -> Issue:
    return found.at(row=place[0], column=place[1]) if place else found


def _in_lines(issues: list[Issue], content: bytes) -> list[Issue]:
    """Issues that know their line, each at its column in it."""
    from bridge.fhir.positions_json import locate_json

    wanted: dict[int, set[str]] = {}
    for one in issues:
        if one.where.row and one.where.path and (one.where.column or 1) == 1:
            wanted.setdefault(one.where.row, set()).add(one.where.path)
    if not wanted:
        return issues
    lines = content.split(b"\n")
    places = {row: locate_json(lines[row - 1], paths) for row, paths in wanted.items()}
    return [
        replace(one, where=replace(one.where, column=place[1]))
        if (place := places.get(one.where.row or 0, {}).get(one.where.path))
        else one
        for one in issues
    ]
