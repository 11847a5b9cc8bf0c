"""Lays the tree of a differential over the tree of its base."""

from __future__ import annotations

from collections import Counter

from bridge.profiles.snapshot.merge import constraints, merge
from bridge.profiles.snapshot.problems import Problems
from bridge.profiles.snapshot.tree import Node, above_slice, copy
from bridge.profiles.snapshot.unfold import Unfolder
from bridge.profiles.versions import cut
from bridge.shapes import Json

_BY_URL: Json = {"discriminator": [{"type": "value", "path": "url"}], "ordered": False, "rules": "open"}
_BY_TYPE: Json = {"discriminator": [{"type": "type", "path": "$this"}], "ordered": False, "rules": "open"}
_LONGEST_STEM = 64


class Walk:
    """`adds`: whether the definition makes a new type, which may have elements that its base has not; `bare`: whether
    it is one whose extensions are not said to be sliced.
    """

    __slots__ = ("_adds", "_bare", "_problems", "_source", "_unfolder")

    def __init__(self, source: str, adds: bool, bare: bool, unfolder: Unfolder, problems: Problems) -> None:
        self._source, self._adds, self._bare = source, adds, bare
        self._unfolder, self._problems = unfolder, problems

    def lay(self, base: Node, said: Node, id: str, first: bool = False) -> None:
        """Changes `base` to what it is with `said`. `first`: it is a new slice."""
        plain = base.element or {}
        if said.element is not None or first:
            base.element = merge(base.element or {}, said.element or {}, self._source, id, self._problems, slice=first)
        if said.parts:
            self._parts(base, said.parts, id)
        if said.element is None and len(said.slices) == 1:
            for name, one in said.slices.items():
                if (one.element or {}).get("path", base.name).rpartition(".")[2] != base.name:
                    _allow_only(base, name)
        for name, one in said.slices.items():
            self._slice(base, plain, name, one, id)

    def _parts(self, base: Node, said: dict[str, Node], id: str) -> None:
        if base.parts is None:
            self._unfolder.unfold(base, id)
        parts = base.parts if base.parts is not None else {}
        choices = {known[:-3]: known for known in parts if known.endswith("[x]")}
        short = {name: _choice(parts, choices, name) for name in said if name not in parts} if choices else {}
        meant = Counter(short.values())
        for name, part in said.items():
            below = f"{id}.{name}"
            if name in parts:
                self.lay(parts[name], part, below)
            elif choice := short.get(name):
                self._short(parts[choice], part, f"{id}.{choice}", meant[choice] == 1 and choice not in said)
            elif self._adds:
                parts[name] = self._new(part, below)
            else:
                self._problems.tell(f"{cut(below)} is not there in the base.")

    def _short(self, choice: Node, said: Node, id: str, alone: bool) -> None:
        """`valueQuantity` for the slice of `value[x]` that is of this type; the only one if it is `alone`."""
        if said.element is None and not said.parts and list(said.slices) == [said.name]:  # it is called so too
            said = said.slices[said.name]
        element = said.element or {}
        name = element.get("sliceName") or said.name
        said.name = choice.name
        if said.element is not None:
            said.element = {**element, "sliceName": name}
        plain = choice.element or {}
        if alone:
            _allow_only(choice, name)
        self._slice(choice, plain, name, said, id)

    def _slice(self, base: Node, plain: Json, name: str, said: Node, id: str) -> None:
        """`plain`: the element as the base has it, which is what a new slice begins with, its parts as they are now."""
        whole = base if base.slice else above_slice(base, name)
        sliced = whole.slices.get(name)
        below = f"{id.removesuffix(':' + base.slice) if base.slice else id}:{name}"
        if sliced is not None:
            self.lay(sliced, said, below)
            return
        if whole is not base:
            plain = whole.element or {}
        self._open(whole, below)
        element = said.element or {}
        if element.get("sliceIsConstraining"):
            self._problems.tell(f"{cut(below)} constrains a slice that its base does not have.")
        elif plain.get("slicing", {}).get("rules") == "closed":
            self._problems.tell(f"{cut(below)} is one slice more than its base allows.")
        made = whole.slices[name] = copy(whole, self._problems, slice=name)
        element = {key: value for key, value in plain.items() if key != "slicing"}
        made.element = {**element, "sliceName": name}
        if (types := _one_type(plain, made.name, name)) and not (said.element or {}).get("type"):
            made.element["type"] = types
        self.lay(made, said, below, first=True)

    def _open(self, whole: Node, id: str) -> None:
        """Says how slices are told apart where that goes without saying."""
        element = whole.element or {}
        if "slicing" in element:
            return
        if whole.name.endswith("[x]"):
            whole.element = {**element, "slicing": _BY_TYPE}
        elif whole.name in ("extension", "modifierExtension"):
            whole.element = {**element, "slicing": _BY_URL}
        else:
            self._problems.tell(f"{cut(id)} is a slice, but nothing says how it is told from others.")

    def _new(self, said: Node, id: str) -> Node:
        """An element that a new type adds: with the constraints of any element, and under it what its type has."""
        element = said.element or {}
        made = Node(said.name, said.slice, None)
        self._problems.count()
        rules = [*self._unfolder.rules(element.get("type", [])), *element.get("constraint", ())]
        made.element = {**element, "base": {"path": id, "min": element.get("min", 0), "max": element.get("max", "*")}}
        if rules:
            made.element["constraint"] = constraints([], rules, self._source)
        if said.parts is not None:
            self._unfolder.unfold(made, id)
            if self._bare:
                without_slicing(made)
            self._parts(made, said.parts, id)
        for name, one in said.slices.items():
            self._slice(made, made.element, name, one, id)
        return made


def without_slicing(node: Node) -> None:
    """Takes the slicing off the parts: R4 writes none at the extensions of resources and of simple types."""
    for part in (node.parts or {}).values():
        if part.element is not None and "slicing" in part.element:
            part.element = {key: value for key, value in part.element.items() if key != "slicing"}


def _choice(parts: dict[str, Node], choices: dict[str, str], name: str) -> str:
    """The choice that a name like `valueQuantity` belongs to; `choices` are known by what stands before their `[x]`."""
    for end in range(1, min(len(name), _LONGEST_STEM)):
        known = choices.get(name[:end])
        if known and any(_is(row["code"], name[end:]) for row in (parts[known].element or {}).get("type", ())):
            return known
    return ""


def _allow_only(choice: Node, name: str) -> None:
    """Leaves a choice that is not sliced yet no other type than the one that a short name says."""
    element = choice.element or {}
    if "slicing" not in element:
        types = _one_type(element, choice.name, name)
        choice.element = {**element, "slicing": {**_BY_TYPE, "rules": "closed"}, "type": types}


def _is(code: str, rest: str) -> bool:
    return code == "*" or (code[:1].upper() == rest[:1] and code[1:] == rest[1:])


def _one_type(element: Json, stem: str, name: str) -> list[Json]:
    """Of the types of a choice the one that the name of its slice says, as in `valueQuantity`."""
    types: list[Json] = element.get("type", [])
    rest = name.removeprefix(stem.removesuffix("[x]"))
    if not stem.endswith("[x]") or rest == name:
        return types
    return [row for row in types if _is(row["code"], rest)] or types
