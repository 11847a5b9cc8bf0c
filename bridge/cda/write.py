"""A document bundle as a ClinicalDocument."""

from __future__ import annotations

from bridge.cda.context import Context, objects
from bridge.cda.digest import digest_of, numbered
from bridge.cda.found import Found
from bridge.cda.header import header
from bridge.cda.layout import laid_out
from bridge.cda.oids import is_uuid
from bridge.cda.read_header import read_header
from bridge.cda.sections import IN_HEADER, contents, read_section, section
from bridge.cda.statements import about, elsewhere, statement_of
from bridge.cda.xml import Node, add, node
from bridge.shapes import Json


def document(bundle: Json) -> Node:
    """The ClinicalDocument of a document bundle. Raises ValueError for texts that XML cannot hold."""
    context = Context(bundle)
    resources = [r for e in objects(bundle.get("entry")) if isinstance(r := e.get("resource"), dict)]
    composition = resources[0]
    root = header(node("ClinicalDocument"), composition, context)
    found = Found("")
    read_bundle, read_composition = read_header(root, found)
    context.conduct(read_composition)
    told = {id(r) for r in resources if r["resourceType"] in IN_HEADER or str(r.get("id")) in found.resources}
    written = set[int]()
    sections = [section(one, context, written, told) for one in objects(composition.get("section"))]
    read_composition["section"] = [read_section(one) for one in sections]
    retold = _told_anew(composition, read_composition)
    whole = about(_skeleton(bundle), {**read_bundle, "id": bundle.get("id"), "entry": _places(resources)})
    numbered(whole, digest_of(_with_composition(bundle, retold)))
    statements = [whole, about(retold, {**read_composition, "id": composition.get("id")})]
    for resource in resources[1:]:
        if id(resource) in told:
            read = found.resources.get(str(resource.get("id")), {})
            same = read.get("resourceType") == resource["resourceType"]
            known = read if same else {"resourceType": resource["resourceType"], "id": resource.get("id")}
            statements.append(about(resource, known))
        elif id(resource) in written:
            statements.append(elsewhere({}, resource))
        else:
            statements.append(statement_of(resource, context))
    body = node("structuredBody", *(node("component", one) for one in [*sections, contents(statements)]))
    return laid_out(add(root, node("component", body)))


def _skeleton(bundle: Json) -> Json:
    """The bundle without its resources."""
    entries = [{key: value for key, value in e.items() if key != "resource"} for e in objects(bundle.get("entry"))]
    return {**bundle, "entry": entries}


def _with_composition(bundle: Json, composition: Json) -> Json:
    first, *others = objects(bundle.get("entry"))
    return {**bundle, "entry": [{**first, "resource": composition}, *others]}


def _places(resources: list[Json]) -> list[Json]:
    """The entries of a bundle, without the resources, as the reader makes them."""
    return [{"fullUrl": full_url(resource)} for resource in resources]


def full_url(resource: Json) -> str:
    """The address that a resource gets in a bundle that is read."""
    id = str(resource.get("id"))
    return f"urn:uuid:{id}" if is_uuid(id) else f"{resource.get('resourceType')}/{id}"


def _told_anew(composition: Json, read: Json) -> Json:
    """The Composition with the narratives of its sections as they come back, which are not told twice."""
    sections = [_narrated(one, other) for one, other in _pairs(composition, read)]
    return {**composition, **({"section": sections} if sections else {})}


def _narrated(source: Json, read: Json) -> Json:
    text, back = source.get("text"), read.get("text")
    made = dict(source)
    if isinstance(text, dict) and isinstance(back, dict):
        made["text"] = {**text, "div": back["div"]}
    if source.get("section"):
        made["section"] = [_narrated(one, other) for one, other in _pairs(source, read)]
    return made


def _pairs(source: Json, read: Json) -> list[tuple[Json, Json]]:
    ours, others = objects(source.get("section")), read.get("section") or []
    return [(one, others[i] if i < len(others) else {}) for i, one in enumerate(ours)]
