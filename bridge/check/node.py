"""One object met on the walk through a resource, with what the tables say of its place."""

from __future__ import annotations

from typing import NamedTuple

from bridge.fhir.tables import RESOURCE, Element
from bridge.shapes import Json

MAX_DEPTH = 100
"""Levels of objects in objects that are looked at."""
MAX_ITEMS = 100_000
"""Entries of one list that are looked at."""
MAX_OBJECTS = 1_000_000
"""Objects that are looked at in all; 50 MB of the published examples hold 400,000."""


class Node(NamedTuple):
    """One object of a known type."""

    path: str
    type: str
    value: Json
    element: Element
    """The property it stands in; for the outermost resource one without a name."""
    resource: Json
    """The resource it belongs to; for what is contained, the resource that contains it."""


OUTERMOST = Element("", RESOURCE, True, False, False, "", frozenset(), "", "")
"""The place of a resource that stands in nothing."""
