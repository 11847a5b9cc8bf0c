"""B: what a message is about must be in it.

Source: https://hl7.org/fhir/R4/messageheader-definitions.html#MessageHeader.focus and .response.details.
"""

from __future__ import annotations

from bridge.check.bundle_scopes import Scope
from bridge.check.node import Node
from bridge.issues import Issue, Where, issue

_INSIDE = frozenset({"focus", "details"})
"""Elements of the MessageHeader whose targets travel with the message."""


def not_in_message(node: Node, scope: Scope) -> list[Issue]:
    """What is wrong with a reference of the MessageHeader that nothing in the message answers."""
    header = scope.answers.entries[0]["resource"] if scope.type == "message" else None
    if node.resource is not header or node.element.name not in _INSIDE:
        return []
    return [issue("B159", "What the message is about must be in it; this leads elsewhere.", Where(path=node.path))]
