"""A small code system and value sets of our own, as a publisher would write them."""

from __future__ import annotations

from typing import Any

from bridge.shapes import Json
from bridge.terminology.members import Terminology
from bridge.terminology.value_sets import compile_code_system, compile_value_set

TOOLS = "http://example.org/CodeSystem/tools"
SETS = "http://example.org/ValueSet"


def concept(code: str, *under: Json, **more: Any) -> Json:
    return {"code": code, "display": code.capitalize(), **({"concept": list(under)} if under else {}), **more}


def said(code: str, value: Any) -> Json:
    kind = "valueBoolean" if isinstance(value, bool) else "valueCode"
    return {"code": code, kind: value}


CODE_SYSTEM: Json = {
    "resourceType": "CodeSystem",
    "url": TOOLS,
    "version": "2",
    "content": "complete",
    "caseSensitive": True,
    "hierarchyMeaning": "is-a",
    "property": [{"code": "off", "uri": "http://hl7.org/fhir/concept-properties#inactive", "type": "boolean"}],
    "concept": [
        concept(
            "tool",
            concept(
                "light",
                concept("otoscope", designation=[{"language": "de", "value": "Ohrspiegel"}]),
                concept("headlamp", property=[said("wear", "head")]),
            ),
            concept("hook", concept("loop", property=[said("wear", "hand")])),
            concept("candle", property=[said("off", True)]),
            property=[said("notSelectable", True)],
        ),
        concept("syringe", property=[said("parent", "hook"), said("wear", "hand")]),
    ],
}


def value_set(name: str, *include: Json, exclude: list[Json] | None = None, **more: Any) -> Json:
    compose: Json = {"include": list(include), **({"exclude": exclude} if exclude else {})}
    return {"resourceType": "ValueSet", "url": f"{SETS}/{name}", "compose": compose, **more}


def filtered(property: str, op: str, value: str, system: str = TOOLS) -> Json:
    return {"system": system, "filter": [{"property": property, "op": op, "value": value}]}


def terminology(*definitions: Json, server: Any = None, forms: Any = None) -> Terminology:
    """Over the small code system and these value sets and code systems."""
    both = [CODE_SYSTEM, *definitions]
    sets = {one["url"]: compile_value_set(one) for one in both if one["resourceType"] == "ValueSet"}
    systems = {one["url"]: compile_code_system(one) for one in both if one["resourceType"] == "CodeSystem"}
    return Terminology(
        lambda url: sets.get(url.partition("|")[0]), lambda url: systems.get(url.partition("|")[0]), server, forms
    )


def members(definition: Json, *others: Json) -> dict[str, str]:
    """Every code of the small system with the verdict on it."""
    asked = terminology(definition, *others)
    return {code: asked.member(definition["url"], TOOLS, code).verdict for code in ALL}


ALL = ("tool", "light", "otoscope", "headlamp", "hook", "loop", "candle", "syringe")
