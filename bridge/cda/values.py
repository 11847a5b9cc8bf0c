"""Codes, identifiers, references, quantities and texts: FHIR data types and those of CDA, each way.

What a data type of CDA cannot hold is left out by the writer and missing in what the reader gives back;
`bridge.cda.rest` finds that and lets it travel beside.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from bridge.cda.context import objects
from bridge.cda.moments import is_interval, ivl_ts, period_of, time_of, ts, ts_text, when_of
from bridge.cda.oids import is_uuid, root_of, template, uri_of
from bridge.cda.xml import Node, add, every, node, one, type_of, typed, words
from bridge.fhir.systems import UCUM
from bridge.shapes import Json

__all__ = [
    "absent", "bl", "cd", "coding_of", "concept_of", "ed", "identifier_of", "ii", "is_interval", "ivl_ts", "number_of",
    "period_of", "pq", "quantity_of", "reference_ii", "reference_of", "resource_id", "resource_ii", "st", "text_of",
    "time_of", "ts", "ts_text", "value_of", "when_of",
]  # fmt: skip

_CODE = re.compile(r"\S+")
_NUMBER = re.compile(r"[+-]?\d{1,60}(\.\d{1,60})?([eE][+-]?\d{1,3})?")
_RANGES = {"<": ("high", "false"), "<=": ("high", "true"), ">": ("low", "false"), ">=": ("low", "true")}
NO_SYSTEM = template("numbers without a system")
RESOURCE = template("references that are no UUIDs")
UNIT_WORDS = template("units in words")


def cd(tag: str, concept: Json | None, xsi_type: str | None = None, *, null: str | None = None) -> Node:
    """A CodeableConcept as CD or CE: the first coding as the code, the others as translations, the text as it is.

    A coding whose system has an OID stands before those whose system has a URI only, because others know it.
    `null`: the null flavour of a value that is not there; then all codings, which say why, are translations. Without a
    coding it is OTH where there are words, else NI.
    """
    concept = concept if isinstance(concept, dict) else {}
    codings = [c for c in objects(concept.get("coding")) if _writable(c)]
    known = next((at for at, c in enumerate(codings) if not _uri_only(c)), 0)
    first, others = (codings[known], codings[:known] + codings[known + 1 :]) if codings and not null else ({}, codings)
    text = concept.get("text")
    said = node("originalText", text=text) if isinstance(text, str) else None
    made = node(tag, said, **_coded(first))
    if not first:
        made.set("nullFlavor", null or ("OTH" if said is not None else "NI"))
    return typed(add(made, *(node("translation", **_coded(other)) for other in others)), xsi_type)


def coding(tag: str, coding: Json | None, xsi_type: str | None = None) -> Node:
    """A Coding as CD, CE or CV."""
    return cd(tag, {"coding": [coding]} if coding else {}, xsi_type)


def absent(tag: str, reason: Json | None, flavor: str) -> Node:
    """A value that is not there, of the type CD: the null flavour, and why in the concept's own codes and words."""
    return cd(tag, reason, "CD", null=flavor)


def concept_of(found: Node | None) -> Json | None:
    """The CodeableConcept of a CD, CE or CV; None where it has neither code nor words."""
    if found is None:
        return None
    first, others = coding_of(found), [c for place in every(found, "translation") if (c := coding_of(place))]
    before = next((at for at, c in enumerate(others) if not _uri_only(c)), len(others)) if first else 0
    codings = [*others[:before], first, *others[before:]] if first and not _uri_only(first) else [first, *others]
    codings = [c for c in codings if c]
    text = text_of(one(found, "originalText"))
    concept = {**({"coding": codings} if codings else {}), **({"text": text} if text else {})}
    return concept or None


def coding_of(found: Node | None) -> Json | None:
    """The Coding that a CD, CE or CV, or a translation in it, has itself."""
    if found is None or not (found.get("code") or found.get("displayName")):
        return None
    root = found.get("codeSystem")
    parts = {
        "system": uri_of(root, found.get("codeSystemName")) if root else None,
        "version": found.get("codeSystemVersion"),
        "code": found.get("code"),
        "display": found.get("displayName"),
    }
    return {key: value for key, value in parts.items() if value}


