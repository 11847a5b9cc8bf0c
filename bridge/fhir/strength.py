"""Strength of a product as a Ratio: a number and unit where the words are just that, else the words as unit."""

from __future__ import annotations

import re
from decimal import Decimal

from bridge.fhir.systems import system
from bridge.shapes import Json

_PLAIN = re.compile(r"((?:0|[1-9]\d{0,8})(?:\.\d{1,6})?)(%| [A-Za-zµ]+(?:/[A-Za-z]+)?)")
"""`5%`, `50 mg/mL`: nothing else may be taken for a number, for `2 to 5%` is none."""


def strength_ratio(words: str) -> Json:
    found = _PLAIN.fullmatch(words)
    if not found:
        return {"numerator": {"unit": words}, "denominator": {"value": 1}}
    value, unit = Decimal(found[1]), found[2].strip()
    coded = {"system": system("ucum"), "code": "%"} if unit == "%" else {}
    return {"numerator": {"value": value, "unit": unit, **coded}, "denominator": {"value": 1}}


def strength_words(ratio: Json) -> str | None:
    """The words behind a Ratio of ours; a foreign one in the same way, without its denominator of one."""
    above, below = ratio.get("numerator", {}), ratio.get("denominator", {})
    words = _quantity(above)
    per = "" if below.get("value") == 1 and not below.get("unit") else _quantity(below)
    return f"{words} / {per}" if words and per else words or None


def _quantity(quantity: Json) -> str:
    unit = str(quantity.get("unit") or quantity.get("code") or "")
    if "value" not in quantity:
        return unit
    return f"{quantity['value']}{unit}" if unit == "%" else f"{quantity['value']} {unit}".strip()
