"""V: Constraints of structure definitions.

Those published on the snapshot, the differential or their elements are judged where kind and type of the structure
can be seen as well, also in a contained one, and are told at the element that breaks them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has, numbered, part, text
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.shapes import Json

_VIEWS = ("snapshot", "differential")
_OF_FHIR = "http://hl7.org/fhir/StructureDefinition/"
_OF_FHIRPATH = "http://hl7.org/fhirpath/System."


def _elements(node: Json, *views: str) -> Iterator[tuple[str, Json]]:
    """Element definitions of the views with their places, in their order."""
    for view in views or _VIEWS:
        for index, row in numbered(part(node, view), "element"):
            yield f".{view}.element[{index}]", row


def _firsts(node: Json) -> Iterator[tuple[str, Json]]:
    """The first element definition of each view."""
    return (found for view in _VIEWS for found in _elements(node, view) if found[0].endswith("[0]"))


def _roots(node: Json, *views: str) -> Iterator[tuple[str, Json]]:
    """Element definitions of a whole structure: those without a point in the path."""
    for place, element in _elements(node, *views):
        path = text(element, "path")
        if path and "." not in path:
            yield place, element


def _logical(node: Json) -> bool:
    return text(node, "kind") == "logical"


def _again(values: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Places of the values that came before; what is empty does not count."""
    met: set[str] = set()
    for place, value in values:
        if value in met:
            yield place
        elif value:
            met.add(value)


@each("V251", "sdf-1", "StructureDefinition")
def sdf_1(node: Json, at: Node) -> Iterator[str]:
    """In both views, as its text says; the expression looks at the snapshot alone."""
    if text(node, "derivation") != "constraint":
        for view in _VIEWS:
            yield from _again((f"{place}.path", text(e, "path")) for place, e in _elements(node, view))


@invariant("V252", "sdf-2", "StructureDefinition.mapping")
def sdf_2(node: Json, at: Node) -> bool:
    return has(node, "name", "uri")


@each("V253", "sdf-3", "StructureDefinition")
def sdf_3(node: Json, at: Node) -> Iterator[str]:
    for place, element in _elements(node, "snapshot"):
        if not (has(element, "definition") and has(element, "min") and has(element, "max")):
            yield place


@invariant("V254", "sdf-4", "StructureDefinition")
def sdf_4(node: Json, at: Node) -> bool:
    return node.get("abstract") is not False or has(node, "baseDefinition")


@invariant("V255", "sdf-5", "StructureDefinition")
def sdf_5(node: Json, at: Node) -> bool:
    """What specializes Extension is the type itself."""
    return text(node, "type") != "Extension" or text(node, "derivation") == "specialization" or has(node, "context")


@invariant("V256", "sdf-6", "StructureDefinition")
def sdf_6(node: Json, at: Node) -> bool:
    return has(node, "snapshot", "differential")


@each("V257", "sdf-8, sdf-8a, sdf-11", "StructureDefinition")
def begins_with_its_type(node: Json, at: Node) -> Iterator[str]:
    """The first element; its name must be the type, where the expression of sdf-8a lets it go on (`PatientX`)."""
    type = text(node, "type")
    if not type or _logical(node):
        return
    for place, element in _firsts(node):
        path = text(element, "path")
        root = path if place.startswith(".snapshot") else path.partition(".")[0]
        if path and root != type:
            yield f"{place}.path"


@each("V258", "sdf-8, sdf-8a", "StructureDefinition")
def stays_below_its_root(node: Json, at: Node) -> Iterator[str]:
    """The other elements."""
    for view in _VIEWS:
        root = ""
        for place, element in _elements(node, view):
            path = text(element, "path")
            if place.endswith("element[0]"):
                root = f"{path if view == 'snapshot' else path.partition('.')[0]}." if path else ""
            elif path and root and not path.startswith(root):
                yield f"{place}.path"


@each("V259", "sdf-8b", "StructureDefinition")
def sdf_8b(node: Json, at: Node) -> Iterator[str]:
    for place, element in _elements(node, "snapshot"):
        if not has(element, "base"):
            yield place


@each("V260", "sdf-9", "StructureDefinition")
def sdf_9(node: Json, at: Node) -> Iterator[str]:
    for place, element in _roots(node):
        if has(element, "label", "code", "requirements"):
            yield place


@each("V261", "sdf-10", "StructureDefinition")
def sdf_10(node: Json, at: Node) -> Iterator[str]:
    """A differential may leave both to what it is based on."""
    for place, element in _elements(node, "snapshot"):
        if "binding" in element and not has(part(element, "binding"), "valueSet", "description"):
            yield f"{place}.binding"


@each("V262", "sdf-14", "StructureDefinition")
def sdf_14(node: Json, at: Node) -> Iterator[str]:
    return (place for place, element in _elements(node) if not has(element, "id"))


@each("V263", "sdf-15, sdf-15a", "StructureDefinition")
def sdf_15(node: Json, at: Node) -> Iterator[str]:
    if not _logical(node):
        for place, element in _firsts(node):
            if has(element, "type") and (place.startswith(".snapshot") or "." not in text(element, "path")):
                yield f"{place}.type"


@each("V264", "sdf-16, sdf-17", "StructureDefinition")
def sdf_16(node: Json, at: Node) -> Iterator[str]:
    """Only what their text says; that an id is missing is sdf-14, though their expressions say it again."""
    for view in _VIEWS:
        yield from _again((f"{place}.id", text(element, "id")) for place, element in _elements(node, view))


@invariant("V265", "sdf-18", "StructureDefinition")
def sdf_18(node: Json, at: Node) -> bool:
    return not has(node, "contextInvariant") or text(node, "type") == "Extension"


@each("V266", "sdf-19", "StructureDefinition")
def sdf_19(node: Json, at: Node) -> Iterator[str]:
    """By its text: a type that FHIR defines; the expression asks only that it looks like the name of one."""
    if not text(node, "url").startswith(_OF_FHIR):
        return
    for place, element in _elements(node):
        types = element.get("type")
        for index, type in enumerate(types if isinstance(types, list) else ()):
            code = text(type, "code")
            if code and not (tables.knows(code) or code.startswith(_OF_FHIRPATH)):
                yield f"{place}.type[{index}].code"


@each("V267", "sdf-20", "StructureDefinition")
def sdf_20(node: Json, at: Node) -> Iterator[str]:
    return (f"{place}.slicing" for place, element in _roots(node, "differential") if has(element, "slicing"))


@each("V268", "sdf-21", "StructureDefinition")
def sdf_21(node: Json, at: Node) -> Iterator[str]:
    """By its text a structure that does not say how it is derived is no specialization."""
    if text(node, "derivation") != "specialization":
        yield from (place for place, e in _elements(node, "differential") if has(e, "defaultValue[x]"))


@each("V269", "sdf-22", "StructureDefinition")
def sdf_22(node: Json, at: Node) -> Iterator[str]:
    if text(node, "url").startswith(_OF_FHIR):
        yield from (place for place, element in _elements(node) if has(element, "defaultValue[x]"))


@each("V270", "sdf-23", "StructureDefinition")
def sdf_23(node: Json, at: Node) -> Iterator[str]:
    return (f"{place}.sliceName" for place, element in _roots(node) if has(element, "sliceName"))
