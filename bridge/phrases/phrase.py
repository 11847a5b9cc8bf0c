"""One short phrase of the form [side] [negation or doubt] [term] [amount]; anything longer is left alone."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from bridge.ear_words import Assertion, Ear
from bridge.phrases.tables import ambiguous, amounts, qualifiers, role, sides, tidy
from bridge.phrases.vocabulary import one_term

MAX_WORDS = 5
MAX_LENGTH = 100
_MORE_THAN_ONE = re.compile(r"[;!=<>\[\]{}]|,|\s/|/\s|\.(?!$)|\d|\w\s*[+&]\s*\w")
_EXAMINED = re.compile(r"^(?:o/e|on examination)\b[ :-]*", re.IGNORECASE)
"""Says where the rest comes from, and nothing else; OE without the slash is another thing."""
_BRACKETED = re.compile(r"(?P<term>[^()]*[^\s()])\s*\((?P<said>[^()]+)\)")
_SLASHED = re.compile(r"\w{3,}/\w{3,}")


@dataclass(frozen=True, slots=True)
class Phrase:
    """What a short phrase says: of which ears (none where it names none), how surely, what, how much."""

    ears: tuple[Ear, ...]
    assertion: Assertion | None
    """None where no word denies, doubts or dates: then the phrase states its term."""
    term: str
    amount: str


def parse_phrase(text: str, kind: str = "") -> Phrase | None:
    """The parts of a short phrase; None where it says more, or something that could be read in two ways.

    "R ?perf" is a suspected "perf" of the right ear, "no perforation" and "perforation: none" an absent
    "perforation", "old perf" a past one. `kind`, of the term maps, lets words count that qualify only there
    ("warfarin stopped"). None is the careful answer: the words then stay a note, and
    `watched_words` tells what such a note must not lose.
    """
    taken = _take(text, kind)
    if taken is None or not _plain(taken, kind) or _partly(taken):
        return None
    return Phrase(taken.ears, taken.assertion, taken.term, taken.amount)


def partly_denied(text: str, kind: str = "") -> bool:
    """Whether a short phrase denies how much, how often or how new something is, and not the thing: "not very red"."""
    taken = _take(text, kind)
    return taken is not None and _partly(taken)


def takes_away(words: str, assertion: Assertion) -> bool:
    """Whether words with this assertion say that something is not there now: denied, or "no longer"."""
    return assertion == "absent" or (assertion == "past" and words.partition(" ")[0].casefold() in role("denial"))


@dataclass(frozen=True, slots=True)
class _Taken:
    """A phrase taken apart, before anybody asked whether its term is plain."""

    ears: tuple[Ear, ...]
    assertion: Assertion | None
    denied: bool
    term: str
    amount: str


def _take(text: str, kind: str) -> _Taken | None:
    rest = _EXAMINED.sub("", tidy(text).removesuffix(".").strip())
    if not rest or len(rest) > MAX_LENGTH or "\n" in text.strip():
        return None
    ears, rest = _side(rest)
    if not ears:
        ears, rest = side_behind(rest)
    rest, amount_after = _amount(rest)
    said = rest
    assertion, rest = _bracketed(rest, kind)
    if _MORE_THAN_ONE.search(rest) or _SLASHED.search(rest):
        return None
    rest, amount = _amount(rest)
    if amount and amount_after:
        return None
    denied = assertion is not None and takes_away(said, assertion)
    return _Taken(ears, assertion, denied, rest, amount or amount_after)


def _partly(taken: _Taken) -> bool:
    if not taken.denied:
        return False
    return bool(taken.amount) or not role("degree").isdisjoint(taken.term.casefold().split())


def qualifier(text: str, kind: str = "") -> Assertion | None:
    """What a word at the beginning or end of the text says of the rest: denied, doubted or past."""
    return _assertion(tidy(text).removesuffix("."), kind)[0]


def _side(text: str) -> tuple[tuple[Ear, ...], str]:
    for side in sides():
        size = len(side.word)
        head = text[:size]
        if head != side.word and (side.exact or head.casefold() != side.word):
            continue
        after = text[size:]
        if after[:1] == ":" and side.word in ("RE", "LE"):
            return (), text
        if rest := _after_side(after, " :-?") if after[:1] in (" ", ":", ")") or side.word[-1] == ")" else "":
            return side.ears, ("?" + rest if "?" in after[: len(after) - len(rest)] else rest)
    return (), text


def side_in_front(words: str) -> tuple[tuple[Ear, ...], str]:
    """The ears of a side word at the beginning, and the rest."""
    text = tidy(words)
    for side in sides():
        head, rest = text[: len(side.word)], text[len(side.word) :]
        if rest[:1] == ":" and head in ("RE", "LE"):
            return (), words
        ends = rest[:1] in (" ", ":", "-", "?") or (rest != "" and side.word[-1] == ")")
        if ends and (head == side.word or (not side.exact and head.casefold() == side.word)):
            return side.ears, _after_side(rest, " :-")
    return (), words


def _after_side(rest: str, marks: str) -> str:
    """What a side is said of; the dash of "-ve" is no mark but a denial."""
    plain = rest.lstrip(marks)
    dashed = "-" + plain if "-" in rest[: len(rest) - len(plain)] else ""
    return dashed if dashed.split(" ")[0].casefold() in role("denial") else plain


def side_behind(text: str) -> tuple[tuple[Ear, ...], str]:
    """A side at the end, as in "perf L" or "?perf (R)"; never a lone "left" or "right", which may be a verb."""
    for side in sides():
        if side.word.casefold() in _NOT_BEHIND or len(text) <= len(side.word):
            continue
        head, tail = text[: -len(side.word)], text[-len(side.word) :]
        if (tail == side.word if side.exact else tail.casefold() == side.word) and head[-1] == " ":
            rest = head.rstrip(" :-")
            return (side.ears, rest) if rest and rest[-1] not in "+&/<>" else ((), text)
    return (), text


_NOT_BEHIND = frozenset(("left", "right", "each", "re", "le"))


def _assertion(text: str, kind: str) -> tuple[Assertion | None, str]:
    folded = text.casefold()
    for q in qualifiers(kind):
        if q.position != "after" and folded.startswith(q.words) and _ends(folded, len(q.words), q.words):
            rest = text[len(q.words) :].strip(" :-")
            if q.assertion == "absent":
                first, _, last = rest.rpartition(" ")
                rest = first if first and last.casefold() in role("seen") else rest
            return q.assertion, rest
    for q in qualifiers(kind):
        if q.position != "before" and folded.endswith(q.words):
            head = text[: len(text) - len(q.words)]
            if head and (q.words[0] == "?" or head[-1] in " :-"):
                return q.assertion, head.rstrip(" :-?")
    return None, text


def _bracketed(text: str, kind: str) -> tuple[Assertion | None, str]:
    """A denial, doubt or past around the term, or in brackets behind it: "perf (old)"."""
    found = _BRACKETED.fullmatch(text)
    if found and any(found["said"].casefold() == q.words for q in qualifiers(kind)):
        for words in (f"{found['said']} {found['term']}", f"{found['term']} {found['said']}"):
            assertion, rest = _assertion(words, kind)
            if assertion and rest == found["term"]:
                return assertion, rest
    return _assertion(text, kind)


def _ends(text: str, size: int, words: str) -> bool:
    return words[-1] in "?:." or text[size : size + 1] in (" ", ":", "")


def _amount(text: str) -> tuple[str, str]:
    """The text without its amount, and the amount; a text that is nothing but an amount is kept whole."""
    folded = text.casefold()
    for word in amounts():
        if folded.endswith(word) and (head := text[: -len(word)]) and (word[0] == "+" or head[-1] == " "):
            if head.endswith("+") or not head.strip():
                continue
            return head.strip(), text[-len(word) :]
    for word in amounts():
        if word[0] != "+" and folded.startswith(word + " "):
            return text[len(word) + 1 :].strip(), text[: len(word)]
    return text, ""


def _plain(taken: _Taken, kind: str) -> bool:
    """Whether the words left over can be one term: few, no clause, no side, no second qualifier."""
    term, assertion = taken.term, taken.assertion
    if term and not term.strip("+"):
        return assertion is None  # an amount alone stands for its term: "R ++" in a column of wax
    words = term.casefold().replace(":", " : ").split()
    if not words or len(words) > MAX_WORDS or ":" in words or "-" in words or set("?+()&") & set(term):
        return False
    if any(word in role("clause") for word in words) and not one_term(term):
        return False
    if any(side.word == word for side in sides() for word in (term.split() if side.exact else words)):
        return False
    if any(found.pattern.search(term) for found in ambiguous() if found.about == "side"):
        return False
    if assertion is None:
        return one_term(term) or not _hides(term, kind)
    if _is_qualifier(term, kind) or any(word in role("state") for word in words):
        return False
    if term.casefold() in role("bare"):
        return False
    return len(words) == 1 or words[0] not in role("bare") or one_term(term)


def _hides(term: str, kind: str) -> bool:
    """Whether a word that denies, doubts or dates stands where it is not read ("perf previously *"), or not in this
    kind ("denies perf" of the drum)."""
    words = f" {term.casefold()} "
    return any(hidden in words for hidden in _hidden(kind))


@cache
def _hidden(kind: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f" {q.words} " for q in (*qualifiers(kind), *qualifiers())))


def _is_qualifier(term: str, kind: str) -> bool:
    again, _ = _assertion(term, kind)
    return again is not None or any(term.casefold() == q.words for q in qualifiers(kind))
