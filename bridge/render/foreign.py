"""Documents that this tool did not write: shown as their authors wrote them, heading by heading, made safe."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bridge.fhir.tell.words import label
from bridge.render.entries import Entries
from bridge.render.sections import EMPTY_REASONS
from bridge.render.xhtml import safe_html
from bridge.shapes import Json
from bridge.wording import say

DEEPEST = 6


@dataclass(slots=True)
class Passage:
    """A heading with its level (2 to 6), safe HTML, and words where there is none."""

    level: int
    title: str
    html: str
    empty: str


def passages(entries: Entries) -> list[Passage]:
    """The sections of the Composition; a bundle without one gives the text of each of its resources."""
    if entries.composition:
        return list(_sections(entries.composition.get("section", []), entries, 2))
    return [
        Passage(2, resource["resourceType"], _text(resource), say("passage.empty")) for resource in entries.resources
    ]


def _sections(sections: list[Json], entries: Entries, level: int) -> Iterator[Passage]:
    for section in sections:
        html = _text(section) or "".join(map(_text, entries.all(section.get("entry", []))))
        reason = section.get("emptyReason", {})
        code = next((str(c.get("code")) for c in reason.get("coding", ())), "")
        empty = label(reason) if reason.get("text") else say(f"empty.{code}") if code in EMPTY_REASONS else ""
        inner = section.get("section", [])
        title = section.get("title") or label(section.get("code")) or say("section.untitled")
        yield Passage(level, title, html, empty or ("" if inner else say("passage.empty")))
        yield from _sections(inner, entries, min(level + 1, DEEPEST))


def _text(resource: Json) -> str:
    div = resource.get("text", {}).get("div")
    return safe_html(div) if div else ""
