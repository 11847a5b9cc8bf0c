"""A ClinicalDocument read: one of ours into the bundle it was made from, another's as far as header and texts go."""

from __future__ import annotations

import re

from bridge.cda.context import Context, objects
from bridge.cda.digest import digest_in, digest_of
from bridge.cda.found import Found, reached_from
from bridge.cda.header import DOCUMENT
from bridge.cda.read_header import encounter_of, read_header
from bridge.cda.rest import with_rest
from bridge.cda.retold import retold
from bridge.cda.sections import CONTENTS, MAX_SECTIONS, read_section, statements, subsections
from bridge.cda.statements import ELSEWHERE, besides, read_statement, template_of
from bridge.cda.values import resource_id
from bridge.cda.write import full_url
from bridge.cda.xml import Node, every, name_of, one
from bridge.fhir.read_json import MAX_BYTES
from bridge.fhir.tell.words import told_in
from bridge.fhir.xml_text import declared, xml_bytes
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json
from bridge.wording import ENGLISH

MAX_STATEMENTS = 20_000
"""Clinical statements of one document; ours have about a hundred."""
_DOCTYPE = re.compile(rb"<!(?:DOCTYPE|ENTITY)")


def read_cda(content: bytes) -> tuple[Json | None, list[Issue]]:
    """The document bundle behind a ClinicalDocument, and what is to be said of it; None where it cannot be read.

    A document of ours comes back with all that `mappings/cda/kept.csv` does not name. Of another system's, people,
    header and readable texts come back (X121, an error, for its coded entries do not).
    """
    root, issues = _parsed(content)
    if root is None:
        return None, issues
    if name_of(root) != "ClinicalDocument":
        message = "This is no ClinicalDocument in the name space of HL7 V3."
        return None, [issue("X120", message, Where(path="ClinicalDocument"))]
    if any(place.get("root") == DOCUMENT for place in every(root, "templateId")):
        return _ours(root)
    return _foreign(root)


def _parsed(content: bytes) -> tuple[Node | None, list[Issue]]:
    from lxml import etree

    text, issues = xml_bytes(content, "", MAX_BYTES)
    if text is None:
        return None, issues
    if refused := declared(text, ""):
        return None, [refused]
    if _DOCTYPE.search(text):
        return None, [issue("S141", "The file has a document type declaration (DOCTYPE).", Where())]
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, remove_comments=True, remove_pis=True
    )
    try:
        return etree.fromstring(text, parser), []
    except etree.XMLSyntaxError as error:
        row, column = error.position
        return None, [issue("S140", "This is not well-formed XML.", Where(row=row, column=column))]


def _body(root: Node) -> list[Node]:
    """The sections right in the body."""
    places = every(root, "component", "structuredBody", "component")
    return [found for place in places if (found := one(place, "section")) is not None]


def _ours(root: Node) -> tuple[Json | None, list[Issue]]:
    found = Found("")
    bundle, composition = read_header(root, found)
    context = Context()
    context.conduct(composition)
    parts = _body(root)
    last = [part for part in parts if template_of(part) == CONTENTS]
    sections = [part for part in parts if template_of(part) != CONTENTS]
    composition["section"] = [read_section(part) for part in sections]
    order = [s for part in last for s in statements(part)]
    whole = [s for part in sections for s in _all_statements(part)]
    if len(order) + len(whole) > MAX_STATEMENTS:
        return None, [issue("S117", f"The document has more than {MAX_STATEMENTS:,} entries.", Where())]
    if len(last) != 1 or len(order) < 2:
        return None, [_changed("its last section, which holds the order of the contents, is missing or doubled")]
    known = {
        id: read
        for statement in whole
        if (id := resource_id(one(statement, "id"))) and (read := read_statement(statement, found.resources, context))
    }
    resources = list[Json]()
    for place, statement in enumerate(order[1:], start=1):
        id = resource_id(one(statement, "id")) or ""
        if place == 1:
            read = read_statement(statement, {id: {**composition, "id": id}}, context)
        elif template_of(statement) == ELSEWHERE:
            read = known.get(id)
        else:
            read = read_statement(statement, found.resources, context)
        if read is None:
            return None, [_changed(f"entry {place + 1} of its last section cannot be read")]
        resources.append(read)
    if resources[0]["resourceType"] != "Composition":
        return None, [_changed("its last section does not begin with the Composition")]
    whole_bundle = _assembled(bundle, order[0], resources)
    if digest_of(whole_bundle) != digest_in(order[0]):
        return None, [_changed("what it says is not, or not all, what it said when it was written")]
    return whole_bundle, []


def _all_statements(section: Node, depth: int = 0) -> list[Node]:
    inner = subsections(section) if depth < MAX_SECTIONS else []
    found = [*statements(section), *(s for part in inner for s in _all_statements(part, depth + 1))]
    return [s for s in found if template_of(s) != ELSEWHERE]


def _assembled(bundle: Json, statement: Node, resources: list[Json]) -> Json:
    """The bundle with its entries, as its own statement says that it was."""
    id = resource_id(one(statement, "id")) or ""
    entries = [{"fullUrl": full_url(resource)} for resource in resources]
    read = with_rest({**bundle, "id": id, "entry": entries}, besides(statement))
    places = objects(read.get("entry"))
    with told_in(str(resources[0].get("language") or ENGLISH)):
        told = [retold(resource) for resource in resources]
    whole = [{**place, "resource": resource} for place, resource in zip(places, told, strict=False)]
    return {**read, "entry": whole}


def _changed(why: str) -> Issue:
    return issue("X122", f"This document of ours was changed on its way: {why}.", Where(path="ClinicalDocument"))


def _foreign(root: Node) -> tuple[Json | None, list[Issue]]:
    number = one(root, "id")
    found = Found("" if number is None else f"{number.get('root')}|{number.get('extension')}")
    bundle, composition = read_header(root, found)
    visit, written = encounter_of(root, composition.get("subject"), found), composition.get("date") or ""
    parts = _body(root)
    sections = [told for part in parts if (told := _readable(read_section(part)))]
    made = {
        **composition,
        "status": "final",
        **({"encounter": visit} if visit else {}),
        **({"section": sections} if sections else {}),
    }
    main = found.keep("Composition", [], {k: v for k, v in made.items() if k != "resourceType"})
    with told_in(str(composition.get("language") or ENGLISH)):
        resources = [retold(resource) for resource in reached_from(main, found)]
    entries = [{"fullUrl": full_url(resource), "resource": resource} for resource in resources]
    moment = {"timestamp": written} if "T" in written else {}
    return {**bundle, **moment, "entry": entries}, _not_read(root, parts)


def _readable(section: Json) -> Json | None:
    """A section without its coded entries; None where nothing is left to read."""
    inner = [told for one in section.get("section", ()) if (told := _readable(one))]
    kept = {key: value for key, value in section.items() if key not in ("entry", "section", "emptyReason")}
    return {**kept, **({"section": inner} if inner else {})} if inner or kept.get("text") else None


def _not_read(root: Node, parts: list[Node]) -> list[Issue]:
    where = Where(path="ClinicalDocument.component")
    if one(root, "component", "nonXMLBody") is not None:
        return [issue("X123", "The body of this document is a file of another kind, which was not read.", where)]
    entries = sum(len(_all_statements(part)) for part in parts)
    message = f"The coded entries ({entries}) of this document of another system were not read."
    return [issue("X121", message, where)]
