"""Cells that hold the practitioner's words: answers, findings, what was used, what happened.

A cell is [side] [negation or doubt] [term] [amount], or a list of such. The words stay as they are; only a side that
the record's structure already tells, and an amount that has a field of its own, are taken off them. Anything longer
becomes a note.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from bridge.ear_words import EARS, Ear
from bridge.layout.fields import Field
from bridge.layout.model import Layout, Target
from bridge.layout.tables import fold
from bridge.layout.targets import MEANINGS
from bridge.phrases import (
    Phrase,
    ambiguous_words,
    parse_phrase,
    side_behind,
    side_in_front,
    side_words,
    watched_words,
)
from bridge.phrases.tables import role, tidy
from bridge.phrases.vocabulary import kind_of, knows, knows_itself
from bridge.read.asks import asks
from bridge.read.clauses import several
from bridge.read.fault import CellError, Fault, cut
from bridge.read.parts import other_part
from bridge.read.said import Cell, Note, Put
from bridge.read.sided import sided_caution
from bridge.read.unseen import how_seen, unseen
from bridge.read.wax import AMOUNT, all_amounts, described, twice
from bridge.visit.ear import answer_from_words

ASSERTABLE = frozenset({"Part", "Drum", "Finding", "Event", "Symptom", "PastEvent", "Impression", "Caution"})
"""Models whose terms can be denied, doubted or past: a cell longer than a phrase is no term of theirs."""

TOLD = ASSERTABLE | {"Wax"}
"""Models whose cells may hold several statements."""

LONGEST_TERM = 200
_WITH_AMOUNT = frozenset({"Part", "Drum", "Finding"})


@dataclass(slots=True)
class _Told:
    layout: Layout
    puts: list[Put]
    notes: list[Note]
    faults: list[Fault]


def understand(layout: Layout, target: Target, text: str) -> Cell:
    """What a cell of words says in its target's field."""
    told = _Told(layout, [], [], [])
    whole = target.words.get(fold(text))
    parts = [whole or text] if whole or not target.separator else text.split(target.separator)
    if whole is None and target.separator and _model_name(target.field) == "Request":
        parts, told.faults[:] = asks(parts, target.separator)
    for part in parts:
        if words := part.strip():
            _one(target, target.words.get(fold(words), words), told)
    return Cell(tuple(told.puts), tuple(told.notes), tuple(told.faults))


