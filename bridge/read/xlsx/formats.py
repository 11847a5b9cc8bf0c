"""Number formats of a workbook: what kind of value a number stands for, and how it is shown."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from bridge.data import load_csv, table_path

Kind = Literal["number", "percent", "date", "moment", "time", "duration"]
_TOKEN = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|(?P<skip>_.|\*.)|\[(?P<bracket>[^\]]*)\]|(?P<half>AM/PM|A/P)'
    r"|(?P<general>General)|(?P<power>E[+-])|(?P<plain>.)",
    re.IGNORECASE | re.DOTALL,
)
_PLACES = "0#?"


@dataclass(frozen=True, slots=True)
class Shown:
    """How a number is shown."""

    kind: Kind = "number"
    parts: str = ""
    """Of a date, which of y, m and d are shown."""
    before: str = ""
    after: str = ""
    """Words around a number: the unit, in most cases."""
    digits: str = ""
    """A number of fixed length such as `000 000 0000`: every 0 is a digit."""
    words: tuple[str, ...] = ()
    """Words shown instead of a positive number, a negative one, and none: `"yes";;"no"`."""


PLAIN = Shown()


@cache
def built_in() -> dict[int, str]:
    return {int(row["id"]): row["code"] for row in load_csv(table_path("number-formats.csv"))}


@lru_cache(4096)
def shown_by(code: str) -> Shown:
    """What a format code says."""
    sections: list[list[tuple[str, str]]] = [[]]
    for found in _TOKEN.finditer(code):
        name = found.lastgroup or "plain"
        if name == "plain" and found[0] == ";":
            sections.append([])
        else:
            sections[-1].append((name, found[name]))
    first = sections[0]
    if moment := _moment(first):
        return moment
    words = tuple(_words(s) for s in sections[:3]) if len(sections) > 1 or _words(first) else ()
    plain = _number(first)
    if any(words):
        return Shown(plain.kind, "", plain.before, plain.after, plain.digits, (*words, "", "")[:3])
    return plain


def _moment(tokens: list[tuple[str, str]]) -> Shown | None:
    """A date or a time, by the letters that stand outside quotation marks."""
    runs: list[str] = []
    previous = ""
    for name, text in tokens:
        letter = text.lower() if name == "plain" else ""
        if name == "bracket" and text and set(text.lower()) in ({"h"}, {"m"}, {"s"}):
            return Shown("duration")
        if letter and letter in "ymdhsen" and letter != previous:
            runs.append(letter)
        previous = letter
    if not runs or not set(runs) & set("ymdhs"):
        return None
    minutes = {
        at
        for at, run in enumerate(runs)
        if run == "m" and ((at and runs[at - 1] == "h") or (at + 1 < len(runs) and runs[at + 1] == "s"))
    }
    parts = "".join(p for p in "ymd" if any(r.replace("e", "y") == p and i not in minutes for i, r in enumerate(runs)))
    timed = "h" in runs or "s" in runs
    if parts:
        return Shown("moment" if timed else "date", parts)
    return Shown("time" if "h" in runs else "duration")


def _words(tokens: list[tuple[str, str]]) -> str:
    """The words of a section that shows no number at all."""
    if any(name in ("general", "half", "power") or (name == "plain" and text in "0#?@%") for name, text in tokens):
        return ""
    if any(name == "bracket" and text[:1] in ("<", ">", "=") for name, text in tokens):
        return ""
    return "".join(text for name, text in tokens if name in ("quoted", "escaped", "plain")).strip()


def _number(tokens: list[tuple[str, str]]) -> Shown:
    places = [i for i, (name, text) in enumerate(tokens) if name == "general" or (name == "plain" and text in _PLACES)]
    if any(name == "plain" and text == "%" for name, text in tokens):
        return Shown("percent")
    if not places:
        return PLAIN
    inside = tokens[places[0] : places[-1] + 1]
    behind = tokens[places[-1] + 1 :]
    if behind[:1] == [("plain", ",")] or any(n == "power" for n, _ in tokens):
        return PLAIN
    before, after = _literal(tokens[: places[0]]), _literal(behind)
    fixed = all(name in ("quoted", "escaped") or (name == "plain" and text in "0 -/") for name, text in inside)
    digits = "".join(text for _, text in inside) if fixed and len(inside) > 1 else ""
    return Shown("number", "", before, after, digits)


def _literal(tokens: list[tuple[str, str]]) -> str:
    found = ""
    for name, text in tokens:
        if name in ("quoted", "escaped", "plain") and text not in ("@", "?", "#"):
            found += text
        elif name == "bracket" and text.startswith("$"):
            found += text[1:].partition("-")[0]
    return found
