"""V: Constraints of scripts of tests and their reports.

Operations and assertions of a test and of the tear-down are defined once, under the set-up; so one function
answers under the keys of all three places.
"""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.look import has, part, parts, text
from bridge.check.node import Node
from bridge.shapes import Json

_OPERATIONS = ("TestScript.setup.action.operation", "TestScript.test.action.operation")
_ASSERTS = ("TestScript.setup.action.assert", "TestScript.test.action.assert")
_ASSERTIONS = [
    "contentType",
    "expression",
    "headerField",
    "minimumId",
    "navigationLinks",
    "path",
    "requestMethod",
    "resource",
    "responseCode",
    "response",
    "validateProfileId",
]


@invariant("V400", "tst-1", "TestScript.setup.action")
@invariant("V400", "tst-2", "TestScript.test.action")
@invariant("V400", "inv-1", "TestReport.setup.action")
@invariant("V400", "inv-2", "TestReport.test.action")
def one_act(node: Json, at: Node) -> bool:
    return has(node, "operation") != has(node, "assert")


@invariant("V401", "tst-3", "TestScript.variable")
def tst_3(node: Json, at: Node) -> bool:
    """By its text and the comment on the elements; the published expression forbids only all three together."""
    return sum(has(node, way) for way in ("expression", "headerField", "path")) <= 1


@invariant("V402", "tst-4", "TestScript.metadata")
def tst_4(node: Json, at: Node) -> bool:
    """Each capability; the published expression asks it of all of them together."""
    return all(has(capability, "required", "validated") for capability in parts(node, "capability"))


@invariant("V403", "tst-5, tst-6", *_ASSERTS)
def tst_5(node: Json, at: Node) -> bool:
    return has(node, "extension") or sum(has(node, kind) for kind in _ASSERTIONS) <= 1


@invariant("V404", "tst-7, tst-8, tst-9", *_OPERATIONS, "TestScript.teardown.action.operation")
def tst_7(node: Json, at: Node) -> bool:
    """As the expression has it: without a source just one of the others, or an operation that needs none."""
    if has(node, "sourceId") or sum(has(node, way) for way in ("targetId", "url", "params")) == 1:
        return True
    return text(part(node, "type"), "code") in ("capabilities", "search", "transaction", "history")


@invariant("V405", "tst-10, tst-11", *_ASSERTS)
def tst_10(node: Json, at: Node) -> bool:
    """One of the two ways, not both, by its text and the comment on the elements; the expression lets both through."""
    ways = has(node, "compareToSourceExpression") + has(node, "compareToSourcePath")
    return ways == int(has(node, "compareToSourceId"))


@invariant("V406", "tst-12, tst-13", *_ASSERTS)
def tst_12(node: Json, at: Node) -> bool:
    return text(node, "direction") != "request" or not has(node, "response", "responseCode")
