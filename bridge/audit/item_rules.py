"""A: what one item of a record shows by itself, whatever stands beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from bridge.audit.item_codes import codes_of, is_general, is_retired, main_code
from bridge.audit.shapes import Item
from bridge.audit.tables import Code, ears, general, harm_words, names, retired, tag_in, tags
from bridge.fhir.systems import OWN, SCT
from bridge.issues import Issue, Where, issue
from bridge.numbers import sctid_problem
from bridge.phrases import qualifier, side_words
from bridge.phrases.fold import fold
from bridge.visit.base import Coding

MEMO = 10_000
_EYES = re.compile(r"(?<![\w/.-])(?:OD|OS|OU)(?![\w/-])")
_MEDICINES = ("medicines", "softeners", "products", "Medication")
"""Where OD means once a day."""
_FITS = {"Condition": "finding", "Procedure": "procedure"}
_DOUBT = {"suspected": "A113", "absent": "A114", "past": "A112"}
_SAYS = {"suspected": "doubt", "absent": "deny", "past": "speak of the past"}
_WORD = re.compile(r"[a-z]+|[.;,!?]")


class Fault(NamedTuple):
    rule: str
    message: str


class Looked(NamedTuple):
    """What one item shows by itself."""

    faults: tuple[Fault, ...]
    general: bool
    retired: bool
    main: Coding | None
    code: Code | None
    """As `main_code` gives them."""
    term: tuple[str, str, str, str]
    """What uses of one term have in common: kind, folded words, assertion, and the side where its code is of an ear."""
    snomed: int
    editions: int
    """Codes of SNOMED CT, and those among them that name their edition."""


class ItemRules:
    """Looks at items one by one; what was found out about one is kept for those that are alike, up to a bound."""

    def __init__(self) -> None:
        self._memo: dict[object, Looked] = {}

    def look(self, item: Item, foreign: bool) -> Looked:
        """`foreign`: whether it was sent by somebody, so that its structure is looked at too."""
        codes = tuple([(c.system, c.code, c.display, c.version) for c in item.codings])
        key = (item.kind, item.text, codes, item.side, item.assertion, item.resource, item.note, foreign)
        found = self._memo.get(key)
        if found is None:
            if len(self._memo) >= MEMO:
                self._memo.clear()
            found = self._memo[key] = _looked(item, foreign)
        return found


def _looked(item: Item, foreign: bool) -> Looked:
    codes = codes_of(item)
    snomed = [coding for coding in item.codings if coding.system == SCT]
    main, code = main_code(item)
    return Looked(
        tuple(_faults(item, foreign)),
        is_general(codes),
        is_retired(codes),
        main,
        code,
        (item.kind, fold(item.text), item.assertion, item.side if code in ears() else ""),
        len(snomed),
        sum(bool(coding.version) for coding in snomed),
    )


def placed(fault: Fault, where: Where, text: str = "") -> Issue:
    return issue(fault.rule, fault.message, where, cause=f"{fault.rule}:{fold(text)}" if text else fault.rule)


def _faults(item: Item, foreign: bool) -> Iterator[Fault]:
    codes = codes_of(item)
    if item.text and not codes and item.due:
        yield Fault("A115", "These words have no code.")
    if item.text and _EYES.search(item.text) and not any(name in item.kind for name in _MEDICINES):
        yield Fault("A131", "OD, OS and OU are marks of the eyes; which ear is meant is not sure.")
    if codes:
        yield from _coded(item, codes)
    if foreign:
        yield from _sent(item, codes)


def _coded(item: Item, codes: tuple[Code, ...]) -> Iterator[Fault]:
    if is_general(codes) and item.meant and (OWN, item.meant) not in general():
        yield Fault("A109", "The code is a general one, and the word list has an exact meaning for these words.")
    for code in codes:
        if code in retired():
            yield Fault("A110", f"The code {code[1]} may be out of use: {retired()[code]}.")
    read = any(c.system == OWN and c.code == item.meant for c in item.codings)
    if item.said in _DOUBT and item.assertion == "present" and not read and not _names_say_so(item):
        yield Fault(_DOUBT[item.said], f"These words {_SAYS[item.said]}, and the entry is coded as present.")
    for coding in item.codings:
        if coding.display and coding.code and not (coding.system == SCT and sctid_problem(coding.code)):
            owners = names().get((coding.system, fold(coding.display)))
            if owners and coding.code not in owners:
                yield Fault("A126", f"“{coding.display[:60]}” is the name of another code than {coding.code[:20]}.")


def _names_say_so(item: Item) -> bool:
    """Whether the code says what the words say ("No known allergy"); an act that was done is past by itself."""
    if item.said == "past" and item.resource == "Procedure":
        return True
    return any(coding.display and qualifier(coding.display, "") == item.said for coding in item.codings)


def _sent(item: Item, codes: tuple[Code, ...]) -> Iterator[Fault]:
    named = side_words(item.text) if item.text else set()
    if item.side == "unknown":
        if named:
            yield Fault("A101", "The words name an ear, and no code or field does.")
        elif item.resource in _FITS:
            yield Fault("A122", "This is about an ear, and nothing says which.")
    for coding in item.codings:
        if not coding.system or not coding.code:
            lacks = "system" if coding.code else "code"
            yield Fault("A125", f"A code stands here without its {lacks}.")
        expected = _FITS.get(item.resource)
        if expected and coding.system == SCT:
            tag = tags().get(coding.code) or tag_in(coding.display or "")
            if tag in ("finding", "procedure") and tag != expected:
                told = "an act" if tag == "procedure" else "a finding"
                yield Fault("A111", f"The code {coding.code[:20]} is of {told}, and stands in a {item.resource}.")
    if item.resource == "Procedure":
        if is_general(codes) or (not codes and item.meant and (OWN, item.meant) in general()):
            yield Fault("A123", "Something was removed, and how is not said.")
        if item.note and harm_told(item.note):
            yield Fault("A124", "A note speaks of harm, and nothing is coded of it.")


@cache
def _harm() -> tuple[tuple[str, ...], frozenset[str]]:
    words = harm_words()
    return words["harm"], frozenset(words["denial"])


def harm_told(note: str) -> bool:
    """Whether running text speaks of harm that is not denied in the words before it, back to the clause's beginning."""
    beginnings, denials = _harm()
    denied = False
    for word in _WORD.findall(note[:20_000].casefold()):
        if word in ".;!?":
            denied = False
        elif word in denials:
            denied = True
        elif word.startswith(beginnings) and not denied:
            return True
    return False
