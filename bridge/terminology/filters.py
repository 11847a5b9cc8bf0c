"""The filters of a value set, decided for one code of a code system at hand.

Source: https://hl7.org/fhir/R4/valueset.html#filters and https://hl7.org/fhir/R4/valueset-filter-operator.html
"""

from __future__ import annotations

import re
from collections.abc import Callable

from bridge.terminology.answers import Found, named
from bridge.terminology.codes import MOST_ABOVE, Codes

_CODE_ITSELF = {"concept", "code"}
_FALSE_UNSAID = {"inactive", "notSelectable", "abstract"}
"""Properties that are false where nothing is said."""

_LONGEST_PATTERN = 200
_COSTLY = re.compile(r"\)[*+?{]|\\[1-9]|\(\?|\{\d{3,}|\{\d*,\d{3,}")
"""What can make a pattern run for ever, or look elsewhere than at the text: it is not tried."""


def matches(codes: Codes, filter: list[str], asked: str) -> Found:
    """Whether a code of the system passes the filter [property, op, value]."""
    name, op, value = filter
    code = codes.code(asked)
    if code is None:
        if name in _CODE_ITSELF and op == "regex" and (hit := pattern_fits(value, asked)) is False:
            return Found(hit, "it has not the form that the value set wants")
        return codes.has(asked)
    decide = _HIERARCHY.get(op)
    if decide is not None and name in _CODE_ITSELF:
        if not codes.is_a_known:
            return Found(None, "what its codes stand under is not known")
        value = codes.code(value) or value
        if len(codes.under(value if op == "generalizes" else code)) > MOST_ABOVE:
            return Found(None, "it stands under more codes than are looked at")
        return _partly(codes, decide(codes, code, value))
    return _by_property(codes, code, name, op, value)


def pattern_fits(pattern: str, text: str) -> bool | None:
    """Whether the whole text fits; None where the pattern is broken or could take too long."""
    if len(pattern) > _LONGEST_PATTERN or len(text) > _LONGEST_PATTERN or _COSTLY.search(pattern):
        return None
    if len(re.findall(r"[*+]|\{\d*,\d*\}", pattern)) > 3:
        return None
    try:
        return re.fullmatch(pattern, text) is not None
    except (re.error, OverflowError, RecursionError):
        return None


def _is_a(codes: Codes, code: str, value: str) -> bool:
    return codes.same(code, value) or value in codes.under(code)


_HIERARCHY: dict[str, Callable[[Codes, str, str], bool]] = {
    "is-a": _is_a,
    "descendent-of": lambda codes, code, value: not codes.same(code, value) and value in codes.under(code),
    "is-not-a": lambda codes, code, value: not _is_a(codes, code, value),
    "generalizes": lambda codes, code, value: codes.same(code, value) or code in codes.under(value),
}


def _by_property(codes: Codes, code: str, name: str, op: str, value: str) -> Found:
    values = (
        [code] if name in _CODE_ITSELF else codes.terms(code)[:1] if name == "display" else codes.values(code, name)
    )
    if not values and name in _FALSE_UNSAID:
        values = ["false"]
    if op == "=":
        hit: bool | None = any(codes.same(one, value) if name in _CODE_ITSELF else one == value for one in values)
    elif op in {"in", "not-in"}:
        listed = {part.strip() for part in value.split(",")}
        hit = any(one in listed for one in values) == (op == "in")
    elif op == "exists" and value in {"true", "false"}:
        hit = bool(values) == (value == "true")
    elif op == "regex":
        tried = [pattern_fits(value, one) for one in values]
        hit = True if True in tried else None if None in tried else False
    else:
        hit = None
    if hit is None:
        return Found(None, f"a filter {named(op)} on {named(name)} cannot be decided here")
    return _partly(codes, hit)


def _partly(codes: Codes, hit: bool) -> Found:
    """What is seen in a part of a system is certain only where it is a yes."""
    if hit:
        return Found(True)
    return (
        Found(False, "a filter leaves it out")
        if codes.complete
        else Found(None, "only a part of its system is at hand")
    )
