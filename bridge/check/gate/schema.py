"""A JSON Schema per resource type, made from the tables of the standard, for the gate.

It is stricter than the standard: what it accepts is right in shape, simple values, required codes and in
every constraint on data types; what it refuses may still be right, and is then looked at with care. So it
leaves out whatever is rare and hard to say here: ids of elements; extensions of simple values in lists and in
extensions; references, whole periods and whole numbers inside of data types; and data types with a constraint
that no line of `_SHAPES` states.

Language: JSON Schema 2020-12, https://json-schema.org/draft/2020-12. Whole numbers are told by draft 4, where
1.0 is none.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from bridge.check.code_syntax import usual_codes
from bridge.check.invariants import own_constraints
from bridge.check.invariants.values import units_of
from bridge.check.node import MAX_ITEMS
from bridge.check.primitive_patterns import patterns
from bridge.check.primitives import MAX_TEXT
from bridge.check.ucum import UCUM, unit_pattern
from bridge.fhir import tables
from bridge.fhir.forms import ID
from bridge.fhir.tables import Element

Schema = dict[str, Any]

DRAFT = "https://json-schema.org/draft/2020-12/schema"
WHOLE = "urn:x-visit-bridge:whole-number"
WHOLE_NUMBER: Schema = {"$schema": "http://json-schema.org/draft-04/schema#", "id": WHOLE, "type": "integer"}
MAX_CODES = 300
"""A required list longer than this is not looked through here."""
_LEAST = {"integer": -(2**31), "unsignedInt": 0, "positiveInt": 1}
_NEVER_HERE = frozenset({"contained", "id"})
_IN_UCUM: Schema = {
    "if": {"properties": {"system": {"const": UCUM}}, "required": ["system"]},
    "then": {"properties": {"code": {"$ref": "#/$defs/unit"}}},
}
_WHOLE_ADDRESS: Schema = {"pattern": r"^[A-Za-z][A-Za-z0-9+.\-]*:"}
_OTHER_CODES = r"/ValueSet/|^http://unitsofmeasure\.org$|^urn:ietf:bcp:[0-9]+$"
"""What is no code system, and systems whose codes are looked at by their grammar."""
_COMMON_SYSTEM = (
    r"^(?:http://(?:snomed\.info/sct|loinc\.org|(?:terminology\.)?hl7\.org/(?:fhir/[a-z0-9-]+|CodeSystem/[A-Za-z0-9.-]+))"
    r"|urn:oid:[0-2](?:\.(?:0|[1-9][0-9]*))+)$"
)
"""Most systems, for which one look is enough."""
_OTHER_WAYS = ("identifier", "display")
"""What a reference may have without an address."""


def _amount(**more: Any) -> Schema:
    """A quantity that must be measured in UCUM."""
    system = {"const": UCUM}
    return {
        "required": ["value", "system", "code"],
        "properties": {"system": system, "code": {"$ref": "#/$defs/unit"}, **more},
    }


_SHAPES: dict[str, Schema] = {
    "Age": _amount(code={"enum": units_of("time")}, value={"exclusiveMinimum": 0}),
    "Attachment": {
        "dependentRequired": {"data": ["contentType"]},
        "dependentSchemas": {"data": {"properties": {"size": False}}},
        "properties": {"hash": False},
    },
    "Coding": {},
    "ContactPoint": {"dependentRequired": {"value": ["system"]}},
    "Distance": _amount(code={"enum": units_of("length")}),
    "Duration": _amount(code={"enum": units_of("time")}),
    "Element": {},
    "Extension": {
        "maxProperties": 2,
        "minProperties": 2,
        "properties": {"url": _WHOLE_ADDRESS},
        "if": {"properties": {"url": {"pattern": f"^{re.escape(tables.EXTENSIONS)}"}}},
        "then": {"$ref": "#/$defs/defined-extension"},
    },
    "Identifier": {
        "if": {"properties": {"system": {"const": "urn:ietf:rfc:3986"}}, "required": ["system"]},
        "else": {"properties": {"value": {"not": {"pattern": "^[A-Za-z]+:"}}}},
    },
    "Narrative": {},
    "Period": {"maxProperties": 1},
    "Quantity": {"dependentRequired": {"code": ["system"]}, **_IN_UCUM},
    "Range": {"maxProperties": 1},
    "Ratio": {"required": ["numerator", "denominator"]},
    "Reference": {
        "properties": {"reference": False, "type": False},
        "anyOf": [{"required": [way]} for way in _OTHER_WAYS],
    },
    "RelatedArtifact": {
        "dependentSchemas": {
            "url": {"properties": {"document": False, "resource": False}},
            "document": {"properties": {"resource": False}},
        }
    },
    "SampledData": {"properties": {"data": False}},
    "Timing.repeat": {
        "properties": {"offset": False, "timeOfDay": False, "duration": {"minimum": 0}, "period": {"minimum": 0}},
        "dependentRequired": {
            "duration": ["durationUnit"],
            "period": ["periodUnit"],
            "periodMax": ["period"],
            "durationMax": ["duration"],
            "countMax": ["count"],
        },
    },
}
"""What a data type must look like for its constraints (`bridge.check.invariants`) to hold for certain."""


def schema(type: str) -> Schema:
    """The schema of a resource type with all the definitions that it needs."""
    making = _Making()
    top = making.structure(type, seen=True)
    top["properties"]["id"] = {"type": "string", "pattern": f"^{ID}$"}
    top["properties"]["resourceType"] = {"const": type}
    if "contained" in tables.elements(type):
        inner = {"type": "object", "required": ["resourceType", "id"]}
        top["properties"]["contained"] = {"type": "array", "minItems": 1, "maxItems": MAX_ITEMS, "items": inner}
    top["required"] = ["resourceType", *top.get("required", ())]
    return {"$schema": DRAFT, **top, "$defs": making.definitions}


class _Making:
    """Definitions of the types that were met, each once."""

    def __init__(self) -> None:
        self.definitions: dict[str, Schema] = {
            "unit": {"pattern": f"^(?:{unit_pattern()})$"},
            "defined-extension": _defined_extensions(),
        }

    def structure(self, type: str, seen: bool) -> Schema:
        """`seen`: whether the gate itself looks at the references, periods and constraints in it."""
        made: Schema = {"type": "object", "minProperties": 1, "additionalProperties": False, "properties": {}}
        choices: dict[str, list[tuple[str, ...]]] = {}
        for name, element in tables.elements(type).items():
            if name in _NEVER_HERE:
                continue
            made["properties"][name] = self.property(type, element, seen)
            beside = _may_stand_beside(element) and type != "Extension"
            if beside:
                made["properties"][f"_{name}"] = {"$ref": self.beside()}
            if element.choice:
                choices.setdefault(element.choice, []).append((name, f"_{name}") if beside else (name,))
        if type != "Extension":
            made["dependentSchemas"] = {
                name: {"properties": {other: False for others in spelt if name not in others for other in others}}
                for spelt in choices.values()
                for names in spelt
                for name in names
            }
        required = tables.required(type)
        made["required"] = [names[0] for _, names in required if len(names) == 1]
        made["allOf"] = [{"anyOf": [{"required": [n]} for n in names]} for _, names in required if len(names) > 1]
        if not made["allOf"]:
            del made["allOf"]
        return made

    def property(self, owner: str, element: Element, seen: bool) -> Schema | bool:
        one = self.one(owner, element, seen)
        if one is False or not element.many:
            return one
        return {"type": "array", "minItems": 1, "maxItems": MAX_ITEMS, "items": one}

    def one(self, owner: str, element: Element, seen: bool) -> Schema | bool:
        if element.name == "system" and owner in ("Coding", "Identifier"):
            return self.system(owner)
        if element.primitive:
            return (seen or element.type not in _LEAST) and self.primitive(element)
        if element.type == tables.RESOURCE:
            return owner == "Bundle.entry" and {"type": "object"}
        if element.type == "Reference" and seen:
            return self.reference(element)
        if element.type == "Period" and seen:
            return {"$ref": self.data("Period", "whole")}
        if owner == "Extension" and element.name == "extension":
            return False
        if seen and tables.is_part(element.type):
            return {"$ref": self.part(element.type)}
        if element.codes and element.type in ("Coding", "CodeableConcept"):
            return self.bound(element)
        shape = {"properties": {"comparator": False}} if element.shape else {}
        return {"$ref": self.data(element.type), **shape}

    def beside(self) -> str:
        """What stands beside a simple value: its extensions."""
        if "beside" not in self.definitions:
            items = {"type": "array", "minItems": 1, "maxItems": MAX_ITEMS, "items": {"$ref": self.data("Extension")}}
            self.definitions["beside"] = {
                "type": "object",
                "additionalProperties": False,
                "required": ["extension"],
                "properties": {"extension": items},
            }
        return "#/$defs/beside"

    def part(self, type: str) -> str:
        if type not in self.definitions:
            self.definitions[type] = {}
            self.definitions[type] = self.structure(type, seen=True)
        return f"#/$defs/{type}"

    def data(self, type: str, form: str = "") -> str:
        name = f"{type} {form}".strip().replace(" ", "-")
        if name not in self.definitions:
            self.definitions[name] = {}
            lineage = tables.lineage(type)
            made = self.structure(type, seen=False)
            if type == "Extension" and not form:
                parts = {"$ref": self.data("Extension", "part"), "minProperties": 2, "maxProperties": 2}
                made["properties"]["extension"] = {
                    "type": "array",
                    "minItems": 1,
                    "maxItems": MAX_ITEMS,
                    "items": parts,
                }
            shapes = [_SHAPES[kind] for kind in lineage if _SHAPES.get(kind) and not form]
            if shapes:
                made["allOf"] = [*made.get("allOf", ()), *shapes]
            if any(own_constraints(kind) and kind not in _SHAPES for kind in lineage):
                made = {"not": {}}
            self.definitions[name] = made
        return f"#/$defs/{name}"

    def primitive(self, element: Element) -> Schema | bool:
        type = element.type
        if type == "boolean":
            return {"type": "boolean"}
        if type == "decimal":
            return {"type": "number"}
        if type in _LEAST:
            return {"$ref": WHOLE, "minimum": _LEAST[type], "maximum": 2**31 - 1}
        if type == "xhtml":
            return {"type": "string"}
        if element.codes:
            codes = tables.plain_codes(element.codes)
            if codes is None and element.codes in usual_codes():
                return {"type": "string", "pattern": f"^(?:{usual_codes()[element.codes]})$"}
            if codes is None or len(codes) > MAX_CODES:
                return False
            return {"enum": sorted(codes)}
        size = {"maxLength": MAX_TEXT} if type in ("string", "markdown") else {}
        return {"type": "string", "pattern": f"^(?:{patterns()[type]})$", **size}

    def system(self, owner: str) -> Schema:
        """The whole address of a code system or namespace, for which the constraints on both types ask."""
        other: Schema = {**_WHOLE_ADDRESS, "allOf": [{"pattern": f"^(?:{patterns()['uri']})$"}]}
        if owner == "Coding":
            other["not"] = {"pattern": _OTHER_CODES}
        return {"type": "string", "anyOf": [{"pattern": _COMMON_SYSTEM}, other]}

    def bound(self, element: Element) -> Schema | bool:
        allowed = tables.codes(element.codes)
        if allowed is None:
            return False
        one: Schema = {
            "anyOf": [
                {
                    "properties": {"system": {"const": system}, "code": {"enum": sorted(codes)}},
                    "required": ["system", "code"],
                }
                for system, codes in allowed.items()
            ]
        }
        if element.type == "CodeableConcept":
            one = {"required": ["coding"], "properties": {"coding": {"contains": one}}}
        return {"$ref": self.data(element.type), **one}

    def reference(self, element: Element) -> Schema:
        """Where it leads is looked at outside of the schema."""
        targets = element.targets if element.targets and "Resource" not in element.targets else tables.resources()
        return {
            "$ref": self.data("Reference", "seen"),
            "properties": {"type": {"enum": sorted(targets)}},
            "anyOf": [{"required": [way]} for way in ("reference", *_OTHER_WAYS)],
            "dependentSchemas": {"reference": {"properties": {"type": False}}},
        }


def _may_stand_beside(element: Element) -> bool:
    """Whether `_name` is taken beside a simple value; for lists of them it is left to the careful walk."""
    return element.primitive and not element.many and not element.attribute and element.type != "xhtml"


@cache
def _defined_extensions() -> Schema:
    """Those with a value of a type that their definition has, and those that no definition is known of."""
    rows = tables.extensions()
    urls: dict[str, list[str]] = {}
    for name, row in rows.items():
        for type in row if isinstance(row, list) else ():
            urls.setdefault(f"value{type[0].upper()}{type[1:]}", []).append(f"{tables.EXTENSIONS}{name}")
    whole = [{"required": [value], "properties": {"url": {"enum": names}}} for value, names in urls.items()]
    known = [f"{tables.EXTENSIONS}{name}" for name in rows]
    return {"anyOf": [*whole, {"properties": {"url": {"not": {"enum": known}}}}]}
