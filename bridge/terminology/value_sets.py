"""A published ValueSet as a small table that is quick to ask.

Source: https://hl7.org/fhir/R4/valueset.html#compositions and #expansion.
"""

from __future__ import annotations

from typing import Any

from bridge.shapes import Json
from bridge.terminology.code_systems import LONGEST, compile_code_system, items, terms

__all__ = ["compile_code_system", "compile_value_set"]

MOST_CODES = 300_000
_NOT_ALL = {
    "http://hl7.org/fhir/StructureDefinition/valueset-unclosed",
    "http://hl7.org/fhir/StructureDefinition/valueset-toocostly",
}
"""Extensions of an expansion that does not hold everything."""


def compile_value_set(definition: Json) -> Json:
    """Keeps url, version, name, `include` and `exclude`: lists of {system, version, codes (code to terms, the display
    first), filters ([property, op, value]), sets}; and `expansion`: {codes: {system: {code: terms}}, complete} where
    the composition leaves anything to decide. A part that cannot be understood stands as {unclear: true}.
    """
    kept: Json = {key: definition[key] for key in ("url", "version", "name") if isinstance(definition.get(key), str)}
    compose = definition.get("compose")
    if isinstance(compose, dict):
        for key in ("include", "exclude"):
            if key in compose:
                kept[key] = [_part(one) for one in items(compose, key)]
        if compose.get("inactive") is False:
            kept["inactive"] = False
    parts = [*kept.get("include", ()), *kept.get("exclude", ())]
    listed = bool(parts) and all("codes" in part and "sets" not in part for part in parts)
    expansion = definition.get("expansion")
    if isinstance(expansion, dict) and not listed:
        kept["expansion"] = _expansion(expansion)
    return kept


def _part(one: Json) -> Json:
    """An include or exclude."""
    part: Json = {key: one[key] for key in ("system", "version") if isinstance(one.get(key), str)}
    if "concept" in one:
        part["codes"] = {
            concept["code"]: _terms(concept)
            for concept in items(one, "concept")
            if isinstance(concept.get("code"), str)
        }
    if "filter" in one:
        part["filters"] = [
            [str(asked.get(key) or "")[:4000] for key in ("property", "op", "value")] for asked in items(one, "filter")
        ]
    if "valueSet" in one:
        sets = one["valueSet"]
        part["sets"] = [url for url in sets if isinstance(url, str)] if isinstance(sets, list) else []
    unclear = ("system" not in part and "sets" not in part) or any(
        key in part and not part[key] for key in ("codes", "filters", "sets")
    )
    return {"unclear": True} if unclear else part


def _expansion(expansion: Json) -> Json:
    codes: dict[str, dict[str, list[str]]] = {}
    left: list[Any] = items(expansion, "contains")[::-1]
    count = 0
    while left and count < MOST_CODES:
        one = left.pop()
        count += 1
        left += items(one, "contains")[::-1]
        if isinstance(one.get("system"), str) and isinstance(one.get("code"), str) and one.get("abstract") is not True:
            codes.setdefault(one["system"], {})[one["code"]] = _terms(one)
    total, offset = expansion.get("total"), expansion.get("offset")
    complete = (
        not left
        and not offset
        and (not isinstance(total, int) or total <= count)
        and not any(one.get("url") in _NOT_ALL for one in items(expansion, "extension"))
    )
    return {"codes": codes, "complete": complete}


def _terms(concept: Json) -> list[str]:
    """The display, empty where there is none, and after it the other terms."""
    display = concept.get("display")
    first = display[:LONGEST] if isinstance(display, str) else ""
    found = [first, *terms(concept)]
    return found if found != [""] else []
