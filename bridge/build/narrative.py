"""The readable text that each resource and each section carries (FHIR Narrative, XHTML subset)."""

from __future__ import annotations

from typing import Any

from bridge.build.context import Built
from bridge.fhir.tell import tell
from bridge.fhir.tell.by_ear import by_ear, lines_xhtml, text_xhtml, xhtml
from bridge.fhir.tell.words import sentence

Json = dict[str, Any]

XHTML = "http://www.w3.org/1999/xhtml"


def narrative(resource: Json) -> Json:
    """Generated text of one resource."""
    return generated(_paragraphs(tell(resource)))


def section_narrative(entries: list[Built]) -> Json:
    """Text of a section: each ear under its own words, then what has no side."""
    return generated(told_by_ear(entries))


def told_by_ear(entries: list[Built]) -> str:
    """The same without the frame of a narrative."""
    return xhtml(by_ear(built.resource for built in entries))


def said(text: str) -> Json:
    """Text of a section that has nothing else."""
    return generated(_paragraphs(sentence(text)))


def said_in_turn(paragraphs: list[str]) -> Json:
    """Text of a section that holds paragraphs of words."""
    return generated("".join(map(_paragraphs, paragraphs)))


def said_in_list(lines: list[str]) -> Json:
    """Text of a section that holds a list of words."""
    return generated(lines_xhtml("", [("", line) for line in lines]))


def generated(inner: str) -> Json:
    """A narrative of XHTML that is already escaped."""
    return {"status": "generated", "div": f'<div xmlns="{XHTML}">{inner}</div>'}


def _paragraphs(text: str) -> str:
    return f"<p>{text_xhtml(text)}</p>"
