"""Extensions held against their definitions: what they hold, and where they may stand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import orjson

from bridge.check.extension_contexts import check_extension_contexts
from bridge.check.look import numbered, text
from bridge.check.profiles.context import Context
from bridge.check.profiles.part import Item, Part
from bridge.check.profiles.plans import CORE, Plans, name_of
from bridge.check.profiles.steps import urls_of
from bridge.check.structure import Walk
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

if TYPE_CHECKING:
    from bridge.check.profiles.asked import Asked
    from bridge.check.profiles.run import Run

_MARKS = (b'"extension"', b'"modifierExtension"')
_OWN = ("P12", "P13")
"""Of the standard's own extensions only bindings and constraints are new; the rest is told as V440 and V441."""


def check_extensions(item: Item, context: Context, asked: Asked, run: Run) -> Iterator[Issue]:
    """Issues of the extensions of one resource; what stands in its entries and what it contains is another matter."""
    resource, type, path, _ = item
    if context.resource is not context.owner:
        return
    if type == "Bundle":
        resource = _bare(resource, "entry")
    elif type == "Parameters":
        resource = _bare(resource, "parameter")
    if not _has_any(resource):
        return
    nodes = [n._replace(path=path + n.path[len(type) :]) for n in Walk(resource).nodes]
    for node in nodes:
        url = text(node.value, "url") if node.type == "Extension" else ""
        about = asked.plans.about(url) if ":" in url else None
        if about is not None and about.get("type") == "Extension":
            found = run.hold(url, (node.value, "Extension", node.path, None), context)
            yield from (one for one in found if not url.startswith(CORE) or one.rule.startswith(_OWN))
            yield from _undefined(asked.plans, asked.plans.root(url), node.value, node.path, name_of(about))
    yield from check_extension_contexts(nodes, asked.library.structure, run.left)


def _undefined(plans: Plans, defined: Part | None, extension: Json, path: str, name: str) -> Iterator[Issue]:
    """Parts of a complex extension, told by a relative url, that its definition does not have."""
    inner = defined.part("extension") if defined is not None else None
    if inner is None or not inner.slices:
        return
    known = {url: one for one in inner.slices for url in urls_of(one, plans.roots)}
    for number, part in numbered(extension, "extension"):
        url, at = text(part, "url"), f"{path}.extension[{number}]"
        if url in known:
            yield from _undefined(plans, known[url], part, at, name)
        elif url and ":" not in url:
            told = f"{name} defines no part of this name."
            yield issue("P116", told, Where(path=at), cause=f"P116:{name}")


def _bare(resource: Json, rows: str) -> Json:
    """The resource without those that stand in its rows, which are looked at by themselves."""
    inner = resource.get(rows)
    if not isinstance(inner, list):
        return resource
    bare = [{k: v for k, v in row.items() if k != "resource"} if isinstance(row, dict) else row for row in inner]
    return {**resource, rows: bare}


def _has_any(resource: Json) -> bool:
    narrative = resource.get("text")
    if isinstance(narrative, dict):  # the longest part of most resources, and what is in its div is no extension
        resource = {**resource, "text": {key: inner for key, inner in narrative.items() if key != "div"}}
    try:
        written = orjson.dumps(resource, default=str, option=orjson.OPT_NON_STR_KEYS)
    except TypeError:  # what orjson cannot write (huge numbers, lone surrogates) is looked at
        return True
    return _MARKS[0] in written or _MARKS[1] in written
