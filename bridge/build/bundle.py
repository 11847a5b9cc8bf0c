"""Assembles the resources of one visit as a document, a collection or a transaction."""

from __future__ import annotations

import re
from urllib.parse import quote

from bridge.build.context import Built, Context, Json
from bridge.fhir.times import to_instant

CREATE_ONCE = ("Patient", "Practitioner", "PractitionerRole", "Organization", "Device")
"""Made by whoever sends first; later senders take what is there (conditional create). A client's own device
is a fact of the visit and goes out like one."""


def document(context: Context, composition: Built, kind: str) -> Json:
    """A document Bundle: Composition first, then everything in the order it was built."""
    visit = context.visit
    rest = [b for b in context.built if b is not composition]
    identifier = context.ids.issue_identifier(visit, kind, visit.version, draft=visit.approved is None)
    return {
        "resourceType": "Bundle",
        "id": context.ids.of("Bundle", identifier["value"]),
        "identifier": identifier,
        "type": "document",
        "timestamp": to_instant(_issued(context), context.zone),
        "entry": [_entry(b) for b in (composition, *rest)],
    }


def collection(context: Context) -> Json:
    """A collection Bundle: everything in the order it was built."""
    visit = context.visit
    identifier = context.ids.issue_identifier(visit, "collection", visit.version, draft=visit.approved is None)
    return {
        "resourceType": "Bundle",
        "id": context.ids.of("Bundle", identifier["value"]),
        "identifier": identifier,
        "type": "collection",
        "timestamp": to_instant(_issued(context), context.zone),
        "entry": [_entry(b) for b in context.built],
    }


def transaction(context: Context) -> Json:
    """A transaction Bundle that can be sent twice without making anything twice.

    What is found by its identifier comes without an id: the server may have given it one of its own, and refuses
    another (https://hl7.org/fhir/R4/http.html#cond-update).
    """
    return {
        "resourceType": "Bundle",
        "id": context.ids.of("Bundle", "transaction", context.visit.number, context.visit.version),
        "type": "transaction",
        "timestamp": to_instant(_issued(context), context.zone),
        "entry": [_requested(_entry(b), _request(b.resource)) for b in context.built],
    }


def _issued(context: Context) -> str:
    visit = context.visit
    return (visit.approved.at if visit.approved else None) or visit.recorded_at or visit.start


def _entry(built: Built) -> Json:
    return {"fullUrl": f"urn:uuid:{built.id}", "resource": built.resource}


def _requested(entry: Json, request: Json) -> Json:
    if request["url"] != f"{entry['resource']['resourceType']}/{entry['resource']['id']}":
        entry["resource"] = {k: v for k, v in entry["resource"].items() if k != "id"}
    return {**entry, "request": request}


def _request(resource: Json) -> Json:
    type = resource["resourceType"]
    identifiers = resource.get("identifier")
    identifier = identifiers if isinstance(identifiers, dict) else _told_apart(identifiers or [])
    if identifier is None:
        return {"method": "PUT", "url": f"{type}/{resource['id']}"}
    query = f"identifier={_searched(identifier['system'])}|{_searched(identifier['value'])}"
    if type in CREATE_ONCE and "patient" not in resource:
        return {"method": "POST", "url": type, "ifNoneExist": query}
    return {"method": "PUT", "url": f"{type}?{query}"}


def _searched(text: str) -> str:
    """A value of a token search: R4 search wants a backslash before its own signs, then comes percent encoding."""
    return quote(re.sub(r"([\\,|$])", r"\\\1", text), safe=":/")


def _told_apart(identifiers: list[Json]) -> Json | None:
    """The identifier to match on: the practice's own, because it is surely one person's or one fact's."""
    own = [i for i in identifiers if i.get("system", "").startswith("urn:oid:2.25.")]
    return own[0] if own else next((i for i in identifiers if i.get("system")), None)
