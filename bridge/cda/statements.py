"""Clinical statements around resources: the whole of one, one that stands elsewhere, and what CDA cannot hold of it."""

from __future__ import annotations

from bridge.cda.context import Context
from bridge.cda.oids import template
from bridge.cda.rest import is_rest, rest_of, with_rest
from bridge.cda.values import reference_ii, reference_of, resource_id, resource_ii
from bridge.cda.xml import Node, add, children, every, name_of, node, one
from bridge.shapes import Json

ELSEWHERE = template("resource that stands elsewhere")
IN_HEADER = template("resource that stands in the header")
TYPES = template("types of resources")
_AFTER_RELATIONS = ("reference", "precondition", "referenceRange")


def statement_of(resource: Json, context: Context) -> Node:
    """The clinical statement of a resource, with what its class of CDA cannot hold beside it."""
    from bridge.cda.entries import entry_of, resource_of

    made = entry_of(resource, context)
    if made is None:
        return about(resource, {})
    beside(made, rest_of(resource, resource_of(made, context) or {}))
    return made


def about(resource: Json, read: Json) -> Node:
    """A statement of a resource that has its place in the header, or none in CDA: what `read` has not of it."""
    made = node(
        "act",
        node("templateId", root=IN_HEADER),
        resource_ii("id", resource),
        node("code", code=str(resource.get("resourceType")), codeSystem=TYPES),
        node("statusCode", code="completed"),
        classCode="ACT",
        moodCode="EVN",
    )
    return beside(made, rest_of(resource, read))


def elsewhere(reference: Json, resource: Json | None) -> Node:
    """A statement that only points at a resource."""
    type = resource.get("resourceType") if resource else None
    code = node("code", code=str(type), codeSystem=TYPES) if type else node("code", nullFlavor="NI")
    id = resource_ii("id", resource) if resource else reference_ii("id", reference)
    return node("act", node("templateId", root=ELSEWHERE), id, code, classCode="ACT", moodCode="EVN")


def beside(made: Node, observations: list[Node]) -> Node:
    """The statement with observations of what it cannot hold itself."""
    if name_of(made) == "organizer":
        return add(made, *(node("component", one) for one in observations))
    after = next((i for i, child in enumerate(made) if name_of(child) in _AFTER_RELATIONS), len(made))
    for observation in reversed(observations):
        made.insert(after, node("entryRelationship", observation, typeCode="COMP"))
    return made


def template_of(found: Node) -> str:
    """The root of a statement's first template."""
    place = one(found, "templateId")
    return "" if place is None else place.get("root") or ""


def reference_in(found: Node) -> Json | None:
    """The Reference to the resource that a statement of ours tells of or points at."""
    return reference_of(one(found, "id"))


def read_statement(found: Node, header: dict[str, Json], context: Context) -> Json | None:
    """The resource of a statement; None for one that cannot be read. `header`: what the header tells, by id."""
    from bridge.cda.entries import resource_of

    if template_of(found) == IN_HEADER:
        id, code = resource_id(one(found, "id")), one(found, "code")
        type = None if code is None else code.get("code")
        if not id or not type or not type.isalpha():
            return None
        known = header.get(id)
        resource = known if known and known["resourceType"] == type else {"resourceType": type, "id": id}
    else:
        read = resource_of(found, context)
        if read is None:
            return None
        resource = read
    return with_rest(resource, besides(found))


def besides(found: Node) -> list[Node]:
    """The observations beside a statement."""
    places = [*every(found, "entryRelationship"), *every(found, "component")]
    return [child for place in places for child in children(place) if is_rest(child)]
