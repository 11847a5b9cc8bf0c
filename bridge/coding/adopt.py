"""Turns what a practice says of its own words into rows of its own table of terms. Nothing shipped is changed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256

from bridge.coding.answers_sheet import Answer, day_of
from bridge.coding.concepts import Concept, Kind
from bridge.coding.open_words import denies_or_doubts, side_shorthand
from bridge.coding.suggest import suggest
from bridge.coding.term_map import TermMaps
from bridge.coding.unknown import cut
from bridge.issues import Issue, issue
from bridge.phrases import parse_phrase, qualifier, side_words, watched_words
from bridge.phrases.fold import fold
from bridge.phrases.tables import role, sides
from bridge.words_asked import FIELD, KIND, MEANS, OWN_WORD, WHEN, WHO, WHY, WORD

OWN_PREFIX = "own-"
EVIDENCE = "decided by the practice"
LONGEST = 100
_NOT_CODE = re.compile(r"[^a-z0-9]+")
_RUNS = re.compile(r"[=@\t]|[+-].*\(")
"""How a text begins that a spreadsheet program would run."""


@dataclass(slots=True)
class Adoption:
    """What came of the answers: rows to add to the practice's own table, in the order of the sheet."""

    rows: list[dict[str, str]] = field(default_factory=list)
    known: int = 0
    """Answers that say what is known already."""
    issues: list[Issue] = field(default_factory=list)


def adopt(answers: Sequence[Answer], maps: TermMaps, today: date, by: str = "", on: date | None = None) -> Adoption:
    """The rows of all answers, and everything that is wrong with any of them. `maps`: under the practice's own words.

    `by` and `on` fill what is empty under "Who" and "When"; a day that stands nowhere is today.
    """
    done = Adoption()
    decided: dict[tuple[str, str], tuple[str, Answer]] = {}
    for answer in answers:
        kind = _kind(answer, maps)
        concept = _means(answer, kind, maps) if kind else None
        found = [*_about_word(answer, kind), *_about_decision(answer, by, today)]
        if kind is None:
            found.append(_no_kind(answer, maps))
        elif concept is None:
            found.append(_no_meaning(answer, kind, maps))
        else:
            found += _about_meaning(answer, kind, concept)
        if not kind or not concept:
            done.issues += found
            continue
        key = (kind.name, fold(answer.word))
        before = decided.setdefault(key, (concept.code, answer))
        now = maps.find(kind.name, answer.word)
        if before[0] != concept.code:
            told = f"“{cut(answer.word)}” has another meaning in row {before[1].where.row} of this sheet."
            found.append(_told("M122", answer, MEANS, told))
        elif now and now.code != concept.code:
            told = f"“{cut(answer.word)}” already means “{cut(now.label)}” ({now.code}) in this field."
            found.append(_told("M122", answer, MEANS, told))
        elif now or before[1] is not answer:
            done.known += not found
        elif not found:
            when = day_of(answer.when) or on or today
            done.rows.append(_row(kind, concept, answer, answer.who or by, when))
        done.issues += found
    return done


def _kind(answer: Answer, maps: TermMaps) -> Kind | None:
    if answer.kind:
        return maps.kinds.get(answer.kind)
    return next((k for k in maps.kinds.values() if fold(answer.field) in (fold(k.label), fold(k.name))), None)


def _means(answer: Answer, kind: Kind, maps: TermMaps) -> Concept | None:
    """The meaning that an answer names: a word of this field, the name of a meaning, its label, or the word itself."""
    said = answer.means
    if fold(said) == OWN_WORD:
        return _own(kind, answer.word, maps)
    if hit := maps.find(kind.name, said):
        return hit
    here = [c for c in maps.concepts.values() if c.kind in (kind.name, *kind.also)]
    named = [c for c in here if said == c.code] or [c for c in here if fold(said) == fold(c.label)]
    return named[0] if len(named) == 1 else None


def _own(kind: Kind, word: str, maps: TermMaps) -> Concept:
    """A term of the practice's own: its words are its label, and no code stands beside them."""
    stem = f"{OWN_PREFIX}{kind.name}-{_NOT_CODE.sub('-', fold(word)).strip('-')}"[:60].rstrip("-")
    known = maps.concepts.get(stem)
    if known and fold(known.label) != fold(word):
        stem = f"{stem[:50]}-{sha256(fold(word).encode()).hexdigest()[:8]}"
        known = maps.concepts.get(stem)
    return known or Concept(kind.name, stem, word, (word,), (), EVIDENCE, "", "", False)


def _about_word(answer: Answer, kind: Kind | None) -> Iterator[Issue]:
    """What forbids that this word be given any meaning."""
    word = answer.word
    if not fold(word):
        yield _told("M126", answer, WORD, "There is no word in this row.")
    elif len(word) > LONGEST or "|" in word or _RUNS.match(word):
        told = f"“{cut(word)}” is longer than {LONGEST} letters, holds a “|”, or begins like a formula."
        yield _told("M126", answer, WORD, told)
    if shorthand := side_shorthand(word):
        yield _told("M123", answer, WORD, f"“{shorthand}” in “{cut(word)}” can be read as more than one side.")
    elif _names_ear(word, kind):
        yield _told("M123", answer, WORD, f"“{cut(word)}” names an ear.")
    if kind and kind.assertable and not parse_phrase(word, kind.name) and (watched := watched_words(word)):
        told = f"“{cut(word)}” says more than one plain thing, and speaks of “{watched[0]}”."
        yield _told("M126", answer, WORD, told)


