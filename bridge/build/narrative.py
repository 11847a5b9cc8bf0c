"""The readable text that each resource and each section carries (FHIR Narrative, XHTML subset)."""

from __future__ import annotations

from html import escape
from typing import Any

from bridge.build.context import Built
from bridge.fhir.own import word
from bridge.fhir.tell import tell
from bridge.fhir.tell.observation import what
from bridge.fhir.tell.words import upper_first

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
    parts: list[str] = []
    for ear in ("right", "left"):
        mine = [b for b in entries if b.ear == ear and not _said_by_the_state(b)]
        if not mine:
            continue
        parts.append(f"<p><b>{ear.title()} ear</b></p>")
        for stage in ("before", "after"):
            seen = [b for b in mine if b.stage == stage]
            if seen:
                items = "".join(f"<li>{_lines(upper_first(_fact(b)))}</li>" for b in seen)
                parts.append(f"<p>{stage.title()} the work:</p><ul>{items}</ul>")
        rest = [b for b in mine if b.stage is None]
        if rest:
            parts.append("<ul>" + "".join(f"<li>{_lines(_fact(b))}</li>" for b in rest) + "</ul>")
    parts += [_paragraphs(tell(b.resource)) for b in entries if b.ear is None]
    return "".join(parts)


def said(text: str) -> Json:
    """Text of a section that has nothing else."""
    return generated(_paragraphs(text))


def said_in_turn(paragraphs: list[str]) -> Json:
    """Text of a section that holds paragraphs of words."""
    return generated("".join(map(_paragraphs, paragraphs)))


def said_in_list(lines: list[str]) -> Json:
    """Text of a section that holds a list of words."""
    return generated("<ul>" + "".join(f"<li>{_lines(line)}</li>" for line in lines) + "</ul>")


def _said_by_the_state(built: Built) -> bool:
    """A drum that could not be seen is said once, by its state."""
    value = built.resource.get("valueCodeableConcept")
    return built.topic == "drum-view" and word("drum-view", value) == "not seen"


def _fact(built: Built) -> str:
    if built.resource["resourceType"] == "Observation":
        notes = "; ".join(n["text"] for n in built.resource.get("note", ()))
        return what(built.resource) + (f" ({notes})" if notes else "")
    return tell(built.resource)


def generated(inner: str) -> Json:
    """A narrative of XHTML that is already escaped."""
    return {"status": "generated", "div": f'<div xmlns="{XHTML}">{inner}</div>'}


def _paragraphs(text: str) -> str:
    return f"<p>{_lines(text)}</p>"


def _lines(text: str) -> str:
    return "<br/>".join(escape(line) for line in text.split("\n"))
