"""Codes of units by the grammar of UCUM (https://ucum.org/ucum, sections 2.1 to 2.3, case sensitive).

Python libraries for it load a whole system of quantities to say yes or no; the grammar is small, and the atoms are a
table of ours, so this reads it directly.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from bridge.data import load_csv, table_path

UCUM = "http://unitsofmeasure.org"
MAX_LENGTH = 500
"""Characters; nobody writes a longer unit."""

_PART = re.compile(r"(?=[^./()])(?P<unit>(?:[^\[\]{}()./]|\[[^\[\]]*\])*)(?:\{[^{}]*\})?")
_CLOSED = re.compile(r"\)(?:\{[^{}]*\})?")
_POWER = re.compile(r"(?<=.)[+-]?[0-9]+\Z", re.ASCII)


@lru_cache(maxsize=4096)
def unit_problem(code: str) -> str | None:
    """What is wrong with a UCUM code in plain words, or None."""
    if len(code) > MAX_LENGTH:
        return "is longer than any unit"
    if not code.isascii():
        return "holds signs that UCUM does not use (micro is u, degrees Celsius are Cel)"
    if re.search(r"\s", re.sub(r"\{[^{}]*\}", "", code)):
        return "holds a blank"
    place, depth, operand = int(code.startswith("/")), 0, True
    while place < len(code):
        sign = code[place]
        if operand:
            if sign == "(":
                place, depth = place + 1, depth + 1
                continue
            found = _PART.match(code, place)
            if found is None:
                return "has two signs in a row where a unit is needed"
            if not _right(found["unit"]):
                part = found["unit"]
                return "is no unit of UCUM" if part == code else f"has “{part[:60]}”, which is no unit of UCUM"
            place, operand = found.end(), False
        elif sign in "./":
            place, operand = place + 1, True
        elif sign == ")" and depth:
            place, depth = _CLOSED.match(code, place).end(), depth - 1  # type: ignore[union-attr]
        else:
            return "has something behind a unit or a bracket that cannot stand there"
    if operand:
        return "ends where a unit is needed"
    return "has a bracket that is not closed" if depth else None


def unit_doubt(code: str) -> str | None:
    """What is better written otherwise in a code that most receivers take, or None."""
    return "has a blank in its remark in braces" if re.search(r"\{[^{}]*\s[^{}]*\}", code) else None


def unit_meant(code: str) -> str:
    """The code that was probably meant by a wrong one; empty where that is not certain."""
    return _slips().get(code.strip(), "")


@cache
def unit_pattern() -> str:
    """A regular expression that takes only right codes: those without round brackets. No look-around, no references."""
    metric, plain, prefix = ("|".join(sorted(map(re.escape, _atoms()[k]))) for k in ("metric", "plain", "prefix"))
    atom = f"(?:{plain}|(?:{prefix})?(?:{metric}))"
    one = rf"(?:(?:{atom}(?:[+-]?[0-9]+)?|[0-9]+)(?:\{{[!-z|~]+\}})?|\{{[!-z|~]+\}})"
    return rf"/?{one}(?:[./]{one})*"


def _right(unit: str) -> bool:
    """Whether this is one unit with its prefix and power, a plain number, or nothing (before a remark in braces)."""
    if not unit or unit.isdecimal():
        return True
    kinds, symbol = _atoms(), _POWER.sub("", unit)
    if symbol in kinds["plain"] or symbol in kinds["metric"]:
        return True
    return any(symbol[: len(p)] == p and symbol[len(p) :] in kinds["metric"] for p in kinds["prefix"])


@cache
def _atoms() -> dict[str, frozenset[str]]:
    rows = load_csv(table_path("standard", "ucum-atoms.csv"))
    found: dict[str, list[str]] = {"metric": [], "plain": [], "prefix": []}
    for row in rows:
        found[row["kind"]].append(row["code"])
    return {kind: frozenset(codes) for kind, codes in found.items()}


@cache
def _slips() -> dict[str, str]:
    return {row["written"]: row["meant"] for row in load_csv(table_path("standard", "ucum-slips.csv"))}
