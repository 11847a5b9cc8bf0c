"""Elements as a tree, and back to the flat list.

A node is an element with its parts and its slices; the slices of a slice stand under it. `parts` is None as long as
nobody asked for them: the parts of a data type are the business of its own definition.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bridge.profiles.snapshot.problems import Problems
from bridge.profiles.versions import cut
from bridge.shapes import Json

MOST_LEVELS = 40
"""Parts in parts, and slices of slices, that a definition may speak of."""

LONGEST_ID = 1000


class Node:
    """`element` may be shared with other trees: it is replaced as a whole, never changed."""

    __slots__ = ("element", "name", "parts", "slice", "slices")

    def __init__(self, name: str, slice: str, element: Json | None) -> None:
        self.name, self.slice, self.element = name, slice, element
        self.parts: dict[str, Node] | None = None
        self.slices: dict[str, Node] = {}


def tree(elements: Iterable[Json], problems: Problems) -> Node | None:
    """The tree of a flat list, by ids or, where they say something else than path and sliceName, by these in order.

    An element whose parent is not in the list gets one without an element.
    """
    root: Node | None = None
    by_id: dict[str, Node] = {}
    for id, element in with_ids(elements, problems):
        if root is None:
            root = by_id[id] = Node(id, "", element)
            if "." not in id:
                continue
            top = id.partition(".")[0]
            root = by_id[top] = Node(top, "", None)
            del by_id[id]
        node = by_id.get(id) or _make(id, by_id)
        if node is None:
            problems.tell(f"{cut(id)} does not begin with {cut(root.name)}.")
        elif node.element is not None:
            problems.tell(f"{cut(id)} stands there twice.")
        else:
            node.element = element
    return root


def with_ids(elements: Iterable[Json], problems: Problems) -> Iterator[tuple[str, Json]]:
    """Each element with its id, made where it has none that says the same as path and sliceName."""
    around: list[tuple[str, str]] = []
    for element in elements:
        path = element.get("path") or _path_of(element.get("id", ""))
        if not path:
            problems.tell("An element has neither path nor id.")
            continue
        while around and not path.startswith(f"{around[-1][0]}."):
            around.pop()
        id = _id(element, path, around)
        if id.count(".") + id.count("/") > MOST_LEVELS or len(id) > LONGEST_ID:
            problems.tell(f"{cut(id)} lies too deep, or its name is too long.")
            continue
        around.append((path, id))
        yield id, element


def _make(id: str, by_id: dict[str, Node]) -> Node | None:
    above, dot, step = id.rpartition(".")
    if not dot:
        return None
    parent = by_id.get(above) or _make(above, by_id)
    if parent is None:
        return None
    name, _, sliced = step.partition(":")
    if parent.parts is None:
        parent.parts = {}
    whole = parent.parts.get(name)
    if whole is None:
        whole = parent.parts[name] = Node(name, "", None)
        by_id[f"{above}.{name}"] = whole
    if not sliced:
        return whole
    node = by_id[id] = Node(name, sliced, None)
    outer = above_slice(whole, sliced)
    outer.slices[sliced] = node
    return node


def above_slice(whole: Node, sliced: str) -> Node:
    """What a slice divides: the element itself, or for `a/b` the slice `a` where there is one."""
    at = whole
    for position, sign in enumerate(sliced):
        if sign == "/":
            at = at.slices.get(sliced[:position], at)
    return at


def _id(element: Json, path: str, around: list[tuple[str, str]]) -> str:
    """The id if it says the same as path and sliceName, otherwise one made of these and of what it stands under.

    `around`: paths and ids of the elements before it that have it as a part, the innermost last.
    """
    id, sliced = element.get("id"), element.get("sliceName", "")
    if id is not None:
        if id == path and not sliced:
            return path
        steps, names = id.split("."), path.split(".")
        if len(steps) == len(names) and _same(steps, names, sliced):
            return str(id)
    sliced = sliced.replace(".", "_")
    above, known = around[-1] if around else ("", "")
    id = known + path[len(above) :]
    return f"{id}:{sliced}" if sliced else id


def _same(steps: list[str], names: list[str], sliced: str) -> bool:
    if sliced and not steps[-1].partition(":")[2]:
        return False
    for step, name in zip(steps, names, strict=True):
        told = step.partition(":")[0]
        if told != name and not (told.endswith("[x]") and name.startswith(told[:-3])):
            return False
    return True


def _path_of(id: str) -> str:
    return ".".join(step.partition(":")[0] for step in id.split("."))


def copy(node: Node, limit: Problems, slice: str | None = None) -> Node:
    """The node with all that is under it; `slice` names the copy, which then has no slices of its own."""
    limit.count()
    made = Node(node.name, node.slice if slice is None else slice, node.element)
    if node.parts is not None:
        made.parts = {name: copy(part, limit) for name, part in node.parts.items()}
    if slice is None:
        made.slices = {name: copy(one, limit) for name, one in node.slices.items()}
    return made


def flatten(root: Node) -> list[Json]:
    """The elements in the order of a snapshot, with ids and paths of where they stand now."""
    found: list[Json] = []
    _flatten(root, root.name, root.name, found)
    return found


def _flatten(node: Node, id: str, path: str, found: list[Json]) -> None:
    element = node.element or {}
    if element.get("id") != id or element.get("path") != path:
        element = {**element, "id": id, "path": path}
    found.append(element)
    if node.parts:
        for name, part in node.parts.items():
            _flatten(part, f"{id}.{name}", f"{path}.{name}", found)
    if node.slices:
        above = id.removesuffix(f":{node.slice}") if node.slice else id
        for name, one in node.slices.items():
            _flatten(one, f"{above}:{name}", path, found)
