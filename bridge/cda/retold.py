"""The narrative of a resource that came back without one: in CDA the sections are what people read."""

from __future__ import annotations

from bridge.fhir.tell import tell
from bridge.fhir.tell.by_ear import text_xhtml
from bridge.shapes import Json

XHTML = "http://www.w3.org/1999/xhtml"


def retold(resource: Json) -> Json:
    """The resource with a generated text in the words of a letter, in the language in force.

    One whose parts have shapes that no resource has comes back as it is.
    """
    try:
        told = tell(resource)
    except (AttributeError, IndexError, KeyError, LookupError, TypeError, ValueError):
        return resource
    return {**resource, "text": {"status": "generated", "div": f'<div xmlns="{XHTML}"><p>{text_xhtml(told)}</p></div>'}}