def _one(target: Target, words: str, told: _Told) -> None:
    field, name = target.field, _model_name(target.field)
    kind = kind_of(field.pattern)
    own_words = told.layout.known
    if name == "Caution" and (sided := sided_caution(words, own_words)):
        told.puts.extend(Put({"term": sided[1], "ear": ear}, (), field.many) for ear in sided[0])
        return
    plain = field.scope == "visit" or (name in ("", "Term") and knows_itself(kind, words, own_words))
    front, rest = ((), words) if plain else side_in_front(words)  # "lt brown" is a colour, not a side
    bare = target.words.get(fold(rest), rest)
    if field.steps and (not_seen := unseen(field.steps[-1][0], bare)):
        part, answer = not_seen
        ears = _ears(field, front, words, told)
        if ears is not None:
            beside = part if part != field.steps[-1][0] else ""
            model = "Drum" if beside else name
            told.puts.extend(put._replace(ears=ears, beside=beside) for put in _answer(model, answer))
        return
    if name == "Drum" and (seen := how_seen(field.steps[-1][0], bare)):
        ears = _ears(field, front, words, told)
        if ears is not None:
            told.puts.append(Put(seen[0], (("seen", None),), False, ears))
            told.puts.extend([Put(seen[1], (("seen_reason", None),), False, ears)] if seen[1] else [])
        return
    if fold(bare).partition(" (")[0] in MEANINGS.get(name, ()):
        ears = _ears(field, front, words, told)
        if ears is not None:
            told.puts.extend(put._replace(ears=ears) for put in _answer(name, bare))
        return
    phrase = None
    if field.scope != "visit" or name in ASSERTABLE:
        phrase = Phrase((), None, words, "") if plain and name == "Term" else parse_phrase(words, kind)
    if phrase is None and name in TOLD and knows(kind, bare, own_words):
        phrase = Phrase(front, None, bare, "")  # words that deny, or stand for nothing, but are a term of the maps
    unclear: Fault | None = None
    if name == "Wax" and not knows("wax-amount", rest, own_words) and (puts := described(told.layout, field, words)):
        ears = _ears(field, puts[0].ears, words, told)
        if ears is not None:
            told.puts.extend(put._replace(ears=ears) for put in puts)
        return
    if phrase is None and name in TOLD:
        read = several(told.layout, target, words)
        unclear = read.fault
        if read.parts:
            if field.scope != "ear" and _ears(field, None, words, told) is None:
                return
            inner = _Told(told.layout, [], [], [])
            for part in read.parts:
                _one(target, part, inner)
            unclear = twice(inner.puts, words) if name == "Wax" else None
            if unclear is None:
                told.puts.extend([Put(words, AMOUNT)] if name == "Wax" and all_amounts(inner.puts) else inner.puts)
                told.notes.extend(inner.notes)
                told.faults.extend(inner.faults)
                return
    ears = _ears(field, phrase.ears if phrase else None, words, told)
    if ears is None:
        return
    if name in ("View", "Examination", "EarRecord"):
        raise CellError("R101", f"“{cut(words)}” is not one of: {', '.join(MEANINGS[name])}.", fold(words))
    compares = field.scope == "ear" and name == "Wax" and bool(ears)
    if (phrase is None and (unclear or compares or (name in ASSERTABLE and _more(words)))) or len(words) > LONGEST_TERM:
        told.notes.append(Note(words, ears))
        told.faults.extend([unclear] if unclear else [])
        told.faults.extend(_watched(words) or ([] if unclear else [_kept(words)]))
        told.faults.extend(
            Fault("R117", f"“{cut(word)}” can be read in more than one way: {why}", word)
            for word, why in ambiguous_words(words)
        )
        return
    if phrase is None and len(ears) == 2:
        told.faults.append(Fault("R115", f"“{cut(words)}” names both ears and says more than one thing.", "side"))
        return
    own = words if field.scope == "visit" else _own_words(words, phrase, keep_amount=name not in _WITH_AMOUNT)
    if phrase and (part := other_part(field, phrase.term, own_words)):
        told.puts.append(_put(field, "Part", own, phrase, ears)._replace(beside=part))
        return
    told.puts.append(_put(field, name, own, phrase, ears))


def said_in_note(text: str) -> tuple[Fault, ...]:
    """What a free note speaks of that a doctor must not miss, word by word; a note itself is never quoted."""
    named = dict.fromkeys(word if word.isupper() else word.casefold() for word in watched_words(text))
    return tuple(
        Fault("R163", f"The note speaks of “{word}”; nothing in a note gets a code.", word, anywhere=True)
        for word in named
    )


def _kept(words: str) -> Fault:
    if not role("denial").isdisjoint(fold(words).split()):
        return Fault(
            "R164", f"“{cut(words)}” is kept as a note: it denies something, and not plainly one thing.", fold(words)
        )
    return Fault("R138", f"“{cut(words)}” is kept as a note.", fold(words))


def _more(words: str) -> bool:
    """One or two words that are no phrase are still a term, for want of anything else that they could be."""
    return len(words.split()) > 2 or any(c in words for c in ",;:.!\n")


def _model_name(field: Field) -> str:
    return field.model.__name__ if field.model is not None else ""


