"""Our own code system as a FHIR CodeSystem, so that a receiver can look our codes up."""

from __future__ import annotations

from bridge.coding.term_map import load_term_maps
from bridge.data import load_csv, table_path
from bridge.fhir.systems import OWN, system
from bridge.shapes import Json


def own_code_system() -> Json:
    """The complete CodeSystem: concepts of the shipped term maps, kinds of observation, fixed answers.

    Sorted by code. Its version is the newest edition among the term maps.
    """
    maps = load_term_maps()
    concepts: dict[str, Json] = {}
    for concept in maps.concepts.values():
        note = f" {concept.note[0].upper()}{concept.note[1:]}." if concept.note else ""
        definition = f"Ear care, {maps.kinds[concept.kind].label}: {concept.label}.{note}"
        concepts[concept.code] = {"code": concept.code, "display": concept.label, "definition": definition}
    for table, column in (("observations.csv", "kind"), ("own-codes.csv", "code")):
        for row in load_csv(table_path(table)):
            concepts[row[column]] = {"code": row[column], "display": row["label"]}
    return {
        "resourceType": "CodeSystem",
        "url": OWN,
        "identifier": [{"system": system("uri"), "value": OWN}],
        "version": max(concept.edition for concept in maps.concepts.values()),
        "name": "VisitBridgeEarCare",
        "title": "Ear-care records: findings, work, kinds of observation",
        "status": "active",
        "experimental": False,
        "publisher": "visit-bridge",
        "description": "Meanings found in the records of ear-care practices, beside the codes that travel with them.",
        "copyright": "Apache License 2.0",
        "caseSensitive": True,
        "content": "complete",
        "count": len(concepts),
        "concept": [concepts[code] for code in sorted(concepts)],
    }
