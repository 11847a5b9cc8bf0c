"""B: what a document must hold, and what it must not.

Source: https://hl7.org/fhir/R4/documents.html#content. A document holds its Composition, what is reached from there,
a style sheet, and Provenance of anything in it. What the Composition names of its own contents must be inside.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from bridge.check.bundle_scopes import Scope
from bridge.check.look import inside, numbered, parts, text
from bridge.check.node import Node
from bridge.check.references import Index, Target
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

_INSIDE = frozenset({"subject", "encounter", "author", "party", "custodian", "detail", "focus", "entry"})
"""Elements of the Composition that name what the document is made of; `relatesTo` names other documents."""
Leads = dict[int, list[Any]]
"""By the id (of Python) of an entry's resource: the resources that its references lead to. All resources of one
address may stand there as the list of them, which then leads to each."""
_STYLES = ("text/css", "text/xsl", "application/xslt+xml")


def not_in_document(node: Node, reference: str, target: Target, scope: Scope) -> Iterator[Issue]:
    """What is wrong with a reference that nothing in the document answers."""
    where, composition = Where(path=node.path), text(node.resource, "resourceType") == "Composition"
    if target.outside:
        if composition and node.element.name in _INSIDE:
            yield issue("B105", "The Composition leads out of the document; what it names must be inside.", where)
    elif not (composition and node.element.name == "targetReference" and target.type and _on_server(node, scope)):
        yield issue("B104", "This reference leads to nothing in the document.", where)


def _on_server(node: Node, scope: Scope) -> bool:
    return bool(scope.answers.base(node.resource))


def check_reached(scope: Scope, leads: Leads) -> Iterator[Issue]:
    """Entries that the Composition does not lead to."""
    resources = [e["resource"] for e in scope.answers.entries]
    if len(_reached(resources, leads, scope.answers)) == len(resources):
        return
    leads = {id(r): [*leads.get(id(r), ()), *_attached(r, scope.answers)] for r in resources}
    leads |= {id(group): group for group in scope.answers.by_url.values()}
    reached = _reached(resources, leads, scope.answers)
    tied = _spread(resources[:1], _both_ways(resources, scope.answers.by_url.values(), leads))
    for number, entry in numbered(scope.bundle, "entry"):
        resource = entry.get("resource")
        if isinstance(resource, dict) and id(resource) not in reached:
            kind, where = text(resource, "resourceType")[:60], Where(path=f"{scope.path}.entry[{number}]")
            if id(resource) in tied:
                yield issue("B106", f"Nothing in the document leads to this {kind}.", where)
            else:
                yield issue("B157", f"This {kind} has nothing to do with the rest of the document.", where)


def _reached(resources: list[Json], leads: Leads, index: Index) -> set[int]:
    return _spread([*resources[:1], *(r for r in resources[1:] if _may_stand_apart(r, index))], leads)


def _both_ways(resources: list[Json], groups: Iterable[list[Json]], leads: Leads) -> Leads:
    both = {key: list(targets) for key, targets in leads.items()}
    for one in (*resources, *groups):
        for target in leads[id(one)]:
            both.setdefault(id(target), []).append(one)
    return both


def _may_stand_apart(resource: Json, index: Index) -> bool:
    type = text(resource, "resourceType")
    if type == "Binary":
        return text(resource, "contentType").startswith(_STYLES)
    if type != "Provenance":
        return False
    literal = [text(t, "reference") for t in parts(resource, "target")]
    return not any(literal) or any(index.find(r, resource).resource is not None for r in literal if r)


def _attached(resource: Json, index: Index) -> Iterator[list[Json]]:
    """Entries that a resource names by the address of an attachment, those of one address together."""
    base = index.base(resource)
    for inner in inside(resource):
        url = text(inner, "url")
        for address in {url, base + url} if url else ():
            if address in index.by_url:
                yield index.by_url[address]


def _spread(start: Iterable[Json], leads: Leads) -> set[int]:
    """ids (of Python) of all that is reached from the start."""
    reached: set[int] = set()
    waiting: list[Any] = list(start)
    while waiting:
        resource = waiting.pop()
        if id(resource) not in reached:
            reached.add(id(resource))
            waiting += leads.get(id(resource), ())
    return reached
