"""Line ends and blanks between elements, for people who open the file; texts and narratives stay as they are."""

from __future__ import annotations

from bridge.cda.xml import Node

_STEP = "  "


def laid_out(root: Node) -> Node:
    """The same tree, each element on a line of its own wherever only elements stand."""
    _lay(root, 0)
    return root


def _lay(found: Node, depth: int) -> None:
    if not len(found) or found.text or any(child.tail for child in found) or _is_block(found):
        return
    found.text = "\n" + _STEP * (depth + 1)
    for child in found:
        _lay(child, depth + 1)
        child.tail = found.text
    found[-1].tail = "\n" + _STEP * depth


def _is_block(found: Node) -> bool:
    """Whether this is a section's narrative, or a name or an address, which are told in running words."""
    return str(found.tag).rpartition("}")[2] in ("text", "name", "addr")
