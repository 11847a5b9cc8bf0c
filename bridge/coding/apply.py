"""Codes for the words of a visit: exact words of the term maps only, the words themselves always kept."""

from __future__ import annotations

from bridge.coding.concepts import Concept, Kind, fold
from bridge.coding.term_map import TermMaps
from bridge.coding.unknown import Found, ambiguous, cut, unknown, unread
from bridge.issues import Issue, Where, issue
from bridge.phrases import Phrase, parse_phrase, qualifier
from bridge.visit import Term, Visit, map_terms
from bridge.visit.base import Assertion

MEMO = 20_000
SAID: dict[Assertion, str] = {"absent": "denied", "suspected": "doubted", "past": "past", "present": "stated"}


def code_visit(visit: Visit, maps: TermMaps) -> tuple[Visit, list[Issue]]:
    """The visit with codes beside its words, and what could not be coded.

    A term that has codes already is left alone. Words that are not in the maps stay as words, with an
    issue. Whether a finding is suspected, absent or past is read from its words ("?perf") unless the
    record says so itself; such a term gets only the own code, so that nobody reads a plain disorder
    from it, except as an impression, whose certainty travels in a place of its own.
    """
    issues: list[Issue] = []

    def change(path: str, term: Term) -> Term:
        kind = maps.kind_of(path)
        if kind is None or term.codings:
            return term
        key = (kind.name, term.text, term.assertion)
        found: Found | None = maps.memo.get(key)
        if found is None:
            if len(maps.memo) >= MEMO:
                maps.memo.clear()
            found = maps.memo[key] = _look_up(kind, term, maps)
        if found.rule:
            issues.append(issue(found.rule, found.message, Where(path=path, record=visit.number), cause=found.cause))
        return found.term

    return map_terms(visit, change), issues


def _look_up(kind: Kind, term: Term, maps: TermMaps) -> Found:
    if not kind.assertable:
        return _plain(kind, term, maps)
    # what stands in the history of an ear is past unless the record says otherwise
    surely: Assertion = term.assertion or ("past" if kind.name == "past-event" else "present")
    phrase = parse_phrase(term.text)
    said = phrase.assertion if phrase else qualifier(term.text)
    if said and term.assertion not in (None, said):
        message = f"“{cut(term.text)}” is {SAID[said]} in its words, but the record calls it {term.assertion}."
        return Found(term, "M104", message, f"{kind.name}:{fold(term.text)}")
    if concept := maps.find(kind.name, term.text):
        return Found(_coded(kind, term, concept, surely))
    if phrase is None:
        return unread(kind, term)
    surely = said or surely
    if concept := _concept(kind, phrase, maps):
        return Found(_coded(kind, term, concept, surely))
    found = ambiguous(kind, term, phrase.term) or unknown(kind, term, phrase.term, maps)
    return Found(_with(term, (), surely), found.rule, found.message, found.cause)


def _plain(kind: Kind, term: Term, maps: TermMaps) -> Found:
    """A word of a field that holds plain answers: nothing there can be denied or doubted."""
    phrase, said = parse_phrase(term.text), qualifier(term.text)
    concept = maps.find(kind.name, term.text)
    if term.assertion not in (None, "present", said) or (said and not concept):
        message = (
            f"“{cut(term.text)}” is {SAID[term.assertion or said or 'present']}, but the {kind.label} needs a plain "
            "answer; it stays as words."
        )
        return Found(term, "M105", message, f"{kind.name}:{fold(term.text)}")
    if concept := concept or (_concept(kind, phrase, maps) if phrase else None):
        return Found(_coded(kind, term, concept, None))
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
    return maps.find(kind.name, phrase.term)


def _coded(kind: Kind, term: Term, concept: Concept, assertion: Assertion | None) -> Term:
    bare = kind.assertable and assertion != "present" and kind.name != "impression"
    return _with(term, concept.own_coding if bare else concept.codings, assertion)


def _with(term: Term, codings: tuple[object, ...], assertion: Assertion | None) -> Term:
    return term.model_copy(update={"codings": codings, "assertion": assertion})
