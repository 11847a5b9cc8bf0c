"""Wax described in one cell: "soft dark brown wax ++" is how much, how firm and what colour."""

from __future__ import annotations

import re

from bridge.layout.fields import Field, Step
from bridge.layout.model import Layout
from bridge.phrases import side_behind, side_in_front
from bridge.phrases.tables import tidy
from bridge.phrases.vocabulary import knows_itself
from bridge.read.said import Put
from bridge.visit import Ear

_KINDS: tuple[tuple[str, tuple[Step, ...], bool], ...] = (
    ("wax-amount", (("amount", None),), False),
    ("wax-consistency", (("consistency", None),), True),
    ("wax-colour", (("colour", None),), True),
    ("wax-adherence", (("adherence", None),), False),
    ("canal-third", (("place", None), ("third", None)), False),
)
"""Kinds of words about wax, the field inside the wax that holds them, and whether it holds several."""

_TOKEN = re.compile(r"\++|[^\s,;/&+]+|[,;/&]")
_MARKS = frozenset((",", ";", "/", "&"))
_FILL = _MARKS | {"and", "with", "of"}
_WAX = frozenset(("wax", "cerumen", "earwax"))
_LONGEST = 4
"""Words of the longest description that is one term."""


def described(layout: Layout, field: Field, words: str) -> list[Put]:
    """What every word of a cell says of the wax; empty where a word says something else, or says the same thing twice,
    or where the sheet has a column of its own for what is said."""
    ears, text = side_in_front(words)
    if not ears:
        ears, text = side_behind(tidy(words).removesuffix("."))
    tokens = _TOKEN.findall(tidy(text).removesuffix("."))
    puts: list[Put] = []
    wax = ""
    at = 0
    while at < len(tokens):
        for size in range(min(_LONGEST, len(tokens) - at), 0, -1):
            part = " ".join(tokens[at : at + size])
            if part.casefold() in _WAX or part.casefold() in _FILL:
                wax = part if part.casefold() in _WAX else wax
                break
            found = next((k for k in _KINDS if knows_itself(k[0], part)), None)
            if found and not _MARKS & set(tokens[at : at + size]):
                puts.append(Put(part, found[1], found[2], ears))
                break
        else:
            return []
        at += size
    return _fitting(layout, field, puts, wax, ears)


def _fitting(layout: Layout, field: Field, puts: list[Put], wax: str, ears: tuple[Ear, ...]) -> list[Put]:
    inner = [put.inner for put in puts]
    single = [steps for steps, put in zip(inner, puts, strict=True) if not put.item]
    if len(set(single)) < len(single) or all(steps == _KINDS[0][1] for steps in inner):
        return []
    if any(layout.fills(".".join((field.path, *(name for name, _ in steps)))) for steps in inner):
        return []
    if wax and _KINDS[0][1] not in inner:
        puts.append(Put(wax, _KINDS[0][1], False, ears))
    return puts