def _answer(name: str, words: str) -> list[Put]:
    folded = fold(words)
    if name == "Request":
        return [Put(True, other="no_request")]
    if name == "View":
        found = answer_from_words(words)
        if not isinstance(found, dict):
            return [Put(folded, (("achieved", None),))]
        value: Any = "none" if found["answer"] == "not seen" else found["answer"]
        puts = [Put(value, (("achieved" if found["answer"] == "not seen" else "answer", None),))]
        return [*puts, Put(found["reason"], (("reason", None),))] if "reason" in found else puts
    if name in ("Examination", "EarRecord"):
        inner = (("view", None), ("answer", None))
        return [Put("not examined", inner if name == "Examination" else (("before", None), *inner))]
    if name in ("Allergies", "Medicines", "FamilyDoctor"):
        return [Put(folded, (("answer", None),))]
    found = answer_from_words(words)
    return [Put(value, ((key, None),)) for key, value in found.items()]


def _ears(field: Field, named: tuple[Ear, ...] | None, words: str, told: _Told) -> tuple[Ear, ...] | None:
    """The ears that a cell names where the column leaves that to it; None where the item cannot be used.

    `named`: those that a short phrase names, None for a longer text.
    """
    if field.scope in ("right", "left"):
        if named and named != (field.scope,):
            message = f"“{cut(words)}” names {_ears_told(named)}, and the column is about the {field.scope} ear."
            told.faults.append(Fault("R113", message, "side"))
            return None
        if named is None and side_words(words) - {field.scope}:
            both = " as well" if field.scope in side_words(words) else ""
            message = f"“{cut(words)}” stands under the {field.scope} ear and names the other{both}."
            told.faults.append(Fault("R115", message, "side"))
            return None
        return ()
    if field.scope != "ear":
        return ()
    return tuple(e for e in EARS if e in side_words(words)) if named is None else named


def _ears_told(ears: tuple[Ear, ...]) -> str:
    return "both ears" if len(ears) == 2 else f"the {ears[0]} ear"


def _watched(words: str) -> list[Fault]:
    return [
        Fault("R116", f"“{cut(word)}” stands in a text that is kept as a note and gets no code.", fold(word))
        for word in watched_words(words)
    ]


def _own_words(words: str, phrase: Phrase | None, *, keep_amount: bool) -> str:
    """The words without the side, and without the amount where that has a field of its own."""
    if phrase is None or not (phrase.ears or (phrase.amount and not keep_amount)):
        return words
    text = words
    if phrase.ears:
        front_ears, text = side_in_front(words)
        text = text if front_ears else side_behind(tidy(words))[1]
    text = tidy(text)
    at = text.rfind(phrase.term)
    if at < 0:
        return words
    front, back = text[:at], text[at + len(phrase.term) :]
    if phrase.amount and not keep_amount:
        front, back = (front, back.replace(phrase.amount, "", 1)) if phrase.amount in back else (
            front.replace(phrase.amount, "", 1), back
        )  # fmt: skip
    return " ".join((front + phrase.term + back).split())


def _put(field: Field, name: str, words: str, phrase: Phrase | None, ears: tuple[Ear, ...]) -> Put:
    if name in _WITH_AMOUNT:
        finding: dict[str, Any] = {"term": words}
        if phrase and phrase.amount:
            finding["amount"] = phrase.amount
        return Put(finding, (("findings", None),) if name != "Finding" else (), True, ears)
    if name in ("Allergies", "Medicines"):
        return Put({"term" if name == "Allergies" else "name": words}, (("items", None),), True, ears)
    if name == "Wax":
        return Put(words, (("amount", None),), False, ears)
    if name == "FamilyDoctor":
        return Put(words, (("key", None),), False, ears)
    main = _main(field.model)
    value: Any = {main: words} if main else words
    return Put(value, (), field.many, ears)


def _main(model: type[BaseModel] | None) -> str:
    """The field that a plain string of this model fills."""
    if model is None or model.__name__ == "Term":
        return ""
    return next(name for name in ("term", "plan", "action", "key", "name", "reason") if name in model.model_fields)
