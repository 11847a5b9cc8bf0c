"""The body: the Composition's sections with their narratives and entries, and a last one that holds all the rest."""

from __future__ import annotations

from bridge.cda.context import Context, objects
from bridge.cda.narrative import block_of, div_of
from bridge.cda.nulls import flavor_of
from bridge.cda.oids import template
from bridge.cda.rest import PATHS
from bridge.cda.statements import elsewhere, reference_in, statement_of, template_of
from bridge.cda.values import cd, concept_of
from bridge.cda.xml import Node, add, children, every, name_of, node, one, words
from bridge.shapes import Json
from bridge.wording import say

SECTION = template("section")
CONTENTS = template("section of the other contents")
EMPTY = template("reason why a section is empty")
IN_HEADER = ("Composition", "Patient", "Practitioner", "PractitionerRole", "Organization", "RelatedPerson")
"""Types that the header tells; of the devices it tells those that are authors."""
MAX_SECTIONS = 12
"""Levels of sections in each other."""


def section(source: Json, context: Context, written: set[int], told: set[int], depth: int = 0) -> Node:
    """One section. `written` gets the resources (by identity) whose statements stand in it; those `told` by the header
    are only pointed at."""
    title, text, empty = source.get("title"), source.get("text"), source.get("emptyReason")
    div = text.get("div") if isinstance(text, dict) else None
    made = node(
        "section",
        node("templateId", root=SECTION),
        cd("code", source["code"]) if isinstance(source.get("code"), dict) else None,
        node("title", text=title) if isinstance(title, str) else None,
        block_of(div) if isinstance(div, str) else None,
        nullFlavor=flavor_of(empty) if isinstance(empty, dict) else None,
    )
    for reference in objects(source.get("entry")):
        add(made, node("entry", _statement(reference, context, written, told), typeCode="DRIV"))
    if isinstance(empty, dict):
        add(made, node("entry", _reason(empty), typeCode="DRIV"))
    if depth < MAX_SECTIONS:
        inner = (section(one, context, written, told, depth + 1) for one in objects(source.get("section")))
        add(made, *(node("component", one) for one in inner))
    return made


def _statement(reference: Json, context: Context, written: set[int], told: set[int]) -> Node:
    resource = context.find(reference)
    if resource is None or id(resource) in written or id(resource) in told:
        return elsewhere(reference, resource)
    written.add(id(resource))
    return statement_of(resource, context)


def _reason(empty: Json) -> Node:
    value = cd("value", empty, "CD")
    return node(
        "observation",
        node("templateId", root=EMPTY),
        node("code", code="emptyReason", codeSystem=PATHS),
        node("statusCode", code="completed"),
        value,
        classCode="OBS",
        moodCode="EVN",
    )


def contents(statements: list[Node]) -> Node:
    """The last section: every resource of the bundle in its order, whole or pointed at."""
    return node(
        "section",
        node("templateId", root=CONTENTS),
        node("title", text=say("cda.contents")),
        node("text", node("paragraph", text=say("cda.contents-text"))),
        *(node("entry", one) for one in statements),
    )


def read_section(found: Node, depth: int = 0) -> Json:
    """The Composition's section of a section element, with references to what its statements tell."""
    code, block = concept_of(one(found, "code")), div_of(one(found, "text"))
    title, references, empty = words(one(found, "title")), list[Json](), None
    for statement in statements(found):
        if template_of(statement) == EMPTY:
            empty = concept_of(one(statement, "value"))
        elif reference := reference_in(statement):
            references.append(reference)
    inner = [read_section(place, depth + 1) for place in subsections(found)] if depth < MAX_SECTIONS else []
    return {
        **({"title": title} if title else {}),
        **({"code": code} if code else {}),
        **({"text": {"status": "generated", "div": block}} if block else {}),
        **({"entry": references} if references else {}),
        **({"emptyReason": empty} if empty else {}),
        **({"section": inner} if inner else {}),
    }


def statements(found: Node) -> list[Node]:
    """The clinical statements of a section's entries."""
    clinical = (child for entry in every(found, "entry") for child in children(entry))
    return [child for child in clinical if name_of(child) not in ("realmCode", "typeId", "templateId")]


def subsections(found: Node) -> list[Node]:
    """The sections right in a section."""
    return [place for part in every(found, "component") if (place := one(part, "section")) is not None]
