"""Codes for the words of a visit: exact words of the term maps only, the words themselves always kept."""

from __future__ import annotations

from bridge.coding.answers import plain_answers
from bridge.coding.concepts import Concept, Kind
from bridge.coding.doubts import doubts
from bridge.coding.finer import Side, side_of
from bridge.coding.narrower import narrower
from bridge.coding.term_map import TermMaps
from bridge.coding.unknown import Found, ambiguous, cut, partly, unknown, unread, without_brackets
from bridge.coding.wax_removal import without_wax
from bridge.ear_words import Assertion
from bridge.issues import Issue, Where, issue
from bridge.nothing_words import answer_of
from bridge.phrases import Phrase, parse_phrase, partly_denied, qualifier, takes_away
from bridge.phrases.fold import fold
from bridge.phrases.tables import role
from bridge.phrases.vocabulary import without_part
from bridge.referral_place import not_a_place
from bridge.visit import Term, Visit, map_terms

MEMO = 20_000
SAID: dict[Assertion, str] = {"absent": "denied", "suspected": "doubted", "past": "past", "present": "stated"}


def code_visit(visit: Visit, maps: TermMaps) -> tuple[Visit, list[Issue]]:
    """The visit with codes beside its words, and what could not be coded.

    A term that has codes already is left alone. Words that are not in the maps stay as words, with an
    issue; words for nothing become the answer that says so. Whether a finding is suspected, absent or past
    is read from its words ("?perf") unless the record says so itself; such a term gets only the own code, so
    that nobody reads a plain disorder from it, except as an impression, whose certainty travels in a place of
    its own.
    """
    visit, issues = plain_answers(visit, maps)
    told = {found.where.path for found in issues}

    def change(path: str, term: Term) -> Term:
        kind = maps.kind_of(path)
        plain = kind is not None and (not kind.assertable or (kind.open and term.codings))
        if plain and term.assertion == "present":
            term = _with(term, term.codings, None)  # what is plainly told there is told as present
        if kind is None or term.codings or path in told:
            return term
        side = side_of(path, term.text) if maps.finer else None
        key = (kind.name, term.text, term.assertion, side)
        found: Found | None = maps.memo.get(key)
        if found is None:
            if len(maps.memo) >= MEMO:
                maps.memo.clear()
            found = maps.memo[key] = _look_up(kind, term, maps, side)
        if found.rule:
            issues.append(issue(found.rule, found.message, Where(path=path, record=visit.number), cause=found.cause))
        return found.term

    coded = without_wax(map_terms(visit, change))
    return coded, [*issues, *doubts(coded)]


def _look_up(kind: Kind, term: Term, maps: TermMaps, side: Side) -> Found:
    if not kind.assertable:
        return _plain(kind, term, maps, side)
    words = without_brackets(term.text) if kind.open else term.text
    concept = maps.find(kind.name, term.text)
    phrase = parse_phrase(words, kind.name)
    said = phrase.assertion if phrase else qualifier(words, kind.name)
    if said and term.assertion not in (None, said) and not (concept and term.assertion == "present"):
        return Found(term, "M104", _at_odds(term, said), f"{kind.name}:{fold(term.text)}")
    if concept and said and term.assertion not in (None, "present"):
        return Found(term, "M104", _twice(term, said), f"{kind.name}:{fold(term.text)}")
    if kind.open and term.assertion == "present":
        term = _with(term, term.codings, None)
    if concept:
        return Found(_coded(kind, term, concept, term.assertion or _unsaid(kind), maps, side))
    if phrase is None:
        if partly_denied(words, kind.name):
            return partly(kind, term)
        return unread(kind, _with(term, (), said) if kind.open and said else term)
    surely = said or term.assertion or _unsaid(kind)
    if concept := _concept(kind, phrase, maps):
        if said and takes_away(words, said) and narrower(maps, concept, phrase.term):
            return partly(kind, term)
        return Found(_coded(kind, term, concept, surely, maps, side))
    found = ambiguous(kind, term, phrase.term) or unknown(kind, term, phrase.term, maps)
    if not kind.open and (said == "absent" or (said == "past" and kind.name != "past-event")):
        surely = term.assertion  # nobody knows what it is that is denied
    elif kind.name == "impression":
        surely = term.assertion or said  # words that no map knows are no diagnosis that somebody confirmed
    return Found(_with(term, (), surely), found.rule, found.message, found.cause)