def _names_ear(word: str, kind: Kind | None) -> bool:
    """Whether words name an ear; of a finding, no word that ever does may be a part."""
    phrase = parse_phrase(word)
    if side_words(word) or (phrase and phrase.ears):
        return True
    ever = {side.word.casefold() for side in sides()}
    return kind is not None and kind.assertable and any(part in ever for part in word.casefold().split())


def _about_meaning(answer: Answer, kind: Kind, concept: Concept) -> Iterator[Issue]:
    """What forbids that the word be given this meaning."""
    word, said = answer.word, denies_or_doubts(answer.word, kind.name)
    if said and not _says_so_too(concept, word, kind):
        told = f"“{cut(word)}” denies, doubts or dates (“{cut(said)}”), and “{cut(concept.label)}” does not."
        yield _told("M124", answer, MEANS, told)
    if _is_normal(concept, kind) and not _plain_answer(word, concept):
        told = f"“{cut(word)}” would come to mean that the part of the ear looked normal."
        yield _told("M125", answer, MEANS, told)


def _says_so_too(concept: Concept, word: str, kind: Kind) -> bool:
    """Whether words of the meaning itself are denied or past as this word is ("no change", "healed perforation").

    A doubt is never a meaning, and of what can be denied a denied word is none.
    """
    own = qualifier(word, kind.name)
    if own in (None, "suspected") or "?" in word or (kind.assertable and own == "absent") or not concept.published:
        return False
    return any(qualifier(known, kind.name) == own for known in concept.words)


def _is_normal(concept: Concept, kind: Kind) -> bool:
    return kind.assertable and concept.published and any(fold(word) == "normal" for word in concept.words)


def _plain_answer(word: str, concept: Concept) -> bool:
    """Whether a word says "normal" in a known way, whatever part of the ear it names beside ("TM healthy")."""
    known = {fold(one) for one in concept.words}
    bare = {fold(one) for one in role("bare")}
    parts = [part for part in fold(word).split() if part not in bare]
    return fold(word) in known or " ".join(parts) in known


def _about_decision(answer: Answer, by: str, today: date) -> Iterator[Issue]:
    if not (answer.who or by):
        yield _told("M121", answer, WHO, "The row does not say who decided.")
    if not answer.why:
        yield _told("M121", answer, WHY, "The row does not say why.")
    day = day_of(answer.when) if answer.when else today
    if day is None:
        yield _told("M121", answer, WHEN, f"“{cut(answer.when)}” is no day that can be read in one way only.")
    elif day > today:
        yield _told("M121", answer, WHEN, f"{day.isoformat()} has not come yet.")


def _no_kind(answer: Answer, maps: TermMaps) -> Issue:
    if not answer.kind and not answer.field:
        return _told("M126", answer, WORD, f"The row of “{cut(answer.word)}” names no field.")
    said, heading = (answer.kind, KIND) if answer.kind else (answer.field, FIELD)
    near = _near(said, [k.name if answer.kind else k.label for k in maps.kinds.values()])
    return _told("M126", answer, heading, f"“{cut(said)}” is no field whose words have meanings.{near}")


def _no_meaning(answer: Answer, kind: Kind, maps: TermMaps) -> Issue:
    here = [c for c in maps.concepts.values() if c.kind in (kind.name, *kind.also)]
    words = suggest(kind.name, answer.means, maps)
    near = (
        f" Near it: {', '.join(words)}." if words else _near(answer.means, [n for c in here for n in (c.label, c.code)])
    )
    return _told("M120", answer, MEANS, f"“{cut(answer.means)}” is no known meaning for: {kind.label}.{near}")


def _near(said: str, options: Sequence[str]) -> str:
    from difflib import get_close_matches

    found = get_close_matches(said.casefold()[:LONGEST], list(dict.fromkeys(options)), 3, 0.6)
    return f" Near it: {', '.join(found)}." if found else ""


def _told(rule: str, answer: Answer, heading: str, message: str) -> Issue:
    return issue(rule, message, answer.at(heading))


def _row(kind: Kind, concept: Concept, answer: Answer, who: str, when: date) -> dict[str, str]:
    return {
        "kind": kind.name,
        "concept": concept.code,
        "label": concept.label,
        "words": answer.word,
        "codes": "",
        "evidence": EVIDENCE,
        "edition": when.isoformat(),
        "note": "",
        "decided_by": _harmless(who),
        "decided_on": when.isoformat(),
        "why": _harmless(answer.why),
    }


def _harmless(text: str) -> str:
    return f"'{text}" if text.startswith(("=", "+", "-", "@")) else text