def _uri_only(coding: Json) -> bool:
    """Whether a coding's system has no OID but the one that follows from its URI."""
    system = coding.get("system")
    return isinstance(system, str) and root_of(system)[1] is not None


def _writable(coding: Json) -> bool:
    code = coding.get("code")
    return (isinstance(code, str) and bool(_CODE.fullmatch(code))) or (code is None and bool(coding.get("display")))


def _coded(coding: Json) -> dict[str, str | None]:
    system = coding.get("system")
    root, name = root_of(system) if isinstance(system, str) else (None, None)
    version, display = coding.get("version"), coding.get("display")
    return {
        "code": coding.get("code"),
        "codeSystem": root,
        "codeSystemName": name,
        "codeSystemVersion": version if isinstance(version, str) else None,
        "displayName": display if isinstance(display, str) else None,
    }


def ii(tag: str, identifier: Json, *, root: str | None = None) -> Node | None:
    """An Identifier; None without a value. `root`: the OID to write in place of that of the system."""
    system, value, assigner = (identifier.get(key) for key in ("system", "value", "assigner"))
    if not isinstance(value, str) or not value:
        return None
    if system == "urn:ietf:rfc:3986" and value.startswith(("urn:oid:", "urn:uuid:")):
        itself, name = root_of(value)
        if name is None and uri_of(itself) == value:
            return node(tag, root=itself)
    known, name = root_of(system) if isinstance(system, str) else (NO_SYSTEM, None)
    giver = assigner.get("display") if isinstance(assigner, dict) else None
    said = name or (giver if isinstance(giver, str) else None)
    return node(tag, root=root or known, extension=value, assigningAuthorityName=said)


def identifier_of(found: Node | None) -> Json | None:
    """The Identifier of an II; None where there is none, or a null flavour."""
    root = None if found is None else found.get("root")
    if found is None or not root or found.get("nullFlavor"):
        return None
    value, name = found.get("extension"), found.get("assigningAuthorityName")
    if not value:
        return {"system": "urn:ietf:rfc:3986", "value": uri_of(root)}
    if root == NO_SYSTEM:
        return {"value": value, **({"assigner": {"display": name}} if name else {})}
    system = uri_of(root, name)
    return {"system": system, "value": value, **({"assigner": {"display": name}} if name and name != system else {})}


def reference_ii(tag: str, reference: Json | str) -> Node | None:
    """What a Reference points at, as the id of it; the Reference's logical identifier where it has no more.

    A resource has the same id wherever it stands or is pointed at: `resource_ii`.
    """
    target = reference if isinstance(reference, str) else reference.get("reference")
    if isinstance(target, str) and target:
        rest = target.removeprefix("urn:uuid:")
        if rest != target and is_uuid(rest):
            return node(tag, root=rest)
        return node(tag, root=RESOURCE, extension=target)
    identifier = reference.get("identifier") if isinstance(reference, dict) else None
    return ii(tag, identifier) if isinstance(identifier, dict) else None


def reference_of(found: Node | None) -> Json | None:
    """The Reference of an id: to a resource, or by a logical identifier; None where there is none."""
    root = None if found is None else found.get("root")
    if found is None or not root:
        return None
    extension = found.get("extension")
    if is_uuid(root) and not extension:
        return {"reference": f"urn:uuid:{root}"}
    if root == RESOURCE and extension:
        return {"reference": extension}
    identifier = identifier_of(found)
    return {"identifier": identifier} if identifier else None


def resource_ii(tag: str, resource: Json) -> Node:
    """The id of a resource in our documents: its UUID, or its type and id where that is none."""
    id = str(resource.get("id", ""))
    target = f"urn:uuid:{id}" if is_uuid(id) else f"{resource.get('resourceType')}/{id}"
    made = reference_ii(tag, target)
    assert made is not None
    return made


