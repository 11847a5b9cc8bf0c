"""FHIRPath text to a tree. Source: https://hl7.org/fhirpath/N1/grammar.html and #operator-precedence."""

from __future__ import annotations

from typing import Any, NamedTuple

from bridge.fhir.path.undecided import BeyondError, UndecidedError
from bridge.fhir.path.words import Token, tokens

MAX_DEPTH = 60
"""Brackets in brackets of an expression that is looked at."""

_BINDS = {
    "implies": 1,
    **dict.fromkeys(("or", "xor"), 2),
    "and": 3,
    **dict.fromkeys(("in", "contains"), 4),
    **dict.fromkeys(("=", "~", "!=", "!~"), 5),
    **dict.fromkeys(("<", ">", "<=", ">="), 6),
    "|": 7,
    **dict.fromkeys(("is", "as"), 8),
    **dict.fromkeys(("+", "-", "&"), 9),
    **dict.fromkeys(("*", "/", "div", "mod"), 10),
}
_SIGN = 11
_UNITS = {"year", "month", "week", "day", "hour", "minute", "second", "millisecond"}


class Part(NamedTuple):
    """One part of an expression.

    `kind` is `literal` (word: its type, args: its text), `empty`, `self`, `constant`, `name`, `call` (args: of the
    function), `step` (args: what stands before and after the dot), `index`, `sign`, or `do` for an operator.
    """

    kind: str
    word: str
    args: tuple[Any, ...] = ()


def parse(expression: str) -> Part:
    """The tree of an expression. Raises BeyondError where it is not FHIRPath, UndecidedError where it is too much."""
    reader = _Reader(tokens(expression))
    part = reader.read(0)
    if reader.next.kind != "end":
        raise BeyondError
    return part


def type_name(part: Part) -> str:
    """The name of a type as written, with its namespace (`FHIR.Patient`). Raises BeyondError where it is none."""
    if part.kind == "name":
        return part.word
    if part.kind == "literal" and part.word == "String":
        return str(part.args[0])
    if part.kind == "step":
        return f"{type_name(part.args[0])}.{type_name(part.args[1])}"
    raise BeyondError


class _Reader:
    def __init__(self, given: list[Token]) -> None:
        self.given = given
        self.at = 0
        self.depth = 0

    @property
    def next(self) -> Token:
        return self.given[self.at]

    def take(self) -> Token:
        token = self.given[self.at]
        if token.kind != "end":
            self.at += 1
        return token

    def need(self, mark: str) -> None:
        if self.take() != ("mark", mark):
            raise BeyondError

    def is_next(self, mark: str) -> bool:
        return self.next == ("mark", mark)

    def read(self, least: int) -> Part:
        """The longest part whose operators bind stronger than `least`."""
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise UndecidedError
        left = self.first()
        while True:
            token = self.next
            if token == ("mark", "."):
                self.take()
                left = Part("step", "", (left, self.named()))
            elif token == ("mark", "["):
                self.take()
                left = Part("index", "", (left, self.read(0)))
                self.need("]")
            else:
                binds = _BINDS.get(token.word, 0) if token.kind in {"mark", "name"} else 0
                if binds <= least:
                    break
                self.take()
                left = Part("do", token.word, (left, self.read(binds)))
        self.depth -= 1
        return left

    def first(self) -> Part:
        token = self.take()
        if token.kind == "mark":
            return self.marked(token.word)
        if token.kind == "number":
            return self.number(token.word)
        if token.kind == "text":
            return Part("literal", "String", (token.word,))
        if token.kind == "time":
            return Part("literal", "Moment", (token.word[1:],))
        if token.kind in {"constant", "self"}:
            return Part(token.kind, token.word)
        if token.kind == "name" and token.word in {"true", "false"}:
            return Part("literal", "Boolean", (token.word,))
        self.at -= 1
        return self.named()

    def marked(self, mark: str) -> Part:
        if mark == "(":
            inner = self.read(0)
            self.need(")")
            return inner
        if mark == "{":
            self.need("}")
            return Part("empty", "")
        if mark in {"+", "-"}:
            return Part("sign", mark, (self.read(_SIGN),))
        raise BeyondError

    def number(self, word: str) -> Part:
        token = self.next
        unit = token.word.removesuffix("s") if token.kind == "name" else ""
        if unit in _UNITS:
            self.take()
            return Part("literal", "Quantity", (word, unit))
        if token.kind == "text":
            self.take()
            return Part("literal", "Quantity", (word, token.word))
        return Part("literal", "Decimal" if "." in word else "Integer", (word,))

    def named(self) -> Part:
        """A name or a call, after a dot or where an expression begins."""
        token = self.take()
        if token.kind == "self":
            return Part("self", token.word)
        if token.kind not in {"name", "quoted"}:
            raise BeyondError
        if not self.is_next("(") or token.kind == "quoted":
            return Part("name", token.word)
        self.take()
        args: list[Part] = []
        while not self.is_next(")"):
            args.append(self.read(0))
            if not self.is_next(")"):
                self.need(",")
        self.take()
        return Part("call", token.word, tuple(args))
