"""Lays the tree of a differential over the tree of its base."""

from __future__ import annotations

from bridge.shapes import Json

from .merge import merge
from .problems import Problems, cut
from .tree import Node, above_slice, copy
from .unfold import Unfolder

_BY_URL: Json = {"discriminator": [{"type": "value", "path": "url"}], "ordered": False, "rules": "open"}
_BY_TYPE: Json = {"discriminator": [{"type": "type", "path": "$this"}], "ordered": False, "rules": "open"}


class Walk:
    """`adds`: whether the definition makes a new type, which may have elements that its base has not."""

    __slots__ = ("_adds", "_problems", "_source", "_unfolder")

    def __init__(self, source: str, adds: bool, unfolder: Unfolder, problems: Problems) -> None:
        self._source, self._adds, self._unfolder, self._problems = source, adds, unfolder, problems

    def lay(self, base: Node, said: Node, id: str, first: bool = False) -> None:
        """Changes `base` to what it is with `said`. `first`: it is a new slice."""
        plain = base.element or {}
        if said.element is not None or first:
            base.element = merge(
                base.element or {}, said.element or {}, self._source, id, self._problems, slice=first
            )
        if said.parts:
            self._parts(base, said.parts, id)
        for name, one in said.slices.items():
            self._slice(base, plain, name, one, id)

    def _parts(self, base: Node, said: dict[str, Node], id: str) -> None:
        if base.parts is None:
            self._unfolder.unfold(base, id)
        parts = base.parts if base.parts is not None else {}
        for name, part in said.items():
            below = f"{id}.{name}"
            known = parts.get(name)
            if known is not None:
                self.lay(known, part, below)
            elif choice := _choice(parts, name):
                alone = not any(_choice(parts, other) == choice for other in said if other != name)
                self._short(parts[choice], part, f"{id}.{choice}", alone and choice not in said)
            elif self._adds:
                parts[name] = self._new(part, below)
            else:
                self._problems.tell(f"{cut(below)} is not there in the base.")

    def _short(self, choice: Node, said: Node, id: str, alone: bool) -> None:
        """`valueQuantity` for the slice of `value[x]` that is of this type; the only one if it is `alone`."""
        element = said.element or {}
        name = element.get("sliceName") or said.name
        said.name = choice.name
        if said.element is not None:
            said.element = {**element, "sliceName": name}
        plain = choice.element or {}
        if alone and "slicing" not in plain:
            choice.element = {**plain, "slicing": {**_BY_TYPE, "rules": "closed"}, "type": _one_type(plain, said.name, name)}
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
        self._open(whole)
        made = whole.slices[name] = copy(whole, self._problems, slice=name)
        element = {key: value for key, value in plain.items() if key != "slicing"}
        made.element = {**element, "sliceName": name, "type": _one_type(element, made.name, name)}
        self.lay(made, said, below, first=True)

    def _open(self, whole: Node) -> None:
        element = whole.element or {}
        if "slicing" in element:
            return
        if whole.name.endswith("[x]"):
            whole.element = {**element, "slicing": _BY_TYPE}
        elif whole.name in ("extension", "modifierExtension"):
            whole.element = {**element, "slicing": _BY_URL}

    def _new(self, said: Node, id: str) -> Node:
        element = said.element or {}
        made = copy(said, self._problems)
        base = {"path": id, "min": element.get("min", 0), "max": element.get("max", "*")}
        made.element = {**element, "base": base}
        if said.parts is not None:
            made.parts = {name: self._new(part, f"{id}.{name}") for name, part in said.parts.items()}
        return made


def _choice(parts: dict[str, Node], name: str) -> str:
    """The choice that a name like `valueQuantity` belongs to."""
    for known in parts:
        if known.endswith("[x]") and name.startswith(known[:-3]) and len(name) > len(known) - 3:
            return known
    return ""


def _one_type(element: Json, stem: str, name: str) -> list[Json]:
    """Of the types of a choice the one that the name of its slice says, as in `valueQuantity`."""
    types: list[Json] = element.get("type", [])
    rest = name.removeprefix(stem.removesuffix("[x]"))
    if not stem.endswith("[x]") or rest == name:
        return types
    return [row for row in types if row["code"][:1].upper() + row["code"][1:] == rest] or types
