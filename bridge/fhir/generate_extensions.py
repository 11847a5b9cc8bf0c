"""Part of `bridge.fhir.generate`: what the extensions hold that the standard itself defines.

By the end of their address: either the types of the value, or the named parts, each with how often it is there and
the types of its value (none: it has parts of its own, which are not told here).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Definition = dict[str, Any]


def extensions(definitions: list[Definition], base: str) -> Definition:
    """Rows of the table, from StructureDefinitions with a snapshot; `base` is where all their addresses begin."""
    found = {}
    for structure in definitions:
        if structure["resourceType"] == "StructureDefinition" and structure.get("type") == "Extension":
            elements = {e["id"]: e for e in structure["snapshot"]["element"]}
            whole = elements["Extension.value[x]"]["max"] != "0"
            row = _types(elements["Extension.value[x]"]) if whole else dict(_parts(elements))
            found[structure["url"].removeprefix(base)] = row
    return dict(sorted(found.items()))


def _types(value: Definition) -> list[str]:
    return sorted({row["code"] for row in value["type"]})


def _parts(elements: Definition) -> Iterator[tuple[str, Definition]]:
    for id, element in elements.items():
        if element["path"] == "Extension.extension" and "sliceName" in element:
            value = elements.get(f"{id}.value[x]", {"max": "0"})
            yield (
                elements[f"{id}.url"]["fixedUri"],
                {
                    **({"min": element["min"]} if element["min"] else {}),
                    **({"max": element["max"]} if element["max"] != "1" else {}),
                    **({"types": _types(value)} if value["max"] != "0" else {}),
                },
            )
