"""Codes of an act, its value, and its words."""

from __future__ import annotations

from typing import Any

from bridge.cda.context import Context
from bridge.cda.entries.act import Act
from bridge.cda.entries.claims import OPEN
from bridge.cda.entries.forms import OF_TYPE, form, formed
from bridge.cda.entries.paths import items
from bridge.cda.entries.place import Told, shaped
from bridge.cda.entries.seen import Seen, named
from bridge.cda.entries.tables import Row, codes, codes_back
from bridge.cda.nulls import flavor_of
from bridge.cda.values import absent, cd, coding, coding_of, concept_of, ed, text_of
from bridge.cda.xml import Node, add, every, node, one, type_of
from bridge.fhir.systems import system
from bridge.fhir.tables import elements
from bridge.shapes import Json

ACT_PRIORITY = "2.16.840.1.113883.5.7"
"""HL7 V3 ActPriority, by its CodeSystem in FHIR R4 4.0.1."""
_ONLY_ONE = frozenset({"code", "routeCode", "priorityCode"})


class Concepts:
    """code, targetSiteCode, methodCode and the like."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        found = [item for item in items(told.at(row)) if isinstance(item, dict)]
        if row.place not in _ONLY_ONE or len(found) == 1:
            plain = row.element is not None and row.element.type == "Coding"
            for item in found:
                act.add(coding(row.place, item) if plain else cd(row.place, item))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        plain = row.element is not None and row.element.type == "Coding"
        return shaped(row, [(coding_of if plain else concept_of)(found) for found in seen.parts[row.place]])


class Code(Concepts):
    """The code of the act itself; one that only names the element or the type says nothing of the resource."""

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return None if named(seen.found) else super().read(seen, row, context)


class Priority(Concepts):
    """priorityCode, by the code of FHIR where the element is no more than that."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        said = told.at(row)
        if isinstance(said, str) and said in codes("priority"):
            code, label = codes("priority")[said]
            act.add(node("priorityCode", code=code, codeSystem=ACT_PRIORITY, displayName=label))
        else:
            super().write(act, row, told)

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        found = seen.first("priorityCode")
        if found is not None and row.element is not None and row.element.primitive:
            return codes_back("priority").get(found.get("code") or "")
        return super().read(seen, row, context)


class Value:
    """A concept as the value; one that is not claimed has no value, and is told beside it."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        if isinstance(concept := told.at(row), dict):
            act.add(coded("value", concept, told, "CD"))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return claimed(seen.first("value"))


class AnyValue:
    """value[x] and dataAbsentReason."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        for key, element in elements(row.type).items():
            if element.choice == "value[x]" and key in told.resource:
                value = told.resource[key]
                concept = element.type == "CodeableConcept" and isinstance(value, dict)
                made = coded("value", value, told, "CD") if concept else form(element.type, value)
                if made is not None:
                    act.add(made)
        if isinstance(reason := told.resource.get("dataAbsentReason"), dict):
            act.add(absent("value", reason, flavor_of(reason) or "NI"))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        """One member: the value or the reason under its own name."""
        found = seen.first("value")
        type = OF_TYPE.get(type_of(found), "") if found is not None else ""
        if found is None or not type:
            return None
        value = claimed(found) if type == "CodeableConcept" else formed(type, found)
        if value is None:
            return None
        if found.get("nullFlavor") and type == "CodeableConcept" and _is_reason(value):
            return {"dataAbsentReason": value}
        return {f"value{type[0].upper()}{type[1:]}": value}


class Words:
    """The act's own words."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        if isinstance(words := told.at(row), str):
            act.add(ed("text", words))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return text_of(seen.first("text"))


def coded(tag: str, concept: Json, told: Told, xsi_type: str | None = None) -> Node:
    """A concept in which the act says what it is about, as far as it claims it (`claims.py`)."""
    if told.claim not in ("open", "qualified"):
        return cd(tag, concept, xsi_type)
    text = concept.get("text")
    sentence = {"coding": concept.get("coding"), **({"text": told.words} if told.words else {})}
    made = cd(tag, sentence, xsi_type, null=OPEN if told.claim == "open" else None)
    if isinstance(text, str):
        add(made, node("translation", node("originalText", text=text), nullFlavor="OTH"))
    return made


def claimed(found: Node | None) -> Json | None:
    """The concept of `coded`, with its own words."""
    concept = concept_of(found)
    for place in every(found, "translation"):
        if concept and not place.get("code") and (text := text_of(one(place, "originalText"))):
            return {**{key: value for key, value in concept.items() if key != "text"}, "text": text}
    if concept and found is not None and found.get("nullFlavor") == OPEN and not _is_reason(concept):
        return {"coding": concept["coding"]} if "coding" in concept else None
    return concept


def _is_reason(concept: Any) -> bool:
    reasons = system("data-absent-reason")
    return any(c.get("system") == reasons for c in concept.get("coding", ()))
