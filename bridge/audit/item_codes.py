"""The codes of one item, as an audit compares them."""

from __future__ import annotations

from bridge.audit.shapes import Item
from bridge.audit.tables import Code, general, meanings, retired
from bridge.fhir.systems import OWN, SCT
from bridge.visit.base import Coding


def codes_of(item: Item) -> tuple[Code, ...]:
    return tuple([(c.system, c.code) for c in item.codings if c.code])


def is_general(codes: tuple[Code, ...]) -> bool:
    """Whether none of an item's codes says more than a general one."""
    return bool(codes) and all(code in general() for code in codes)


def is_retired(codes: tuple[Code, ...]) -> bool:
    return any(code in retired() for code in codes)


def main_code(item: Item) -> tuple[Coding | None, Code | None]:
    """The code to show, and that by which uses of a term are compared: our own, also where only a code of SNOMED CT
    stands that the word list has for these words; else SNOMED CT's, else the first that names its system."""
    own = snomed = first = None
    for coding in item.codings:
        if not coding.code or not coding.system:
            continue
        first = first or coding
        own = own or (coding if coding.system == OWN else None)
        snomed = snomed or (coding if coding.system == SCT else None)
    if own is None and snomed is not None and item.meant in meanings().get((SCT, snomed.code), ()):
        return snomed, (OWN, item.meant)
    best = own or snomed or first
    return (best, (best.system, best.code)) if best else (None, None)
