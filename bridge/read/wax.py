"""Wax described in one cell: "soft dark brown wax ++" is how much, how firm and what colour."""

from __future__ import annotations

import re

from bridge.ear_words import Ear
from bridge.layout.fields import Field, Step
from bridge.layout.model import Layout
from bridge.layout.tables import fold
from bridge.phrases import side_behind, side_in_front
from bridge.phrases.tables import tidy
from bridge.phrases.vocabulary import knows_itself
from bridge.read.fault import Fault, cut
from bridge.read.said import Put

AMOUNT: tuple[Step, ...] = (("amount", None),)
_KINDS: tuple[tuple[str, tuple[Step, ...], bool], ...] = (
    ("wax-amount", AMOUNT, False),
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
            found = next((k for k in _KINDS if knows_itself(k[0], part, layout.known)), None)
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
    if len(set(single)) < len(single) or all(steps == AMOUNT for steps in inner):
        return []
    if any(layout.fills(".".join((field.path, *(name for name, _ in steps)))) for steps in inner):
        return []
    if wax and AMOUNT not in inner:
        puts.append(Put(wax, AMOUNT, False, ears))
    return puts


def all_amounts(puts: list[Put]) -> bool:
    """Whether statements of one cell all say how much there is: "moderate, not occluding" is one answer, in its own
    words."""
    return len(puts) > 1 and all(put.inner == AMOUNT and not put.ears and not put.beside for put in puts)


def twice(puts: list[Put], words: str) -> Fault | None:
    """Why statements of one cell cannot be kept apart: two say how much there is in one ear, others something else."""
    named = [ear for put in puts if put.inner == AMOUNT and not put.beside for ear in put.ears or ("",)]
    if len(named) == len(set(named)) or all_amounts(puts):
        return None
    told = f"“{cut(words)}” is kept as a note: it says twice how much wax there is in one ear."
    return Fault("R167", told, fold(words))
