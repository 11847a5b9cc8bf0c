"""The simplest part of SNOMED CT's expression constraint language, decided for one code.

Read are a concept, `<`, `<<` (also as descendantOf, descendantOrSelfOf), `*`, brackets, and AND, OR or MINUS between
them. Everything else (reference sets, attributes, other operators) is not known.

Source: SNOMED CT Expression Constraint Language, specification and guide.
"""

from __future__ import annotations

import re

from bridge.terminology.answers import Found, either, every
from bridge.terminology.snomed import ROOT, is_a, known

_LONGEST, _DEEPEST = 4000, 20
_TOKEN = re.compile(r"\s*(?:(\d{6,18})\b(?:\s*\|[^|]*\|)?|(<<|<(?![<!])|\^|\*|[()])|([A-Za-z]+)\b|,())")
_WORDS = {"descendantof": "<", "descendantorselfof": "<<", "memberof": "^", "and": "and", "or": "or", "minus": "minus"}
_JOINED = {"and", "or", "minus"}
_REFERENCE_SET = Found(None, "what is in a reference set of SNOMED CT is not at hand")
_UNREAD = Found(None, "an expression over SNOMED CT cannot be decided here")


class _UnreadError(ValueError):
    """Something that is not read here."""


def decide(expression: str, code: str) -> Found:
    """Whether the code meets the expression."""
    try:
        reader = _Reader(_tokens(expression), code)
        found = reader.joined(0)
        return found if reader.done else _UNREAD
    except _UnreadError:
        return _UNREAD


def _tokens(expression: str) -> list[str]:
    expression = expression.strip()
    if len(expression) > _LONGEST:
        raise _UnreadError
    found, at = [], 0
    while at < len(expression):
        token = _TOKEN.match(expression, at)
        if token is None:
            raise _UnreadError
        word = token[3].lower() if token[3] else ""
        if word and word not in _WORDS:
            raise _UnreadError
        found.append(token[1] or token[2] or _WORDS.get(word) or "and")
        at = token.end()
    return found


class _Reader:
    def __init__(self, tokens: list[str], code: str) -> None:
        self.tokens, self.code, self.at = tokens, code, 0

    @property
    def done(self) -> bool:
        return self.at == len(self.tokens)

    def _next(self) -> str:
        if self.done:
            raise _UnreadError
        self.at += 1
        return self.tokens[self.at - 1]

    def joined(self, depth: int) -> Found:
        """Terms with one kind of word between them; without brackets the language allows no mixture."""
        found, joint = [self._term(depth)], ""
        while not self.done and self.tokens[self.at] in _JOINED:
            word = self._next()
            if (joint and word != joint) or (joint == "minus"):
                raise _UnreadError
            joint = word
            found.append(self._term(depth))
        if joint == "minus":
            found[1] = Found(
                None if found[1].yes is None else not found[1].yes, found[1].why or "it is taken out again"
            )
        return either(found, found[0].why or "it is none of the concepts asked for") if joint == "or" else every(found)

    def _term(self, depth: int) -> Found:
        word = self._next()
        if word == "(":
            if depth >= _DEEPEST:
                raise _UnreadError
            found = self.joined(depth + 1)
            if self._next() != ")":
                raise _UnreadError
            return found
        if word == "*":
            return known(self.code)
        if word == "^":
            self._concept(self._next())
            return _REFERENCE_SET
        if word in {"<", "<<"}:
            concept = self._next()
            concept = ROOT if concept == "*" else self._concept(concept)
            return is_a(self.code, concept, itself=word == "<<")
        return Found(self.code == self._concept(word), "it is none of the concepts asked for")

    @staticmethod
    def _concept(word: str) -> str:
        if not word.isdigit():
            raise _UnreadError
        return word
