"""A cell of several plain statements, taken apart where every one of them is understood by itself."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.layout.model import Layout, Target
from bridge.layout.tables import fold
from bridge.layout.targets import MEANINGS
from bridge.phrases import Clause, Phrase, Unclear, clause_of, clauses, parse_phrase, side_in_front
from bridge.phrases.tables import role
from bridge.phrases.vocabulary import kind_of, knows
from bridge.read.fault import Fault, cut
from bridge.read.parts import other_part
from bridge.read.sided import sided_caution
from bridge.read.unseen import how_seen, unseen
from bridge.read.wax import described

_TOLD: dict[Unclear, tuple[str, str]] = {
    "denial": ("R160", "it is not clear how far what is denied, doubted or called past reaches"),
    "side": ("R161", "a side stands beside one part of it only, and it is not clear which ear the rest is about"),
    "amount": ("R162", "it is not clear how far the amount reaches"),
}


@dataclass(frozen=True, slots=True)
class Several:
    """The statements of a cell, or why they could not be told apart."""

    parts: tuple[str, ...] = ()
    fault: Fault | None = None


def several(layout: Layout, target: Target, words: str) -> Several:
    """The statements of a cell that is more than a phrase; none where it is to be kept whole."""
    one_ear = target.field.scope != "ear" or layout.rows == "ear"
    found, unclear = clauses(words, lambda part: _understood(layout, target, part), one_ear=one_ear)
    if unclear:
        rule, why = _TOLD[unclear]
        return Several(fault=Fault(rule, f"“{cut(words)}” is kept as a note: {why}.", fold(words)))
    return Several(tuple(clause.words for clause in found))


def _understood(layout: Layout, target: Target, part: str) -> Clause | None:
    field = target.field
    own = layout.known
    ears, rest = side_in_front(part) if field.scope != "visit" else ((), part)
    meant = target.words.get(fold(rest), rest)
    model = field.model.__name__ if field.model is not None else ""
    kind = kind_of(field.pattern)
    if model == "Caution" and (sided := sided_caution(part, own)):
        ears, rest = sided
    answered = fold(meant).partition(" (")[0] in MEANINGS.get(model, ())
    column = field.steps[-1][0]
    if answered or unseen(column, meant) or (model == "Drum" and how_seen(column, meant)):
        return Clause(part, ears=ears, whole=True, normal=fold(meant) == "normal")
    if model == "Wax" and not knows("wax-amount", rest, own) and (puts := described(layout, field, part)):
        return Clause(part, ears=puts[0].ears)
    if ears and knows(kind, rest, own):
        return Clause(part, ears=ears, whole=True)
    phrase = parse_phrase(part if field.scope != "visit" else rest, kind)
    if phrase is None and knows(kind, rest, own) and role("denial").isdisjoint(fold(rest).split()):
        phrase = Phrase((), None, rest, "")  # "hearing gone": words that look denied or past, and are a term themselves
    if phrase is None:
        return None
    known = knows(kind, f"{phrase.term} {phrase.amount}".strip(), own) or knows(kind, phrase.term, own)
    if not known and not other_part(field, phrase.term, own):
        return None
    return clause_of(part, phrase, rest)
