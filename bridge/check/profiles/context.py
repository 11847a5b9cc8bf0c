"""Where a resource stands: what its references can lead to."""

from __future__ import annotations

from typing import Any, NamedTuple

from bridge.check.look import numbered, text
from bridge.check.references import RESTFUL, Index
from bridge.fhir import tables
from bridge.shapes import Json


class Context(NamedTuple):
    """The resource that is looked at, and what is around it."""

    resource: Json
    """The nearest resource, also one that is contained."""
    owner: Json
    """The resource around it that stands in no other but a Bundle; the same where nothing contains it."""
    path: str
    """Path of the owner."""
    answers: Index | None
    """Finds what references mean in the Bundle around; None outside of bundles."""
    paths: dict[int, str]
    """Path by the id (of Python) of each entry's resource."""
    contents: dict[str, tuple[int, Json]]
    """What the owner contains, by id, with its number; filled when it is first asked for."""


class Target(NamedTuple):
    """What a reference leads to."""

    resource: Json | None
    """None where it is not at hand."""
    type: str
    """Its type, as far as it can be told; else empty."""
    path: str
    context: Context


def outermost(resource: Any, path: str) -> Context:
    """The context of a resource that stands in nothing."""
    return Context(resource, resource, path, None, {}, {})


def entered(value: Json, path: str, context: Context, contained: bool) -> Context:
    """The context of a resource inside of another one: contained in it, or in an entry of it."""
    if contained:
        return context._replace(resource=value)
    return context._replace(resource=value, owner=value, path=path, contents={})


def in_bundle(bundle: Json, path: str, context: Context) -> Context:
    """The context of what stands in a Bundle."""
    paths = {id(e.get("resource")): f"{path}.entry[{n}].resource" for n, e in numbered(bundle, "entry")}
    return context._replace(answers=Index(bundle), paths=paths)


def target(reference: Any, context: Context) -> Target:
    """What a Reference leads to; its type also where only the address or `type` tells it."""
    literal, told = text(reference, "reference"), text(reference, "type")
    told = told.rpartition("/")[2]
    if literal.startswith("#"):
        return _contained(literal[1:], told, context)
    found = context.answers.find(literal, context.owner) if context.answers and literal else None
    if found is not None and found.resource is not None:
        path = context.paths.get(id(found.resource), "")
        inside = entered(found.resource, path, context, False)
        return Target(found.resource, found.type, path, inside)
    rest = RESTFUL.fullmatch(literal.partition("#")[0])
    type = rest[2] if rest and tables.is_resource(rest[2]) else told if tables.is_resource(told) else ""
    return Target(None, type, "", context)


def _contained(id: str, told: str, context: Context) -> Target:
    if not id:
        return Target(context.owner, text(context.owner, "resourceType"), context.path, context)
    if not context.contents:
        for number, resource in numbered(context.owner, "contained"):
            context.contents.setdefault(text(resource, "id"), (number, resource))
    if id in context.contents:
        number, resource = context.contents[id]
        path = f"{context.path}.contained[{number}]"
        return Target(resource, text(resource, "resourceType"), path, context._replace(resource=resource))
    return Target(None, told if tables.is_resource(told) else "", "", context)
