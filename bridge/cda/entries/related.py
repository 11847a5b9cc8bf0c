"""Elements that CDA has no part for: acts of their own, linked to the one they belong to."""

from __future__ import annotations

from typing import Any

from bridge.cda.context import Context
from bridge.cda.entries.act import Act, naming
from bridge.cda.entries.forms import form, formed
from bridge.cda.entries.paths import items
from bridge.cda.entries.people import Party, party, someone
from bridge.cda.entries.place import Told, shaped
from bridge.cda.entries.seen import Seen
from bridge.cda.entries.tables import Row, codes, codes_back
from bridge.cda.values import cd, concept_of, ed, identifier_of, ii, reference_ii, reference_of, text_of
from bridge.cda.xml import Node, node, one
from bridge.shapes import Json

ENTITIES = frozenset({
    "CareTeam", "Device", "Group", "HealthcareService", "Location", "Organization", "Patient", "Practitioner",
    "PractitionerRole", "RelatedPerson",
})  # fmt: skip
"""Resources that are no acts: CDA has them take part in one."""


class Related:
    """Each value as an observation that names the element; a reference as the id of what it points at."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        type, found = row.element.type if row.element else "", items(told.at(row))
        if type == "Reference":
            self._refer(act, row, [item for item in found if isinstance(item, dict)], told.context)
            return
        for item in found:
            if (value := form(type, item)) is not None:
                act.relate(row.link, related(row.name, value), inverted=row.inverted)

    def _refer(self, act: Act, row: Row, references: list[Json], context: Context) -> None:
        """People and things take part, if it is all of them; else each is pointed at, for their order counts."""
        if all(_is_entity(reference, context) for reference in references):
            for reference in references:
                act.add(party(row._replace(link="SBJ"), reference))
            return
        for reference in references:
            if (inner := _pointer(row, reference)) is not None:
                act.relate(row.link, inner, inverted=row.inverted)

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        type = row.element.type if row.element else ""
        acts = seen.related[row.name]
        if type != "Reference":
            return shaped(row, [formed(type, v) for act in acts if (v := one(act, "value")) is not None])
        return shaped(row, [*map(_pointed, acts), *(someone(role, "playingEntity") for role in seen.parties[row.name])])


def _is_entity(reference: Json, context: Context) -> bool:
    return (context.find(reference) or {}).get("resourceType") in ENTITIES


def related(name: str, value: Node) -> Node:
    """An observation that stands for one element and says its value."""
    done = node("statusCode", code="completed")
    return node("observation", naming(name), done, value, classCode="OBS", moodCode="EVN")


def _pointer(row: Row, reference: Json) -> Node | None:
    id, display = reference_ii("id", reference), reference.get("display")
    if id is None:
        return None
    words = ed("text", display) if isinstance(display, str) else None
    return node("act", id, naming(row.name), words, classCode="ACT", moodCode="EVN")


def _pointed(found: Node) -> Json | None:
    reference, words = reference_of(one(found, "id")), text_of(one(found, "text"))
    return {**reference, **({"display": words} if words else {})} if reference else None


class FromHeader:
    """The client or the encounter: left out where it is the one of the header, which CDA conducts to every entry."""

    def __init__(self, what: str) -> None:
        self.what = what
        self._place: Party | Related = Party() if what == "subject" else Related()

    def write(self, act: Act, row: Row, told: Told) -> None:
        known = getattr(told.context, self.what, None)
        if not (known and told.at(row) == {"reference": known}):
            self._place.write(act, row, told)

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        known = getattr(context, self.what, None)
        return self._place.read(seen, row, context) or ({"reference": known} if known else None)


class Source:
    """What a Provenance goes back to: an act outside the document, by its identifier."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        for item in items(told.at(row)):
            what = item.get("what") if isinstance(item, dict) else None
            identifier = what.get("identifier") if isinstance(what, dict) else None
            if not isinstance(what, dict) or not isinstance(identifier, dict):
                continue
            code, _ = codes("role").get(str(item.get("role")), ("REFR", ""))
            kind, words = identifier.get("type"), what.get("display")
            outside = node(
                "externalAct",
                ii("id", identifier),
                cd("code", kind) if isinstance(kind, dict) else None,
                ed("text", words) if isinstance(words, str) else None,
            )
            act.add(node("reference", outside, typeCode=code))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        found = []
        for place in seen.parts["reference"]:
            outside = one(place, "externalAct")
            kind, words = concept_of(one(outside, "code")), text_of(one(outside, "text"))
            identifier = {**({"type": kind} if kind else {}), **(identifier_of(one(outside, "id")) or {})}
            what = {**({"identifier": identifier} if identifier else {}), **({"display": words} if words else {})}
            role = codes_back("role").get(place.get("typeCode") or "")
            found.append({**({"role": role} if role else {}), **({"what": what} if what else {})})
        return found or None
