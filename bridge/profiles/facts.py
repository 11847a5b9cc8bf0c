"""Takes the texts off a StructureDefinition: what is left is a structure.

    {"url", "version", "name", "title", "type", "kind", "abstract", "derivation",
     "base": the baseDefinition, "context": [{"type", "expression"}], "contextInvariant": [expression],
     "imposes": [profiles that whatever conforms has to conform to as well],
     "elements": the ElementDefinitions of the snapshot, or "differential": those of the differential}

What a definition does not say is left out. Every property that is kept has the shape that the standard gives it;
what has another one is left out too, so that whoever goes on need not look. Nothing is raised.
Source of the properties: https://hl7.org/fhir/R4/elementdefinition.html and structuredefinition.html.
"""

from __future__ import annotations

from collections.abc import Set
from typing import Any

from bridge.shapes import Json

MOST_ELEMENTS = 30_000
"""Elements that are kept of one definition; the largest published one has a few thousand."""
MOST_ROWS = 1000
"""Types, constraints and the like that are kept of one element."""
CORE = "http://hl7.org/fhir/StructureDefinition/"
TYPE_EXTENSIONS = frozenset({f"{CORE}structuredefinition-fhir-type", f"{CORE}regex"})
ADDITIONAL = "http://hl7.org/fhir/tools/StructureDefinition/additional-binding"
BINDING_EXTENSIONS = frozenset(
    {f"{CORE}elementdefinition-maxValueSet", f"{CORE}elementdefinition-minValueSet", ADDITIONAL}
)
IMPOSE = f"{CORE}structuredefinition-imposeProfile"

_TEXTS = ("url", "version", "name", "title", "type", "kind", "derivation")
_STRINGS = frozenset({"id", "path", "sliceName", "max", "contentReference"})
_COUNTS = frozenset({"min", "maxLength"})
_YES = frozenset({"mustSupport", "isModifier", "sliceIsConstraining"})
_VALUES = ("fixed", "pattern", "minValue", "maxValue")
_TYPE_LISTS = ("profile", "targetProfile", "aggregation")
_CONSTRAINT = ("key", "severity", "human", "expression", "source")


def facts(definition: Json) -> Json:
    """The structure of a StructureDefinition; with its differential where it has no snapshot."""
    structure: Json = {key: definition[key] for key in _TEXTS if isinstance(definition.get(key), str)}
    if isinstance(base := definition.get("baseDefinition"), str):
        structure["base"] = base
    if isinstance(abstract := definition.get("abstract"), bool):
        structure["abstract"] = abstract
    if context := [_texts(row, ("type", "expression")) for row in _rows(definition.get("context"))]:
        structure["context"] = context
    if invariants := _strings(definition.get("contextInvariant")):
        structure["contextInvariant"] = invariants
    if imposed := _strings([row.get("valueCanonical") for row in _extensions(definition.get("extension"), {IMPOSE})]):
        structure["imposes"] = imposed
    if elements := _elements(definition.get("snapshot")):
        structure["elements"] = elements
    else:
        structure["differential"] = _elements(definition.get("differential"))
    return structure


def _elements(view: Any) -> list[Json]:
    rows = view.get("element") if isinstance(view, dict) else None
    return [_element(row) for row in _rows(rows, MOST_ELEMENTS)]


def _element(row: Json) -> Json:
    kept: Json = {}
    for key, value in row.items():
        if key in _STRINGS:
            if isinstance(value, str):
                kept[key] = value
        elif key in _COUNTS:
            if isinstance(value, int) and not isinstance(value, bool):
                kept[key] = value
        elif key in _YES:
            if value is True:
                kept[key] = value
        elif key in _INNER:
            if found := _INNER[key](value):
                kept[key] = found
        elif key.startswith(_VALUES):
            kept[key] = value
    return kept


def _types(rows: Any) -> list[Json]:
    found = []
    for row in _rows(rows):
        kept = _texts(row, ("code", "versioning"))
        if "code" not in kept:
            continue
        for key in _TYPE_LISTS:
            if key in row and (names := _strings(row[key])):
                kept[key] = names
        if extensions := _extensions(row.get("extension"), TYPE_EXTENSIONS):
            kept["extension"] = extensions
        found.append(kept)
    return found


def _binding(row: Any) -> Json:
    if not isinstance(row, dict):
        return {}
    kept = _texts(row, ("strength", "valueSet"))
    if extensions := _extensions(row.get("extension"), BINDING_EXTENSIONS):
        kept["extension"] = extensions
    return kept


def _constraints(rows: Any) -> list[Json]:
    return [kept for row in _rows(rows) if "key" in (kept := _texts(row, _CONSTRAINT))]


def _slicing(row: Any) -> Json:
    if not isinstance(row, dict):
        return {}
    kept = _texts(row, ("rules",))
    if by := [_texts(one, ("type", "path")) for one in _rows(row.get("discriminator"))]:
        kept["discriminator"] = by
    if isinstance(ordered := row.get("ordered"), bool):
        kept["ordered"] = ordered
    return kept


def _base(row: Any) -> Json:
    if not isinstance(row, dict):
        return {}
    kept = _texts(row, ("path", "max"))
    if isinstance(row.get("min"), int):
        kept["min"] = row["min"]
    return kept


def _extensions(rows: Any, meant: Set[str]) -> list[Json]:
    return [row for row in _rows(rows) if isinstance(url := row.get("url"), str) and url in meant]


def _texts(row: Json, keys: tuple[str, ...]) -> Json:
    return {key: row[key] for key in keys if key in row and isinstance(row[key], str)}


def _strings(values: Any) -> list[str]:
    return [value for value in values[:MOST_ROWS] if isinstance(value, str)] if isinstance(values, list) else []


def _rows(values: Any, most: int = MOST_ROWS) -> list[Json]:
    return [row for row in values[:most] if isinstance(row, dict)] if isinstance(values, list) else []


_INNER = {
    "type": _types,
    "binding": _binding,
    "constraint": _constraints,
    "slicing": _slicing,
    "base": _base,
    "representation": _strings,
}
