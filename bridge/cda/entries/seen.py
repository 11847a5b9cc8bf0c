"""An act of CDA while it is read: its parts by their names, each looked for once."""

from __future__ import annotations

from collections import defaultdict

from bridge.cda.entries.act import ENTRY
from bridge.cda.rest import PATHS, is_rest
from bridge.cda.xml import Node, children, every, name_of, one

MAX_PARTS = 5_000
"""Parts of one act that are looked at; the rest is passed over."""


class Seen:
    def __init__(self, found: Node) -> None:
        self.found = found
        self.parts: dict[str, list[Node]] = defaultdict(list)
        self.related: dict[str, list[Node]] = defaultdict(list)
        """Acts that stand for one element, by its name (`Procedure.outcome`)."""
        self.nested: dict[str, list[Node]] = defaultdict(list)
        """Acts that stand for an inner structure, by its type."""
        self.parties: dict[str, list[Node]] = defaultdict(list)
        """Roles of participants that stand for one element, by its name."""
        for place in list(found)[:MAX_PARTS]:
            self.parts[name_of(place)].append(place)
            if name_of(place) in ("entryRelationship", "component"):
                self._relation(place)
            elif name_of(place) == "participant" and (role := one(place, "participantRole")) is not None:
                self.parties[named(role)].append(role)

    def _relation(self, place: Node) -> None:
        for inner in children(place):
            if type := type_in(inner):
                self.nested[type].append(inner)
            elif (name := named(inner)) and not is_rest(inner):
                self.related[name].append(inner)

    def first(self, tag: str) -> Node | None:
        found = self.parts.get(tag)
        return found[0] if found else None


def named(found: Node) -> str:
    """The element of a resource that an act or a role says that it stands for; empty where it says none."""
    code = one(found, "code")
    return str(code.get("code") or "") if code is not None and code.get("codeSystem") == PATHS else ""


def type_in(found: Node) -> str:
    """The type that an act of ours stands for; empty for any other act."""
    for place in every(found, "templateId"):
        if place.get("root") == ENTRY:
            return str(place.get("extension") or "")
    return ""
