"""A list of what is asked of the doctor: parts that do not begin like an ask stay with the ask before them."""

from __future__ import annotations

import re
from functools import cache

from bridge.data import load_csv, table_path
from bridge.nothing_words import answer_of
from bridge.phrases.tables import role, tidy
from bridge.read.fault import Fault, cut


def asks(parts: list[str], separator: str) -> tuple[list[str], list[Fault]]:
    """The asks of a list, and a fault for each part of it that is none by itself. A line of its own always is."""
    if separator == "\n":
        return parts, []
    found: list[str] = []
    faults = []
    for part in parts:
        words = part.strip()
        if not words:
            continue
        if found and not _begins().match(tidy(words)) and not answer_of("request", words):
            found[-1] = f"{found[-1]}{separator} {words}"
            told = f"“{cut(words)}” does not begin like something asked; it stays with what is asked before it."
            faults.append(Fault("R168", told, "ask"))
        else:
            found.append(words)
    return found, faults


@cache
def _begins() -> re.Pattern[str]:
    rows = load_csv(table_path("request-kinds.csv"))
    words = {*role("asks"), *(word for row in rows for word in row["words"].split("|"))}
    longest = sorted(map(re.escape, words), key=lambda w: -len(w))
    return re.compile(rf"(?:\d+[.)]\s*|[-*(]\s*)?(?:{'|'.join(longest)})(?![\w-])", re.IGNORECASE)
