"""A: what only all records together show: words under several codes, codes under several words, two kinds of entry."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from bridge.audit.shapes import Suggestion
from bridge.audit.tables import Code
from bridge.audit.terms import OTHER, Term, Use
from bridge.fhir.systems import OWN
from bridge.issues import Issue, issue

_PLACED = frozenset({"Condition.code", "Observation.code", "Procedure.code"})


@dataclass(slots=True)
class Shown:
    """What one pattern shows: how many records, and evidence of the first ones."""

    records: int
    evidence: list[Issue]


def several_codes(terms: Iterable[Term]) -> Shown:
    """A128: each use of words under another code than the one that they get most often."""
    shown = Shown(0, [])
    for term in terms:
        coded = list(term.coded().values())
        for use in coded[1:]:
            told = f"These words get {_name(use)} here, and {_name(coded[0])} most often."
            _add(shown, use, "A128", told, f"A128:{term.kind}:{term.folded}")
    return shown


def one_code(terms: Iterable[Term]) -> Shown:
    """A129: words with meanings of their own in the word list under one code of somebody else."""
    meanings: dict[tuple[str, Code], dict[str, list[tuple[Term, Use]]]] = defaultdict(lambda: defaultdict(list))
    for term in terms:
        for use in term.coded().values():
            if use.code[0] != OWN and use.code != OTHER and use.meant and not use.kept_apart:
                meanings[term.kind, use.code][use.meant].append((term, use))
    shown = Shown(0, [])
    for (_, code), by_meaning in meanings.items():
        ranked = sorted(by_meaning.values(), key=lambda uses: -sum(use.count for _, use in uses))
        for uses in ranked[1:]:
            for _, use in uses:
                told = f"{_name(use)} stands for words of {len(ranked)} meanings."
                _add(shown, use, "A129", told, f"A129:{code[1]}")
    return shown


def two_kinds(terms: Iterable[Term]) -> Shown:
    """A108: the same words as the code of two kinds of resource; told where they stand in the rarer one."""
    by_words: dict[str, list[Term]] = defaultdict(list)
    for term in terms:
        if term.kind in _PLACED and term.folded:
            by_words[term.folded].append(term)
    shown = Shown(0, [])
    for alike in by_words.values():
        counts: dict[str, int] = defaultdict(int)
        for term in alike:
            counts[term.kind] += term.count
        most = max(counts, key=lambda kind: (counts[kind], kind))
        for term in alike:
            if term.kind != most:
                here, mostly = term.kind.partition(".")[0], most.partition(".")[0]
                told = f"These words are sent as {here} here, and mostly as {mostly}."
                for use in term.uses.values():
                    _add(shown, use, "A108", told, f"A108:{term.folded}")
    return shown


def spellings(terms: dict[tuple[str, str], list[Term]], suggestions: Iterable[Suggestion]) -> Shown:
    """A107: uses of words that are a spelling of others used more often. `terms`: by kind and words as told."""
    shown = Shown(0, [])
    for suggestion in suggestions:
        for word, _ in suggestion.words[1:]:
            for term in terms.get((suggestion.kind, word), ()):
                for use in term.uses.values():
                    told = "This is nearly a word that is written in another way more often."
                    _add(shown, use, "A107", told, f"A107:{suggestion.kind}:{term.folded}")
    return shown


def _add(shown: Shown, use: Use, rule: str, told: str, cause: str) -> None:
    shown.records += use.records
    shown.evidence += [issue(rule, told, where, cause=cause) for where in use.places]


def _name(use: Use) -> str:
    return f"{use.code[1][:20]} ({use.display[:60]})" if use.display else use.code[1][:20]
