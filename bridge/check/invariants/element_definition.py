"""V: Constraints of element definitions."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

from bridge.check.invariants.registry import each, invariant
from bridge.check.invariants.values import all_different, number
from bridge.check.look import has, parts, text
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.shapes import Json

_NUMBER = re.compile(r"\+?[0-9]+")
_TOKENS = re.compile(r"[a-zA-Z0-9_@\[\]\-]+(?:/[a-zA-Z0-9_@\[\]\-]+)*")
_NAME = r"""[^\s.,:;'"/|?!@#$%&*()\[\]{}]{1,64}"""
_PATH = re.compile(rf"{_NAME}(?:\.{_NAME}(?:\[x\])?(?::[^\s.]+)?)*")
_SIMPLE = r"[A-Za-z0-9]{0,63}"
_SIMPLE_PATH = re.compile(rf"[A-Za-z]{_SIMPLE}(?:\.[a-z]{_SIMPLE}(?:\[x\])?)*")
_NEVER_REFERRED = ("type", "defaultValue[x]", "fixed[x]", "pattern[x]", "example", "minValue[x]", "maxValue[x]",
                   "maxLength", "binding")  # fmt: skip
_REFERRING = ("Reference", "canonical")
_CODED = frozenset({"code", "Coding", "CodeableConcept", "Quantity", "string", "uri"})


@invariant("V280", "eld-1", "ElementDefinition.slicing")
def eld_1(node: Json, at: Node) -> bool:
    return has(node, "discriminator", "description")


@invariant("V281", "eld-2", "ElementDefinition")
def eld_2(node: Json, at: Node) -> bool:
    most, least = text(node, "max"), number(node.get("min"))
    return least is None or _NUMBER.fullmatch(most) is None or least <= Decimal(most)


@each("V282", "eld-3", "ElementDefinition")
def eld_3(node: Json, at: Node) -> Iterator[str]:
    """Published on max; the expression says nothing of what is no number, which its text forbids."""
    most = node.get("max")
    if isinstance(most, str) and most != "*" and _NUMBER.fullmatch(most) is None:
        yield ".max"


@invariant("V283", "eld-4", "ElementDefinition.type")
def eld_4(node: Json, at: Node) -> bool:
    return not has(node, "aggregation") or text(node, "code") in _REFERRING


@invariant("V284", "eld-5", "ElementDefinition")
def eld_5(node: Json, at: Node) -> bool:
    return not has(node, "contentReference") or not has(node, *_NEVER_REFERRED)


@invariant("V285", "eld-6, eld-7", "ElementDefinition")
def eld_6(node: Json, at: Node) -> bool:
    return len(parts(node, "type")) < 2 or not has(node, "fixed[x]", "pattern[x]")


@invariant("V286", "eld-8", "ElementDefinition")
def eld_8(node: Json, at: Node) -> bool:
    return not (has(node, "fixed[x]") and has(node, "pattern[x]"))


@invariant("V287", "eld-11", "ElementDefinition")
def eld_11(node: Json, at: Node) -> bool:
    """By its text; the expression cannot fail, for it counts what is false as well. One type that can be bound, or is a
    kind of one (`canonical`, `Duration`), is enough, and of types that are not FHIR's own nobody can tell."""
    if "binding" not in node:
        return True
    codes = [text(type, "code") for type in parts(node, "type")]
    return not any(codes) or any(_can_be_bound(code) for code in codes if code)


def _can_be_bound(code: str) -> bool:
    return not tables.knows(code) or not _CODED.isdisjoint(tables.lineage(code))


@invariant("V288", "eld-12", "ElementDefinition.binding")
def eld_12(node: Json, at: Node) -> bool:
    """With both slashes, as its text says. A contained value set (`#a`) is not allowed for."""
    return "valueSet" not in node or text(node, "valueSet").startswith(("http://", "https://", "urn:"))


@invariant("V289", "eld-13", "ElementDefinition")
def eld_13(node: Json, at: Node) -> bool:
    return all_different(text(type, "code") for type in parts(node, "type"))


@invariant("V290", "eld-14", "ElementDefinition")
def eld_14(node: Json, at: Node) -> bool:
    return all_different(text(constraint, "key") for constraint in parts(node, "constraint"))


@invariant("V291", "eld-15", "ElementDefinition")
def eld_15(node: Json, at: Node) -> bool:
    return not (has(node, "meaningWhenMissing") and has(node, "defaultValue[x]"))


@each("V292", "eld-16", "ElementDefinition")
def eld_16(node: Json, at: Node) -> Iterator[str]:
    """By its text each token has at least one character; the expression lets a slash stand at either end."""
    name = text(node, "sliceName")
    if name and _TOKENS.fullmatch(name) is None:
        yield ".sliceName"


@invariant("V293", "eld-17", "ElementDefinition.type")
def eld_17(node: Json, at: Node) -> bool:
    return not has(node, "targetProfile") or text(node, "code") in _REFERRING


@invariant("V294", "eld-18", "ElementDefinition")
def eld_18(node: Json, at: Node) -> bool:
    return node.get("isModifier") is not True or has(node, "isModifierReason")


@each("V295", "eld-19", "ElementDefinition")
def eld_19(node: Json, at: Node) -> Iterator[str]:
    """The whole path must be so; the expression is content with any part of it."""
    path = text(node, "path")
    if path and _PATH.fullmatch(path) is None:
        yield ".path"


@each("V296", "eld-20", "ElementDefinition")
def eld_20(node: Json, at: Node) -> Iterator[str]:
    """As above; the 64 characters are in the text alone. What eld-19 forbids is not told again."""
    path = text(node, "path")
    if path and _SIMPLE_PATH.fullmatch(path) is None and _PATH.fullmatch(path) is not None:
        yield ".path"


@invariant("V297", "eld-21", "ElementDefinition.constraint")
def eld_21(node: Json, at: Node) -> bool:
    return has(node, "expression")


@invariant("V298", "eld-22", "ElementDefinition")
def eld_22(node: Json, at: Node) -> bool:
    return not has(node, "sliceIsConstraining") or has(node, "sliceName")
