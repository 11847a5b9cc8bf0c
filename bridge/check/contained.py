"""B: what is contained in a resource has an id, and no two have the same.

Source: https://hl7.org/fhir/R4/references.html#contained: a reference to it is its id alone.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.look import has, numbered, text
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json


def check_contained(container: Json, path: str) -> Iterator[Issue]:
    """Issues of the contained resources of one resource."""
    met = set()
    for number, contained in numbered(container, "contained"):
        if not contained:
            continue
        id, place = text(contained, "id"), f"{path}.contained[{number}]"
        if not has(contained, "id"):
            yield issue("B164", "This contained resource has no id.", Where(path=place))
        elif id in met:
            yield issue("B165", "Another contained resource has this id too.", Where(path=f"{place}.id"))
        elif id:
            met.add(id)