def _at_odds(term: Term, said: Assertion) -> str:
    return f"“{cut(term.text)}” is {SAID[said]} in its words, but the record calls it {term.assertion}."


def _twice(term: Term, said: Assertion) -> str:
    return f"“{cut(term.text)}” is {SAID[said]} in its words, and the record calls it {term.assertion} as well."


def _unsaid(kind: Kind) -> Assertion | None:
    """What a term without a word of doubt or denial is: what stands in the history of an ear is past."""
    if kind.open:
        return None
    return "past" if kind.name == "past-event" else "present"


def _plain(kind: Kind, term: Term, maps: TermMaps, side: Side) -> Found:
    """A word of a field that holds plain answers: nothing there can be denied or doubted."""
    if kind.name == "method" and answer_of("method", term.text):
        return Found(term)  # nothing was done, or what stands beside it decides
    if kind.name == "referral-target" and maps.find(kind.name, term.text) is None and not_a_place(term):
        return Found(term)  # refused by the check of the record
    phrase, said = parse_phrase(term.text, kind.name), qualifier(term.text, kind.name)
    concept = maps.find(kind.name, term.text)
    if term.assertion not in (None, "present", said) or (said and not concept):
        message = (
            f"“{cut(term.text)}” is {SAID[term.assertion or said or 'present']}, but the {kind.label} needs a plain "
            "answer; it stays as words."
        )
        return Found(term, "M107" if kind.name == "method" else "M105", message, f"{kind.name}:{fold(term.text)}")
    if concept := concept or (_concept(kind, phrase, maps) if phrase else None):
        return Found(_coded(kind, term, concept, None, maps, side))
    if kind.name == "method" and set(fold(term.text).split()) & role("undone"):
        message = f"“{cut(term.text)}” stands as the method: it is not clear whether this was done."
        return Found(term, "M107", message, f"{kind.name}:{fold(term.text)}")
    if phrase is None:
        return unread(kind, term)
    return ambiguous(kind, term, phrase.term) or unknown(kind, term, phrase.term, maps)


def _concept(kind: Kind, phrase: Phrase, maps: TermMaps) -> Concept | None:
    """What a phrase stands for: all of it, its term, or of an amount ("wax ++") the amount."""
    if phrase.amount:
        whole = f"{phrase.amount} {phrase.term}" if phrase.amount[0].isalpha() else f"{phrase.term} {phrase.amount}"
        if found := maps.find(kind.name, whole):
            return found
        if kind.name == "wax-amount":
            by_term = maps.find(kind.name, phrase.term)
            return maps.find(kind.name, phrase.amount) if by_term and by_term.code == "wax-seen" else None
    return find_term(kind, phrase.term, maps)


def find_term(kind: Kind, words: str, maps: TermMaps) -> Concept | None:
    """The concept of words that may name the part of the ear that their field is about: "TM dull" of the drum."""
    if found := maps.find(kind.name, words):
        return found
    bare = maps.find(kind.name, without_part(kind.name, words))
    return bare if bare and bare.kind == kind.name else None


def _coded(kind: Kind, term: Term, concept: Concept, assertion: Assertion | None, maps: TermMaps, side: Side) -> Term:
    bare = kind.assertable and assertion not in ("present", None) and kind.name != "impression"
    return _with(term, concept.own_coding if bare else maps.codings(concept, side), assertion)


def _with(term: Term, codings: tuple[object, ...], assertion: Assertion | None) -> Term:
    return term.model_copy(update={"codings": codings, "assertion": assertion})
