"""An act of CDA while it is made: its parts in any order, put into that of the schema at the end."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from bridge.cda.entries.tables import Kind
from bridge.cda.moments import ts_text
from bridge.cda.oids import template
from bridge.cda.rest import PATHS
from bridge.cda.values import reference_ii, ts
from bridge.cda.xml import Node, add, node, typed
from bridge.shapes import Json

ENTRY = template("entry")
"""Root of the templateId of each act that stands for a resource; its extension is the type."""

_ORDER = (
    "templateId", "id", "code", "text", "statusCode", "effectiveTime", "priorityCode", "value", "interpretationCode",
    "routeCode", "methodCode", "approachSiteCode", "targetSiteCode", "consumable", "performer", "author",
    "participant", "entryRelationship", "reference", "component",
)  # fmt: skip
"""Of the parts that we write, in all acts of the schema (POCD_MT000040)."""
_SETS = frozenset({"substanceAdministration", "supply"})
"""Acts whose times are sets, so that an interval must say that it is one."""
_HUMPS = re.compile(r"(?<=[a-z])(?=[A-Z])")


@dataclass
class Act:
    kind: Kind
    type: str
    mood: str
    negated: bool = False
    parts: dict[str, list[Node]] = field(default_factory=lambda: defaultdict(list))
    author: Json | None = None
    authored: Any = None
    low: Any = None
    high: Any = None
    over: bool = False
    """Whether it is over, also where nobody knows since when."""

    def add(self, made: Node) -> None:
        self.parts[str(made.tag).rpartition("}")[2]].append(made)

    def relate(self, link: str, inner: Node, *, inverted: bool = False) -> None:
        """Another act, beside or within this one; an organizer has components and no other way."""
        if self.kind.element == "organizer":
            self.add(node("component", inner, typeCode="COMP"))
        else:
            self.add(node("entryRelationship", inner, typeCode=link, inversionInd="true" if inverted else None))

    def finish(self) -> Node:
        """The act as it stands; may be asked again after more was added."""
        made = node(self.kind.element, classCode=self.kind.class_code, moodCode=self.mood)
        if self.negated and self.kind.element not in ("encounter", "supply", "organizer"):
            made.set("negationInd", "true")
        own = {"effectiveTime": self._interval(), "author": self._author()}
        for tag in _ORDER:
            add(made, *self.parts.get(tag, ()), own.get(tag))
        return made

    def _interval(self) -> Node | None:
        if not (self.low or self.high or self.over) or "effectiveTime" in self.parts:
            return None
        low, high = (ts_text(when) for when in (self.low, self.high))
        made = node("effectiveTime")
        add(made, node("low", value=low, nullFlavor=None if low else "UNK"))
        if high or self.over:
            add(made, node("high", value=high, nullFlavor=None if high else "UNK"))
        return self.timed(made)

    def timed(self, made: Node) -> Node:
        """A time of this act that is an interval."""
        return typed(made, "IVL_TS" if self.kind.element in _SETS else None)

    def _author(self) -> Node | None:
        if self.author is None:
            return None
        when = ts("time", self.authored) if self.authored else node("time", nullFlavor="NI")
        return node("author", when, node("assignedAuthor", *who(self.author)))


def who(reference: Json, name: str = "assignedPerson") -> tuple[Node, Node | None]:
    """The id of someone or something, and the words that the reference has for them."""
    id = reference_ii("id", reference)
    display = reference.get("display")
    named = node(name, node("name", text=display)) if isinstance(display, str) and display else None
    return (node("id", nullFlavor="NI") if id is None else id), named


def naming(name: str, tag: str = "code") -> Node:
    """The code of an act or of a role that stands for one element, or for a type: `Procedure.outcome`, `Flag`."""
    words = _HUMPS.sub(" ", name.partition(".")[2] or name).lower().replace(".", " ")
    return node(tag, code=name, codeSystem=PATHS, displayName=words)
