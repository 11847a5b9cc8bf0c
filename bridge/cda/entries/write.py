"""A resource as an act of CDA."""

from __future__ import annotations

import re
from html import unescape

from bridge.cda.context import Context
from bridge.cda.entries.act import ENTRY, Act, naming
from bridge.cda.entries.claims import Claim, claim_of, is_mistaken, is_over
from bridge.cda.entries.paths import items, look
from bridge.cda.entries.place import MAX_DEPTH, Told
from bridge.cda.entries.places import place_of
from bridge.cda.entries.tables import UNKNOWN, Row, kind_of, rows_of, statuses
from bridge.cda.entries.things import consumable
from bridge.cda.values import cd, ed, ii, resource_ii
from bridge.cda.xml import Node, node
from bridge.fhir.systems import system
from bridge.shapes import Json

_BREAKS = re.compile(r"<br\s*/>|</p>\s*<p>|</li>\s*<li>")
_TAGS = re.compile(r"<[^>]*>")


def entry_of(resource: Json, context: Context) -> Node:
    """The act for a resource, with what the tables have a place for; what has none is `bridge.cda.rest`'s.

    Raises ValueError for text that XML cannot hold.
    """
    type = str(resource.get("resourceType"))
    words = _words(resource)
    act = _act(type, Told(resource, claim_of(type, resource), words, context), 0)
    act.add(resource_ii("id", resource))
    for identifier in items(resource.get("identifier")):
        if isinstance(identifier, dict) and (made := ii("id", identifier)) is not None:
            act.add(made)
    if words:
        act.add(ed("text", words))
    return act.finish()


def _words(resource: Json) -> str:
    """The narrative as plain words, so that any reader of the act can show what it says."""
    text = resource.get("text")
    div = text.get("div") if isinstance(text, dict) else None
    return unescape(_TAGS.sub("", _BREAKS.sub("\n", div))) if isinstance(div, str) else ""


def _act(type: str, told: Told, depth: int) -> Act:
    kind = kind_of(type)
    act = Act(kind, type, kind.mood)
    act.add(node("templateId", root=ENTRY, extension=type))
    _stand(act, told)
    for row in rows_of(type):
        if row.place == "nested":
            _nest(act, row, told, depth)
        else:
            place_of(row).write(act, row, told)
    _complete(act, told.claim)
    return act


def _nest(act: Act, row: Row, told: Told, depth: int) -> None:
    type = row.element.type if row.element else ""
    for item in items(told.at(row)):
        if isinstance(item, dict) and depth < MAX_DEPTH:
            inner = told._replace(resource=item, claim=claim_of(type, item, told.resource))
            act.relate(row.link, _act(type, inner, depth + 1).finish(), inverted=row.inverted)


def _stand(act: Act, told: Told) -> None:
    """Mood, status, and whether it is denied."""
    code = act.kind.status
    act.negated = told.claim == "denied"
    for path, rows in statuses(act.type).items():
        said = look(told.resource, path)
        row = next((row for row in rows if row.value == said), None)
        if row:
            code, act.mood = row.code or code, row.mood or act.mood
            act.negated = act.negated or row.negated
    if act.type == "Observation.component" and told.claim == "open":
        act.mood = "DEF"
    if is_mistaken(told.resource):
        code = "nullified"
    if code == UNKNOWN or (not code and act.kind.element == "organizer"):
        act.add(node("statusCode", nullFlavor="UNK"))
    elif code:
        act.add(node("statusCode", code=code))
    act.over = act.type in ("Condition", "AllergyIntolerance") and is_over(told.resource)


def _complete(act: Act, claim: Claim) -> None:
    """What CDA wants of an act that says nothing there: a code, a time of its own, a thing that was given."""
    element = act.kind.element
    if "code" not in act.parts:
        if act.kind.code and claim != "open":
            stated = {"system": system("v3-ActCode"), "code": act.kind.code, "display": "Assertion"}
            act.add(cd("code", {"coding": [stated]}))
        elif act.kind.code or element in ("act", "observation"):
            act.add(naming(act.type))
    if act.type == "Procedure" and "effectiveTime" not in act.parts:
        act.add(node("effectiveTime", nullFlavor="NA" if act.negated else "UNK"))
    if element == "substanceAdministration" and "consumable" not in act.parts:
        act.add(consumable(node("code", nullFlavor="NI")))
