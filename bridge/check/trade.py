"""Checks of the trade on a bundle: sides, numbers, whose it is, what is in force. Conformance is another matter."""

from __future__ import annotations

from itertools import chain
from typing import Any

from bridge.check.document import check_document
from bridge.check.identifiers import check_identifiers
from bridge.check.not_for_writing import check_not_for_writing
from bridge.check.objects import objects
from bridge.check.sides import check_sides
from bridge.enough import enough
from bridge.issues import Issue, Where


def check_trade(data: Any) -> list[Issue]:
    """Issues in the order of the checks."""
    nodes = list(objects(data))
    outermost = [(n.path, n.value) for n in nodes if n.value is n.resource]
    checks = (
        check_document(data, nodes),
        check_sides(outermost, data),
        check_identifiers(nodes),
        check_not_for_writing(nodes),
    )
    return enough(chain.from_iterable(checks), Where(path=nodes[0].path if nodes else ""))
