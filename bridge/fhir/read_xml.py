"""Reads received R4 XML into the data that the same resource in JSON gives; nothing in it is expanded or fetched.

Source: https://hl7.org/fhir/R4/xml.html. A document type declaration, where all entities would be declared, ends the
reading before any is.
"""

from __future__ import annotations

import re
from typing import Any

from bridge.fhir.read_json import MAX_BYTES
from bridge.fhir.xml_build import MAX_FOUND, Builder, Found, RefusedError
from bridge.fhir.xml_marks import ELSE, Marks
from bridge.fhir.xml_parse import parse, parser_for
from bridge.fhir.xml_text import Places, declared, xml_bytes
from bridge.issues import Issue, Where, issue

_NAMED = re.compile(rb"&(?!#|(?:amp|lt|gt|quot|apos);)")
_UNREADABLE = frozenset({"S120", "S124", "S125", "S128", "S140", "S141", "S142", "S143"})


def read_xml(content: bytes, file: str = "", *, max_bytes: int = MAX_BYTES) -> tuple[Any, list[Issue]]:
    """The data and what is wrong with its writing, each with line and column; None where it cannot be read at all.

    Values are those of `read_json`: whole numbers int, other numbers Decimal as written, narratives as text. A number
    or true/false that is misspelt stays a text, an element repeated that may not be becomes a list.
    """
    text, issues = xml_bytes(content, file, max_bytes)
    if text is None:
        return None, issues
    if refused := declared(text, file):
        return None, [refused]
    builder, fault = build(text)
    if fault or builder.all_found or builder.refused:
        issues = _told(text, file, builder, fault)
    if any(i.rule in _UNREADABLE for i in issues):
        return None, issues
    return builder.resource, issues


def build(text: bytes, wanted: set[str] | None = None) -> tuple[Builder, tuple[int, int] | None]:
    """The builder after it has seen all, and where the file breaks off; `wanted`: paths whose marks it is to note."""
    builder = Builder(text, wanted)
    try:
        return builder, parse(text, parser_for(builder))
    except RefusedError:
        return builder, None


def _told(text: bytes, file: str, builder: Builder, fault: tuple[int, int] | None) -> list[Issue]:
    """Everything found, at its place; of a file that breaks off, what stands before."""
    found = builder.all_found[:MAX_FOUND]
    last = [builder.refused] if builder.refused else []
    marks = Marks(text, {one.mark for one in (*found, *last)}, to_end=fault is not None)
    lines = Places(text)
    issues = [_placed(one, file, lines.at(marks.found[one.mark])) for one in found if one.mark in marks.found]
    if len(builder.all_found) > MAX_FOUND:
        message = f"More than {MAX_FOUND:,} faults of writing; the rest is not told."
        issues.append(issue("S117", message, Where(file=file)))
    if broken := fault or marks.fault:
        return [*issues, _broken(text, file, marks, broken)]
    return [*issues, *(_placed(one, file, lines.at(marks.found.get(one.mark, 0))) for one in last)]


def _placed(found: Found, file: str, place: tuple[int, int]) -> Issue:
    return issue(found.rule, found.message, Where(file=file, row=place[0], column=place[1], path=found.path))


def _broken(text: bytes, file: str, marks: Marks, fault: tuple[Any, ...]) -> Issue:
    row, column, why = marks.fault or (*fault, ELSE)
    if marks.unknown:
        if name := _NAMED.search(text, marks.at):
            row, column = Places(text).at(name.start())
        where = Where(file=file, row=row, column=column)
        return issue("S142", "A name between “&” and “;” stands here that XML does not know.", where)
    return issue("S140", f"This is not well-formed XML: {why}.", Where(file=file, row=row, column=column))
