"""B: what a document must hold, and what it must not.

Source: https://hl7.org/fhir/R4/documents.html#content. A document holds its Composition, what is reached from there,
a style sheet, and Provenance of anything in it. What the Composition names of its own contents must be inside.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bridge.check.bundle_scopes import Scope
from bridge.check.look import inside, parts, text
from bridge.check.node import Node
from bridge.check.references import Index, Target
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

_INSIDE = frozenset({"subject", "encounter", "author", "party", "custodian", "detail", "focus", "entry"})
"""Elements of the Composition that name what the document is made of; `relatesTo` names other documents."""
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
    return bool(scope.index.base(node.resource))


def check_reached(scope: Scope) -> Iterator[Issue]:
    """Entries that the Composition does not lead to."""
    resources = [e["resource"] for e in scope.index.entries]
    leads = {id(r): list(_leads_to(r, scope.index)) for r in resources}
    kept = [r for r in resources[1:] if _may_stand_apart(r, leads[id(r)], scope.index)]
    reached = _spread([*resources[:1], *kept], leads)
    if len(reached) == len(leads):
        return
    back: dict[int, list[Json]] = {}
    for resource in resources:
        for target in leads[id(resource)]:
            back.setdefault(id(target), []).append(resource)
    both = {key: [*leads[key], *back.get(key, ())] for key in leads}
    tied = _spread(resources[:1], both)
    entries = scope.bundle.get("entry")
    for number, entry in enumerate(entries if isinstance(entries, list) else ()):
        resource = entry.get("resource") if isinstance(entry, dict) else None
        if isinstance(resource, dict) and id(resource) not in reached:
            kind, where = text(resource, "resourceType")[:60], Where(path=f"{scope.path}.entry[{number}]")
            if id(resource) in tied:
                yield issue("B106", f"Nothing in the document leads to this {kind}.", where)
            else:
                yield issue("B157", f"This {kind} has nothing to do with the rest of the document.", where)


def _may_stand_apart(resource: Json, leads: list[Json], index: Index) -> bool:
    type = text(resource, "resourceType")
    if type == "Binary":
        return text(resource, "contentType").startswith(_STYLES)
    if type != "Provenance":
        return False
    literal = [text(t, "reference") for t in parts(resource, "target")]
    return not any(literal) or any(index.find(r, resource).resource is not None for r in literal if r)


def _leads_to(resource: Json, index: Index) -> Iterator[Json]:
    """Entries that a resource names, by a reference or by the address of an attachment."""
    base = index.base(resource)
    for inner in inside(resource):
        reference, url = text(inner, "reference"), text(inner, "url")
        if reference and reference[0] != "#" and (found := index.find(reference, resource).resource) is not None:
            yield found
        for address in {url, base + url} if url else ():
            yield from index.by_url.get(address, ())


def _spread(start: Iterable[Json], leads: dict[int, list[Json]]) -> set[int]:
    """ids (of Python) of all that is reached from the start."""
    reached: set[int] = set()
    waiting = list(start)
    while waiting:
        resource = waiting.pop()
        if id(resource) not in reached:
            reached.add(id(resource))
            waiting += leads.get(id(resource), ())
    return reached
