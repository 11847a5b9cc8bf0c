"""Simple values in their place: the right kind of JSON value, well formed, and a code of the required list."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from typing import Any

from bridge.check import primitives
from bridge.check.code_syntax import coding_fits, has_syntax, syntax_problem, usual_codes
from bridge.check.primitive_patterns import patterns
from bridge.check.xhtml import narrative_faults
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.safe_text import code_or, like_code
from bridge.shapes import Json

Problem = tuple[str, str, str]
"""Rule code, message, cause."""
_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?", re.ASCII)


@cache
def _usual(type: str) -> re.Pattern[str] | None:
    pattern = patterns().get(type)
    return re.compile(pattern, re.ASCII) if pattern else None


@cache
def _usual_code(value_set: str) -> re.Pattern[str] | None:
    pattern = usual_codes().get(value_set)
    return re.compile(pattern, re.ASCII) if pattern else None


def fine(found: Element, value: Any) -> bool:
    """Whether a value is one of the usual ones that need no closer look."""
    if not isinstance(value, str):
        return value.__class__ is bool and found.type == "boolean"
    if found.codes:
        allowed = tables.plain_codes(found.codes)
        if allowed is not None:
            return value in allowed and found.type == "code"
        usual = _usual_code(found.codes)
    else:
        usual = _usual(found.type)
    return usual is not None and usual.fullmatch(value) is not None and len(value) <= primitives.MAX_TEXT


def problems(found: Element, value: Any) -> Iterator[Problem]:
    """What is wrong with a value of a simple type."""
    type = found.type
    if type in primitives.TEXTS:
        if not isinstance(value, str):
            yield "S105", f"A text is needed here ({type}).", ""
        elif not value:
            yield "S107", "This text is empty.", ""
        elif problem := primitives.TEXTS[type](value):
            yield "S108" if type in primitives.MOMENTS else "S109", f"This {problem}.", ""
        elif type == "code":
            yield from _code(found, value)
        elif type == "xhtml":
            yield from ((rule, f"The narrative {told}.", cause) for rule, told, cause in narrative_faults(value))
        elif type == "canonical" and value[0] != "#" and ":" not in value:
            yield "S115", "This names a definition by an address that is not a whole one.", ""
        elif problem := primitives.looks_blank(value):
            yield "S112", f"This text {problem}.", ""
    elif type == "boolean":
        if not isinstance(value, bool):
            yield "S105", f"Either true or false is needed here{_unquoted(value in ('true', 'false'))}.", ""
    elif isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        number = isinstance(value, str) and _NUMBER.fullmatch(value) is not None
        yield "S105", f"A number is needed here{_unquoted(number)} ({type}).", ""
    elif problem := primitives.NUMBERS[type](value):
        yield "S110", f"This {problem}.", ""


def _unquoted(near: bool) -> str:
    """What JSON is told of a value that is right but for its quotation marks; XML never has such a one."""
    return ", without quotation marks" if near else ""


def _code(found: Element, value: str) -> Iterator[Problem]:
    allowed = tables.plain_codes(found.codes) if found.codes else None
    if allowed is None:
        if problem := syntax_problem(found.codes, value, found.name):
            yield "S160", f"{_quoted(value)} {problem}.", f"{found.codes}:{code_or(value, '')}"
    elif value not in allowed:
        some = f" Allowed: {', '.join(sorted(allowed))}." if len(allowed) <= 12 else ""
        yield "S111", f"{_quoted(value)} is not a code of {found.codes}.{some}", f"{found.codes}:{code_or(value, '')}"


def _quoted(value: str) -> str:
    return f"“{value}”" if like_code(value) else "What stands here"


def bound(found: Element, value: Json) -> bool:
    """Whether a Coding or CodeableConcept under a required binding has a coding in the list, where that can be told."""
    allowed = tables.codes(found.codes)
    codings = value.get("coding", []) if found.type == "CodeableConcept" else [value]
    if found.type not in ("CodeableConcept", "Coding") or not isinstance(codings, list):
        return True
    if allowed is None:
        return not has_syntax(found.codes) or any(coding_fits(found.codes, coding) for coding in codings)
    return any(_allowed(allowed, coding) for coding in codings)


def _allowed(allowed: Mapping[str, frozenset[str]], coding: Any) -> bool:
    if not isinstance(coding, dict):
        return False
    system, code = coding.get("system"), coding.get("code")
    return isinstance(system, str) and isinstance(code, str) and code in allowed.get(system, ())
