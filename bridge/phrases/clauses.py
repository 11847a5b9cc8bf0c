"""A text of several plain statements, taken apart only where every one of them stands on its own.

"no A or B" denies both. "no A, B" and "no A and B" leave open whether B is denied too, unless B says something of its
own ("no perforation and TM intact"). A side belongs to the statement that it stands in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from bridge.ear_words import Assertion, Ear
from bridge.phrases.phrase import Phrase
from bridge.phrases.tables import qualifiers, role, sides, tidy

MAX_CLAUSES = 12
_CUTS = re.compile(r"([,;\n]|\.(?=\s|$))")
_JOINTS = frozenset(("and", "&", "+", "but", "with", "or", "nor", "plus"))

Unclear = Literal["denial", "side", "amount"]


@dataclass(frozen=True, slots=True)
class Clause:
    """One statement of a longer text: its words, and what it says by itself."""

    words: str
    joint: str = ""
    """What joins it to the one before: a mark or a word; empty where nothing stands between them."""
    ears: tuple[Ear, ...] = ()
    assertion: Assertion | None = None
    front: bool = False
    """Its denial, doubt or past stands before the term, and may reach further than the term."""
    whole: bool = False
    """It says something of its own, so that what stands before it cannot reach into it: "TM intact", "NAD"."""
    normal: bool = False
    amount: Literal["", "front", "behind"] = ""


Understand = Callable[[str], Clause | None]


def clause_of(words: str, phrase: Phrase, rest: str) -> Clause:
    """A statement from its phrase; `rest` is its words without the side."""
    folded, term = tidy(rest).casefold(), phrase.term.casefold()
    starts = folded.startswith(term) or bool(phrase.amount and folded.startswith(phrase.amount.casefold()))
    parts = term.split()
    states = role("state") - role("seen")  # "no handle and process seen" denies both
    said = any(p in states for p in parts) or (parts[0] in role("bare") and any(p in role("told") for p in parts[1:]))
    whole = phrase.assertion is None and said
    at: Literal["", "front", "behind"] = ""
    if phrase.amount:
        at = "behind" if folded.endswith(phrase.amount.casefold()) else "front"
    return Clause(
        words,
        ears=phrase.ears,
        assertion=phrase.assertion,
        front=phrase.assertion is not None and not starts,
        whole=whole,
        normal=whole and any(p in role("normal") for p in parts),
        amount=at,
    )


def clauses(text: str, understand: Understand, *, one_ear: bool) -> tuple[list[Clause], Unclear | None]:
    """The statements of a text, each understood, or none with what left it open. None and none: not understood.

    `one_ear`: the text stands where only one ear can be meant, so that a part without a side is about that ear.
    """
    found: list[Clause] = []
    joint = ""
    for piece in _CUTS.split(text):
        if _CUTS.fullmatch(piece):
            joint = piece
            continue
        if not piece.strip():
            continue
        parts = _chunk(tidy(piece), joint, understand)
        if parts is None or len(found) + len(parts) > MAX_CLAUSES:
            return [], None
        found += parts
    if len(found) < 2:
        return [], None
    wrong = _unclear(found, one_ear)
    return ([], wrong) if wrong else (found, None)


def _chunk(text: str, joint: str, understand: Understand) -> list[Clause] | None:
    """Statements of a stretch without a mark: the longest first words that are one statement, then the rest."""
    words = text.split()
    found: list[Clause] = []
    at = 0
    while at < len(words):
        if words[at].casefold() in _JOINTS:
            if found and joint in _JOINTS:
                return None
            joint = words[at].casefold()
            at += 1
            continue
        for end in range(len(words), at, -1):
            if end < len(words) and not (_opens(words[end]) or words[end].casefold() in _JOINTS):
                continue
            said = _one(" ".join(words[at:end]), joint, found, understand)
            if said is not None:
                found.append(said)
                at, joint = end, ""
                break
        else:
            return None
    return found if found and not joint else None


def _one(words: str, joint: str, before: Sequence[Clause], understand: Understand) -> Clause | None:
    if words.casefold() in _qualifying():
        return None
    if joint in ("or", "nor"):
        if not before or before[-1].assertion != "absent" or not before[-1].front:
            return None
        first = before[-1].words.split()[0]
        said = understand(f"{first} {words}") if first.casefold() in role("denial") else None
        plain = understand(words)
        if said is None or said.assertion != "absent" or plain is None or plain.assertion or plain.ears or plain.whole:
            return None
        return replace(said, joint=joint)
    said = understand(words)
    return replace(said, joint=joint) if said else None


def _opens(word: str) -> bool:
    return word.casefold() in role("denial") or word.startswith("?") or word in _side_words()


@cache
def _side_words() -> frozenset[str]:
    return frozenset(side.word for side in sides() if side.exact)


def _qualifying() -> frozenset[str]:
    return frozenset(q.words for q in qualifiers()) | role("denial")


def _unclear(found: Sequence[Clause], one_ear: bool) -> Unclear | None:
    if not one_ear and any(c.ears for c in found) and not all(c.ears for c in found):
        return "side"
    for at, here in enumerate(found):
        for back in _reaching(found, at):
            if back.front and here.assertion is None and not here.whole:
                return "denial"
            if here.assertion and not here.front and back.assertion is None and not back.whole:
                return "denial"
            if here.normal != back.normal and any(c.assertion is None and not c.whole for c in (here, back)):
                return "denial"
        other = bool(at and here.ears and found[at - 1].ears and not set(here.ears) & set(found[at - 1].ears))
        if at and not here.joint and not (found[at - 1].whole or found[at - 1].front or other):
            return "denial"
        if at and here.joint in _JOINTS and not (here.whole or found[at - 1].whole):
            front, behind = found[at - 1].amount == "front", here.amount == "behind"
            if (front and not here.amount) or (behind and not found[at - 1].amount):
                return "amount"
    return None


def _reaching(found: Sequence[Clause], at: int) -> Iterator[Clause]:
    """The statements before one whose denial or doubt could reach it: of the same ear, and back to a "but"."""
    for index in range(at - 1, -1, -1):
        here, back = found[at], found[index]
        if found[index + 1].joint == "but" or (here.ears and back.ears and not set(here.ears) & set(back.ears)):
            return
        yield back
