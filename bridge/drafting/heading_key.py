"""The words of a heading, the unit that it gives, and the codes that it explains."""

from __future__ import annotations

import re

from bridge.drafting.tables import tokens
from bridge.layout.tables import unit_of

Key = tuple[str, ...]
_CODES = re.compile(r"(\w{1,3})\s*=\s*([^=]+?)\s*(?=[,;/]?\s*\b\w{1,3}\s*=|[)\]]|$)")
_RANGE = re.compile(r"[(\[]\s*\d{1,2}\s*(?:-|–|to)\s*\d{1,2}\s*[)\]]")
_SCALE = re.compile(r"\(?\b(?:\d{1,2}\s*(?:-|–|to|bis|a|do)\s*10|out of 10)\b\)?|/\s*10\b")


def codes_of(heading: str) -> tuple[str, dict[str, str]]:
    """A heading such as `ear 1=R 2=L 3=both` without its codes, and what each code means."""
    found = _CODES.findall(heading)
    if len(found) < 2:
        return heading, {}
    return _CODES.sub(" ", heading), {code: means.strip(" ,;/") for code, means in found}


def key_of(text: str) -> tuple[Key, str]:
    """The words of a heading without its unit, and the unit."""
    text = _SCALE.sub(" ", _RANGE.sub(" ", text))
    unit = ""
    for inner in re.findall(r"[(\[]([^()\[\]]{1,12})[)\]]", text):
        if found := unit_in(inner.strip(), bracket=True):
            unit, text = found, text.replace(inner, " ")
    words = text.split()
    if not unit and len(words) > 1 and (found := unit_in(words[-1].strip(".,:;()[]"), bracket=False)):
        unit, text = found, " ".join(words[:-1])
    elif not unit and (joined := re.search(r"_(mmhg|kpa|mm|fr|pct|percent|ml|mbar)$", text, re.IGNORECASE)):
        unit, text = unit_in(joined[1], bracket=True) or joined[1], text[: joined.start()]
    if unit in ("%", "pct", "percent"):
        text, unit = f"{text} %", "%"
    return tokens(text), unit


def unit_in(text: str, *, bracket: bool) -> str:
    """A unit as the heading writes it, where it is one beyond doubt: a lone letter is one in brackets only."""
    if text.casefold() in ("r", "l", "d", "a", "h", "y", "n", "m", "f", "wk", "mo", "yr", "day", "days"):
        return ""
    if text == "%" or (len(text) == 1 and not bracket):
        return "%" if text == "%" else ""
    return text if unit_of(text, "size") or unit_of(text) else ""