def resource_id(found: Node | None) -> str | None:
    """The id of the resource behind `resource_ii`; None for the id of anything else."""
    target = (reference_of(found) or {}).get("reference", "")
    if not target:
        return None
    return str(target.removeprefix("urn:uuid:") if target.startswith("urn:uuid:") else target.rpartition("/")[2])


def pq(tag: str, quantity: Json, xsi_type: str | None = None) -> Node:
    """A Quantity as PQ, its digits as they are; with a comparator as an interval (IVL_PQ).

    A number whose unit is no UCUM code is never the value itself, which would be without a unit: value and the words of
    the unit are a translation.
    """
    bound = _RANGES.get(str(quantity.get("comparator")))
    if bound:
        end = _amount(bound[0], quantity)
        end.set("inclusive", bound[1])
        return typed(node(tag, end), "IVL_PQ")
    return typed(_amount(tag, quantity), xsi_type)


def _amount(tag: str, quantity: Json) -> Node:
    value, unit, code = (quantity.get(key) for key in ("value", "unit", "code"))
    number = str(value) if isinstance(value, int | float | Decimal) and not isinstance(value, bool) else None
    ucum = isinstance(code, str) and quantity.get("system") == UCUM and bool(_CODE.fullmatch(code))
    worded = isinstance(unit, str) and not (ucum and unit == code)
    known = number is not None and (ucum or not worded)
    null = None if known else "OTH" if number else "NI"
    made = node(tag, value=number if known else None, unit=code if ucum else None, nullFlavor=null)
    if worded:
        said = node("originalText", text=unit)
        add(made, node("translation", said, value=number, nullFlavor="OTH", codeSystem=UNIT_WORDS))
    return made


def quantity_of(found: Node | None) -> Json | None:
    """The Quantity of a PQ or of an IVL_PQ with one end; None where there is no number."""
    if found is None:
        return None
    for end in ("low", "high"):
        place = one(found, end)
        if place is not None and (inner := quantity_of(place)):
            signs = {v: k for k, v in _RANGES.items()}
            return {**inner, "comparator": signs[(end, place.get("inclusive") or "true")]}
    value, code = number_of(found.get("value")), found.get("unit")
    unit = code
    for translation in every(found, "translation"):
        if translation.get("codeSystem") == UNIT_WORDS:
            value = number_of(translation.get("value")) if value is None else value
            unit = text_of(one(translation, "originalText")) or unit
    if value is None:
        return None
    coded = {"system": UCUM, "code": code} if code else {}
    return {"value": value, **({"unit": unit} if unit else {}), **coded}


def number_of(text: str | None) -> Decimal | int | None:
    """The number of a text, with its digits: int for a whole one, as the reader of JSON gives it."""
    if not text or not _NUMBER.fullmatch(text):
        return None
    return int(text) if text.lstrip("+-").isdigit() else Decimal(text)


def ed(tag: str, text: str) -> Node:
    """Running words (ED)."""
    return node(tag, text=text)


def text_of(found: Node | None) -> str | None:
    """The words of an ED or ST as they stand; None where there are none."""
    return words(found) or None


def st(tag: str, text: str) -> Node:
    """Words as a value of the type ST."""
    return typed(node(tag, text=text), "ST")


def bl(tag: str, truth: bool) -> Node:
    """True or false as a value of the type BL."""
    return typed(node(tag, value="true" if truth else "false"), "BL")


def value_of(found: Node | None) -> Any:
    """What a `value` of the types ST, BL, INT or REAL says: text, true or false, a number; None for other types."""
    kind = "" if found is None else type_of(found)
    if found is None or found.get("nullFlavor"):
        return None
    if kind == "ST":
        return text_of(found)
    if kind == "BL":
        return {"true": True, "false": False}.get(found.get("value", ""))
    return number_of(found.get("value")) if kind in ("INT", "REAL") else None
