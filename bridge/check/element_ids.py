"""B: ids of elements: no blanks, and no two in one resource the same.

Source: https://hl7.org/fhir/R4/element-definitions.html#Element.id. Elements of a StructureDefinition have their ids
twice by design, in the snapshot and in the differential (elementdefinition.html#id), so they are left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from bridge.check.node import Node
from bridge.fhir import tables
from bridge.issues import Issue, Where, issue

_BLANK = re.compile(r"\s")


def check_element_ids(nodes: list[Node]) -> Iterator[Issue]:
    """Issues of the ids of every element of any resource; contained ones are resources of their own."""
    met: set[tuple[int, str, str]] = set()
    for node in nodes:
        value = node.value.get("id")
        if not isinstance(value, str) or node.type == "ElementDefinition" or tables.is_resource(node.type):
            continue
        head, contained, tail = node.path.rpartition(".contained[")
        here = (id(node.resource), head + contained + tail.partition("]")[0] if contained else "", value)
        if _BLANK.search(value):
            yield issue("B167", "The id of this element holds a blank.", Where(path=f"{node.path}.id"))
        if here in met:
            yield issue("B166", "Another element of this resource has this id too.", Where(path=f"{node.path}.id"))
        met.add(here)
