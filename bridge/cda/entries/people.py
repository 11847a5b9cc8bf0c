"""Who took part: authors, performers, and others by a participation of CDA."""

from __future__ import annotations

from typing import Any

from bridge.cda.context import Context, objects
from bridge.cda.entries.act import Act, naming, who
from bridge.cda.entries.paths import items
from bridge.cda.entries.place import Told, shaped
from bridge.cda.entries.seen import Seen
from bridge.cda.entries.tables import Row, codes
from bridge.cda.values import cd, concept_of, reference_of, text_of
from bridge.cda.xml import Node, node, one
from bridge.shapes import Json


def someone(found: Node | None, name: str = "assignedPerson") -> Json | None:
    """The Reference of a role by its id, with the words that it has."""
    said = text_of(one(found, name, "name"))
    reference = {**(reference_of(one(found, "id")) or {}), **({"display": said} if said else {})}
    return reference or None


class Author:
    def write(self, act: Act, row: Row, told: Told) -> None:
        value = told.at(row)
        act.author = value if isinstance(value, dict) else None

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return someone(one(seen.first("author"), "assignedAuthor"))


class Performer:
    """Those who did it, or are asked to. Of a list that says more of some, those of whom it says no more."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        first, inner = _split(row)
        found = items(told.resource.get(first) if inner else told.at(row))
        for item in found:
            person = item.get(inner) if inner and isinstance(item, dict) and len(item) == 1 else None if inner else item
            if isinstance(person, dict):
                act.add(node("performer", node("assignedEntity", *who(person))))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        found = [p for place in seen.parts["performer"] if (p := someone(one(place, "assignedEntity")))]
        _, inner = _split(row)
        return [{inner: p} for p in found] if inner and found else shaped(row, found)


def _split(row: Row) -> tuple[str, str]:
    """Of `performer.actor` the list and what each item has of a person; else the element, with nothing inside."""
    first, _, inner = row.path.partition(".")
    return (first, inner) if inner == "actor" else (row.path, "")


class Party:
    """Others, each by a role that names the element."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        for item in items(told.at(row)):
            if isinstance(item, dict):
                act.add(party(row, item))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return shaped(row, [someone(role, "playingEntity") for role in seen.parties[row.name]])


def party(row: Row, reference: Json) -> Node:
    id, words = who(reference, "playingEntity")
    return node("participant", node("participantRole", id, naming(row.name), words), typeCode=row.link or "IND")


class Agent:
    """Someone with the part that they took: an agent of a Provenance, an actor of a Consent."""

    def __init__(self, kind: str, person: str) -> None:
        self.kind, self.person = kind, person

    def write(self, act: Act, row: Row, told: Told) -> None:
        for item in items(told.at(row)):
            if isinstance(item, dict) and isinstance(item.get(self.person), dict):
                act.add(self.role(item))

    def role(self, item: Json) -> Node:
        id, words = who(item[self.person], "playingEntity")
        concepts = [concept for concept in items(item.get(self.kind)) if isinstance(concept, dict)]
        code = cd("code", concepts[0]) if len(concepts) == 1 else None
        return node("participant", node("participantRole", id, code, words), typeCode=_part(concepts))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return [self.item(role) for role in seen.parties[""]] or None

    def item(self, role: Node) -> Json:
        kind, person = concept_of(one(role, "code")), someone(role, "playingEntity")
        return {**({self.kind: kind} if kind else {}), **({self.person: person} if person else {})}


class Attendance(Agent):
    """Who was at an Encounter: those who did what was done, then others with the part that they took."""

    def __init__(self) -> None:
        super().__init__("type", "individual")

    def write(self, act: Act, row: Row, told: Told) -> None:
        for item in items(told.at(row)):
            person = item.get("individual") if isinstance(item, dict) else None
            if isinstance(person, dict):
                alone = node("performer", node("assignedEntity", *who(person)))
                act.add(alone if len(item) == 1 else self.role(item))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        alone = [p for place in seen.parts["performer"] if (p := someone(one(place, "assignedEntity")))]
        others = [self.item(role) for role in seen.parties[""]]
        found = [{"individual": person} for person in alone]
        return [*found, *({**o, "type": [o["type"]]} if "type" in o else o for o in others)] or None


def _part(concepts: list[Json]) -> str:
    codings = [coding for concept in concepts for coding in objects(concept.get("coding"))]
    parts = codes("agent")
    return next((parts[code][0] for coding in codings if (code := str(coding.get("code"))) in parts), "IND")
